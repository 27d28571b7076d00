#include "app/cli/demo_job.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>

#include "app/cli/demo_words.hpp"
#include "app/desk/covering.hpp"
#include "app/desk/deciding.hpp"
#include "app/desk/importing.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/drafting.hpp"
#include "app/desk/rendering.hpp"
#include "app/desk/scanning.hpp"
#include "app/desk/showing.hpp"
#include "app/desk/tagging.hpp"
#include "app/store/vault.hpp"
#include "demo_media/session.hpp"
#include "export/folder.hpp"

namespace canalogue::cli {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

constexpr const char* kSession = "demo";
constexpr const char* kDone = "demo: imported and tagged";
// A test value like everything in the demo; a real library has a secret one.
constexpr const char* kPassphrase = "harbour demo, not a secret";

class DemoJob {
  public:
    DemoJob(fs::path folder, desk::Desk& desk, const Progress& progress) : folder_(std::move(folder)), desk_(desk), progress_(progress) {}

    // Up to where a person begins: imported, tagged, scanned.
    Result<void> prepare(const json& truth) {
        if (auto ok = annotate(truth); !ok) return ok;
        auto scanned = desk::scan(desk_, kSession, progress_);
        if (!scanned) return scanned.failure();
        for (const auto& t : scanned->troubles) warn(t + " What was not scanned stays covered.");
        return {};
    }

    Result<void> run(const json& truth) {
        if (auto ok = prepare(truth); !ok) return ok;
        auto drafted = desk::draft(desk_, kSession, std::nullopt, progress_);
        if (!drafted) return drafted.failure();
        Plan* plan = &drafted->plan;
        plan->title = "Hard wax on the right, a lost cotton tip on the left";
        if (auto* card = std::get_if<Card>(&plan->items.front())) card->title = plan->title;
        plan->about = demo_about();
        if (auto ok = ask(*plan); !ok) return ok;
        if (auto ok = film::write_text(folder_ / "plan.json", plan_to_json(*plan)); !ok) return ok;
        auto rendered = desk::render(desk_, {kSession, *plan, Audience::learners, "", folder_ / "export", true, kPassphrase}, progress_);
        if (!rendered) return rendered.failure();
        rendered_ = std::move(*rendered);
        auto text = desk::record_text(desk_, kSession);
        if (!text) return text.failure();
        return film::write_text(folder_ / "record.txt", *text);
    }

    // A question with choices where the wax is seen first, and a spot to be marked on the drum.
    Result<void> ask(Plan& plan) const {
        auto events = desk_.accepted_events(kSession);
        if (!events) return events.failure();
        for (auto& item : plan.items)
            if (auto* passage = std::get_if<Passage>(&item))
                for (const auto& e : *events)
                    if (e.recording == passage->recording && passage->span.holds(e.at))
                        if (auto question = demo_question(e); question && passage->span.holds(question->at)) passage->questions.push_back(*question);
        return {};
    }

    bool held() const { return rendered_.report.held; }

    std::string summary() const {
        const auto& r = rendered_.report;
        auto events = desk_.events(kSession);
        auto recordings = desk_.recordings(kSession);
        auto lines = desk::suspects(desk_, kSession);
        char film[160];
        std::snprintf(film, sizeof film, "%s, %ld frames, %.1f LUFS, peak %.1f dBTP", format_clock(r.length).c_str(), r.frames, r.loudness.integrated, r.loudness.true_peak);
        const fs::path out = r.folder;
        return "Recordings  " + (folder_ / "recordings").string() + " (" + std::to_string(recordings ? recordings->size() : 0) + ", drawn; names and numbers are test values)\n" +
               "Library     " + (folder_ / "library").string() + "\n" +
               "Record      " + (folder_ / "record.txt").string() + " (" + std::to_string(events ? events->size() : 0) + " events, draft until confirmed)\n" +
               "Suspects    " + std::to_string(lines ? lines->size() : 0) + " found, " + std::to_string(rendered_.open_suspects) + " open: all covered\n" +
               "Plan        " + (folder_ / "plan.json").string() + "\n" +
               "Clip        " + (out / "clip.mp4").string() + " (" + film + ")\n" +
               "Case page   " + (out / "case.html").string() + ", handout.pdf beside it, publishing/ for whoever publishes it\n" +
               "Beside it   clip.vtt, chapters.vtt, events.vtt, events.jsonld, events.csv, poster.jpg, manifest.json, check.json\n" +
               "Stills      " + (out / "stills").string() + " (" + std::to_string(r.stills) + ")\n" +
               "Check       " + (r.check.passed() ? "nothing found" : "something was found: the export is held back, see check.json") + "\n" +
               "Caution     It teaches and does not diagnose. Detectors miss things: a person must watch before it is shown.";
    }

