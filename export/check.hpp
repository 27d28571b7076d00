// The examination of a finished export, or of any film, as a stranger would do it: whatever could
// still tell who somebody is. What it looked at, what it found, and what it could not do.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"
#include "app/core/suspect.hpp"
#include "app/core/view.hpp"
#include "app/plugin_host/spotter_process.hpp"

namespace canalogue::film {

// How an instant of a film was made.
struct MadeHow {
    double pace = 1;  // of the recording
    ViewChange view;
};

struct CheckOptions {
    // Opened for this check only; none: not compared, and the report says so and why.
    std::vector<std::string> known_identifiers;
    std::string why_none_known = "no session was named to compare with";
    // Null: not installed, and the report says so.
    const PluginInfo* text_spotter = nullptr;  // the first reader
    const PluginInfo* face_spotter = nullptr;
    const PluginInfo* speech_spotter = nullptr;
    HostOptions host;
    // Whether a person has judged what is found of this kind, at this instant of the film, to be harmless; null: nothing
    // was judged. A known identifier is never asked about.
    std::function<bool(SuspectKind, FilmTime)> judged_harmless;
    // The same of a still, by its file's name.
    std::function<bool(SuspectKind, const std::string&)> judged_still;
    // Where it is known: what goes by quickly is looked at as often as in the recording, and what is turned or mirrored as it
    // was filmed, too. Null: a film of unknown making.
    std::function<MadeHow(FilmTime)> made_how;
};

struct CheckPlace {
    std::string what;   // never the identifying words themselves
    std::string where;  // file and time or byte
    std::optional<SuspectKind> kind{};  // what it is as a suspect of the recording that is shown; none: it is none
    bool known = false;                 // a known identifier: nobody judges that harmless
    std::vector<FilmTime> seen{};  // the instants of the film at which it was found; empty: it has no time
    double sureness = 1;
    std::string still{};           // or the still's file name
};

struct CheckLook {
    enum class Outcome { clean, finding, not_done } outcome = Outcome::clean;
    std::string name;   // "Boxes and tags"
    std::string words;  // what was done, or why not
    std::vector<CheckPlace> places;
    int judged = 0;     // places left aside because a person had judged them harmless
};

struct CheckReport {
    std::vector<CheckLook> looks;
    bool passed() const;  // no finding
};

// A film alone, or every file of an export folder. Cancelled when asked.
Result<CheckReport> check_export(const std::filesystem::path& file_or_folder, const CheckOptions& options, const Progress& progress);

std::string report_table(const CheckReport& report);
std::string report_json(const CheckReport& report);
// One page of HTML to print and sign; `what`: the film's name, for its head. Needs nothing from anywhere else.
std::string report_page(const CheckReport& report, const std::string& what);

}  // namespace canalogue::film
