// canalogue-labelled: makes labelled sessions, to measure spotters against.
#include <CLI/CLI.hpp>
#include <atomic>
#include <cstdio>
#include <mutex>
#include <thread>

#include "app/media/file_hash.hpp"
#include "demo_media/labelled/frozen.hpp"

using namespace canalogue;
using namespace canalogue::demo::labelled;

namespace {

int failed(const Failure& failure) {
    std::fprintf(stderr, "%s\n", failure.sentence.c_str());
    return int(failure.trouble);
}

// One line about one session of the frozen set; false when it is not what was frozen.
bool make_frozen(const std::filesystem::path& folder, const FrozenSession& session, double seconds, std::string& line) {
    line = "seed " + std::to_string(session.seed) + ": ";
    const bool there = std::filesystem::exists(folder / "truth.json");
    const Asked asked{session.seed, seconds, false};
    Fingerprint now;
    if (there) {
        auto f = fingerprint_of(asked, Progress{});
        if (!f) return line += f.failure().sentence, false;
        // The truth that lies there counts; its labels are worked out again.
        auto truth = media::hash_file(folder / "truth.json", Progress{});
        if (!truth) return line += truth.failure().sentence, false;
        now = {*truth, f->labels};
    } else {
        auto made = make_labelled(folder, asked, Progress{});
        if (!made) return line += made.failure().sentence, false;
        now = made->fingerprint;
    }
    line += there ? "there already" : "made";
    if (now == session.fingerprint) return line += ", as frozen", true;
    line += now.labels == session.fingerprint.labels ? "; TRUTH DIFFERS from the frozen one" : "; LABELS DIFFER from the frozen ones";
    line += " (are opencv-doc, python3-skimage, pocketsphinx-testdata and the fonts of app/setup/test_packages.txt there?)";
    return false;
}

int make_set(const FrozenSet& set, const std::filesystem::path& folder, int jobs, const std::vector<std::uint64_t>& only) {
    std::vector<const FrozenSession*> wanted;
    for (const FrozenSession& s : set.sessions)
        if (only.empty() || std::find(only.begin(), only.end(), s.seed) != only.end()) wanted.push_back(&s);
    std::atomic<std::size_t> next = 0;
    std::atomic<int> wrong = 0;
    std::mutex console;
    const auto work = [&] {
        for (std::size_t i = next++; i < wanted.size(); i = next++) {
            std::string line;
            if (!make_frozen(folder / std::to_string(wanted[i]->seed), *wanted[i], set.seconds, line)) ++wrong;
            const std::lock_guard held(console);
            std::printf("%s\n", line.c_str());
            std::fflush(stdout);
        }
    };
    std::vector<std::thread> workers;
    for (int i = 0; i < jobs; ++i) workers.emplace_back(work);
    for (auto& w : workers) w.join();
    return wrong ? int(Trouble::refused) : 0;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app("Makes sessions of which it is known what is in every pixel and word.");
    Asked asked;
    std::filesystem::path out, list = CANALOGUE_FROZEN_LIST, freeze_into;
    bool frozen = false;
    int jobs = 1;
    std::vector<std::uint64_t> only;
    app.add_option("--seed", asked.seed, "Which session");
    app.add_option("--seconds", asked.seconds, "How long (default 20)");
    app.add_option("--out", out, "Folder to write into");
    app.add_flag("--small", asked.small, "At most 320x180 pixels");
    app.add_flag("--frozen", frozen, "Make those of the frozen set that are missing, and compare");
    app.add_option("--list", list, "The frozen set's list");
    app.add_option("--jobs", jobs, "Sessions at once, of two threads each")->check(CLI::Range(1, 16));
    app.add_option("--only", only, "Only these seeds of the frozen set")->delimiter(',');
    app.add_option("--freeze", freeze_into, "Write a new list of the frozen set there");
    CLI11_PARSE(app, argc, argv);
    if (!freeze_into.empty()) {
        Progress progress;
        progress.report = [](std::string_view, double done) { std::fprintf(stderr, "\r%3.0f %%", done * 100); };
        const auto r = freeze(freeze_into, asked.seconds, progress);
        return r ? 0 : failed(r.failure());
    }
    if (out.empty()) return failed(wrong_use("Say with --out where to write."));
    if (frozen) {
        const auto set = read_frozen(list);
        return set ? make_set(*set, out, jobs, only) : failed(set.failure());
    }
    const auto made = make_labelled(out, asked, Progress{});
    if (!made) return failed(made.failure());
    std::printf("%s\ntruth  %s\nlabels %s\n", made->recording.filename().c_str(), made->fingerprint.truth.c_str(),
                made->fingerprint.labels.c_str());
    return 0;
}