  private:
    // Imports and tags as the clinician would; done once, a second run finds it done.
    Result<void> annotate(const json& truth) {
        auto rows = desk_.library.journal(kSession);
        if (!rows) return rows.failure();
        for (const auto& row : *rows)
            if (row.verb == kDone) return {};
        std::vector<Recording> imported;
        for (const auto& r : truth.at("recordings")) {
            desk::ImportWish wish;
            wish.session = kSession;
            wish.files = {folder_ / "recordings" / r.at("file").get<std::string>()};
            auto ear = ear_named(r.at("ear").get<std::string>());
            if (!ear) return ear.failure();
            wish.ear = *ear;
            auto done = desk::import_recordings(desk_, wish, [](const desk::Imported&) {}, progress_);
            if (!done) return done.failure();
            imported.push_back(done->front().recording);
        }
        for (std::size_t i = 0; i < imported.size(); ++i)
            for (const auto& e : truth.at("recordings").at(i).at("events"))
                if (auto ok = tag(e, imported[i]); !ok) return ok;
        for (std::size_t i = 0; i < imported.size(); ++i)
            for (const auto& span : truth.at("recordings").at(i).at("outside"))
                if (auto ok = leave_ear(span, imported[i]); !ok) return ok;
        // A person's own library has a passphrase of its own, which the demo does not know.
        const auto vault = desk_.library.vault();
        if (!vault) return vault.failure();
        if (!*vault || store::Vault::open(**vault, kPassphrase))
            if (auto sealed = desk::add_known(desk_, kSession, {"Brackwater", "Aldous", "TEST 0048213", "999 000 0018"}, kPassphrase); !sealed) return sealed.failure();
        if (auto done = desk_.library.commit({kSession, kDone, desk_.person, {}, false}); !done) return done.failure();
        return {};
    }

    // What the clinician does where the scope was out: tags it, and covers the whole picture by hand.
    Result<void> leave_ear(const json& span, const Recording& r) {
        constexpr Nanos kMargin = 3 * kSecond / 10;
        const RecordingTime out{nanos_from_seconds(span.at("start").get<double>())}, in{nanos_from_seconds(span.at("end").get<double>())};
        if (auto ok = tag({{"kind", "scope-out"}, {"start", out.seconds()}}, r); !ok) return ok;
        if (in < r.only.end)
            if (auto ok = tag({{"kind", "scope-in"}, {"start", in.seconds()}}, r); !ok) return ok;
        desk::CoverWish wish;
        wish.session = kSession;
        wish.span = {r.session_time(std::max(r.only.start, out - kMargin)), r.session_time(std::min(r.only.end, in + kMargin))};
        wish.reason = "out of the ear";
        auto done = desk::cover(desk_, wish);
        if (!done) return done.failure();
        return {};
    }

    Result<void> tag(const json& e, const Recording& r) {
        desk::TagWish wish;
        wish.session = kSession;
        wish.kind = e.at("kind");
        wish.at = r.session_time({nanos_from_seconds(e.at("start").get<double>())});
        const json attributes = e.value("attributes", json::object());
        for (const auto& [key, value] : attributes.items())
            wish.attributes.emplace_back(key, value.is_string() ? value.get<std::string>() : value.dump());
        auto done = desk::tag(desk_, wish);
        if (!done) return done.failure();
        return {};
    }

    fs::path folder_;
    desk::Desk& desk_;
    const Progress& progress_;
    desk::Rendered rendered_;
};

Result<json> truth_of(const fs::path& recordings, std::uint64_t seed, double seconds, const Progress& progress) {
    std::error_code ec;
    const fs::path file = recordings / "truth.json";
    if (!fs::exists(file, ec)) {
        demo::Options options;
        options.seed = seed;
        options.seconds = seconds;
        auto made = demo::make_session(recordings, options, progress);
        if (!made) return made.failure();
    }
    std::ifstream in(file, std::ios::binary);
    json truth = json::parse(in, nullptr, false);
    if (truth.is_discarded()) return machine_trouble("The demo's truth file is damaged: delete the demo's folder and run it again.");
    return truth;
}

}  // namespace

int run_demo(const DemoWish& wish) {
    std::error_code ec;
    const fs::path& folder = wish.folder;
    fs::create_directories(folder, ec);
    std::string summary;
    bool held = false;
    {
        TerminalProgress progress;
        auto truth = truth_of(folder / "recordings", wish.seed, wish.seconds, progress.progress());
        if (!truth) return complain(truth.failure());
        if (wish.recordings_only) return 0;
        auto desk = desk::Desk::open(wish.into.empty() ? folder / "library" : wish.into, wish.by);
        if (!desk) return complain(desk.failure());
        DemoJob job(folder, *desk, progress.progress());
        if (auto done = wish.into.empty() ? job.run(*truth) : job.prepare(*truth); !done) return complain(done.failure());
        if (wish.into.empty()) summary = job.summary(), held = job.held();
        else summary = "The session 'demo' is in the library, tagged and scanned; every name and number in it is a test value.";
    }
    say(summary);
    return held ? static_cast<int>(Trouble::refused) : 0;
}

}  // namespace canalogue::cli
