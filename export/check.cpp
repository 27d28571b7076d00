#include "export/check.hpp"

#include <algorithm>
#include <atomic>
#include <future>
#include <nlohmann/json.hpp>

#include "app/core/audience.hpp"
#include "app/core/identifiers.hpp"
#include "app/core/known.hpp"
#include "app/media/open_file.hpp"
#include "export/check_parts.hpp"
#include "export/mp4_boxes.hpp"

namespace canalogue::film {

namespace fs = std::filesystem;

namespace {

bool is_film(const fs::path& p) {
    static const char* const kFilms[] = {".mp4", ".mov", ".mkv", ".avi", ".ts", ".m4v", ".webm", ".mpg"};
    return std::any_of(std::begin(kFilms), std::end(kFilms), [&](const char* e) { return p.extension() == e; });
}

std::vector<fs::path> files_in(const fs::path& place) {
    std::vector<fs::path> out;
    if (fs::is_regular_file(place)) out.push_back(place);
    else
        for (const auto& entry : fs::recursive_directory_iterator(place))
            if (entry.is_regular_file()) out.push_back(entry.path());
    std::sort(out.begin(), out.end());
    return out;
}

const char* word_for(CheckLook::Outcome o) {
    switch (o) {
        case CheckLook::Outcome::clean: return "clean";
        case CheckLook::Outcome::finding: return "FOUND";
        case CheckLook::Outcome::not_done: return "not done";
    }
    return "";
}

CheckLook names_of_files(const std::vector<fs::path>& files, const fs::path& root, const CheckOptions& options) {
    CheckLook look{CheckLook::Outcome::clean, "File names", "searched for identifiers", {}};
    for (const auto& f : files) {
        const auto hits = identifying(f.lexically_relative(root).string(), "a file's name", options);
        look.places.insert(look.places.end(), hits.begin(), hits.end());
    }
    if (!look.places.empty()) look.outcome = CheckLook::Outcome::finding;
    return look;
}

// What a person has looked at and judged does not hold a film back again.
CheckLook without_judged(CheckLook look, const CheckOptions& options) {
    if (!options.judged_harmless) return look;
    const auto judged = [&](const CheckPlace& p) {
        if (!p.kind || p.known) return false;
        if (!p.still.empty()) return options.judged_still && options.judged_still(*p.kind, p.still);
        return !p.seen.empty() && std::all_of(p.seen.begin(), p.seen.end(), [&](FilmTime t) { return options.judged_harmless(*p.kind, t); });
    };
    look.judged = static_cast<int>(std::erase_if(look.places, judged));
    if (look.judged == 0) return look;
    look.words += look.judged == 1 ? "; one place was left aside, which a person judged harmless" : "; " + std::to_string(look.judged) + " places were left aside, which a person judged harmless";
    if (look.places.empty() && look.outcome == CheckLook::Outcome::finding) look.outcome = CheckLook::Outcome::clean;
    return look;
}

using Look = std::function<Result<CheckLook>(const Progress&)>;

// They need nothing of one another, and each much of a processor's time. How far all are is told by the thread that asked.
Result<std::vector<CheckLook>> taken_together(const std::vector<Look>& looks, const Progress& progress) {
    constexpr std::chrono::milliseconds kTold{100};
    std::vector<std::atomic<double>> done(looks.size());
    std::vector<std::future<Result<CheckLook>>> taken;
    for (std::size_t i = 0; i < looks.size(); ++i)
        taken.push_back(std::async(std::launch::async, [&, i] {
            Progress own;
            own.stop = progress.stop;
            own.report = [&, i](std::string_view, double share) { done[i] = share; };
            auto look = looks[i](own);
            done[i] = 1;
            return look;
        }));
    for (const auto& t : taken)
        while (t.wait_for(kTold) != std::future_status::ready) {
            double sum = 0;
            for (const auto& share : done) sum += share;
            progress.report("Looking through the finished film", sum / static_cast<double>(done.size()));
        }
    std::vector<CheckLook> out;
    for (auto& t : taken) {
        auto look = t.get();
        if (!look) return look.failure();
        out.push_back(std::move(*look));
    }
    return out;
}

}  // namespace

bool CheckReport::passed() const {
    return std::none_of(looks.begin(), looks.end(), [](const CheckLook& l) { return l.outcome == CheckLook::Outcome::finding; });
}

std::vector<CheckPlace> identifying(const std::string& text, const std::string& where, const CheckOptions& options, std::optional<FilmTime> at) {
    const std::vector<FilmTime> seen = at ? std::vector{*at} : std::vector<FilmTime>{};
    std::vector<CheckPlace> out;
    for (const auto& hit : identifiers_in(text)) out.push_back({hit.what, where, at ? std::optional(SuspectKind::text) : std::nullopt, false, seen});
    for (const auto& known : options.known_identifiers)
        if (const auto held = read_with(text, known); held != Holding::nothing) out.push_back({std::string(name_of(held)), where, at ? std::optional(SuspectKind::text) : std::nullopt, true, seen});
    return out;
}

Result<CheckReport> check_export(const fs::path& place, const CheckOptions& options, const Progress& progress) {
    std::error_code ec;
    if (!fs::exists(place, ec)) return wrong_use("There is nothing to check at that place; name a film or an export folder.");
    CheckReport report;
    const auto files = files_in(place);
    const fs::path root = fs::is_directory(place) ? place : place.parent_path();
    report.looks.push_back(names_of_files(files, root, options));
    report.looks.push_back(look_at_bytes(files, options));
    report.looks.push_back(look_at_picture_files(files));
    std::vector<Look> stills;
    if (files.size() > 1)
        for (auto* look : {read_stills, look_for_faces_in_stills}) stills.push_back([&, look](const Progress& own) { return look(files, options, own); });
    if (options.known_identifiers.empty()) report.looks.push_back({CheckLook::Outcome::not_done, "Known identifiers", "not compared: " + options.why_none_known, {}});
    bool any = false;
    for (const auto& f : files) {
        if (!is_film(f) && files.size() > 1) continue;
        any = true;
        // What cannot be opened was not examined: that must not look like a pass.
        if (auto opens = media::OpenFile::open(f, 1); !opens) return opens.failure();
        if (is_mp4(f)) report.looks.push_back(look_at_boxes(f));
        report.looks.push_back(look_at_tags(f));
        report.looks.push_back(look_at_picture_notes(f));
        std::vector<Look> all = std::exchange(stills, {});
        for (auto* look : {read_pictures, read_pictures_again, look_for_faces, listen_for_speech, listen_for_names})
            all.push_back([&, look](const Progress& own) { return look(f, options, own); });
        auto looks = taken_together(all, progress);
        if (!looks) return looks.failure();
        for (auto& look : *looks) report.looks.push_back(without_judged(std::move(look), options));
    }
    if (!any) return wrong_use("There is no film to check at that place; name a film or an export folder.");
    return report;
}

std::string report_table(const CheckReport& report) {
    std::string out;
    char line[256];
    for (const auto& look : report.looks) {
        std::snprintf(line, sizeof line, "%-9s %-26s %s\n", word_for(look.outcome), look.name.c_str(), look.words.c_str());
        out += line;
        constexpr std::size_t kShown = 12;
        for (std::size_t i = 0; i < look.places.size() && i < kShown; ++i)
            out += "            - " + look.places[i].what + ": " + look.places[i].where + "\n";
        if (look.places.size() > kShown) out += "            - and " + std::to_string(look.places.size() - kShown) + " more\n";
    }
    out += report.passed() ? "Nothing was found. Detectors miss things: a person must watch the film before it is shown.\n"
                           : "Something was found that may identify a person: do not show this film.\n";
    return out;
}

std::string report_json(const CheckReport& report) {
    nlohmann::ordered_json looks = nlohmann::ordered_json::array();
    for (const auto& look : report.looks) {
        nlohmann::ordered_json places = nlohmann::ordered_json::array();
        for (const auto& p : look.places) places.push_back({{"what", p.what}, {"where", p.where}});
        const char* outcome = look.outcome == CheckLook::Outcome::clean ? "clean" : look.outcome == CheckLook::Outcome::finding ? "finding" : "not-done";
        looks.push_back({{"look", look.name}, {"outcome", outcome}, {"words", look.words}, {"places", places}});
        if (look.judged > 0) looks.back()["judged_harmless"] = look.judged;
    }
    const nlohmann::ordered_json j = {{"canalogue_check", 1},
                                      {"passed", report.passed()},
                                      {"looks", looks},
                                      {"caution", "Detectors miss things: a person must watch the film before it is shown. Local policy decides."}};
    return j.dump(2) + "\n";
}

}  // namespace canalogue::film
