// The report of a check as one page to print and to sign by hand.
#include "export/check.hpp"
#include "export/html.hpp"

namespace canalogue::film {

namespace {

const char* const kHead = R"(<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>Check of a film</title>
<style>
@page { size: A4; margin: 16mm }
body { font: 11pt/1.4 sans-serif; color: #111; max-width: 178mm; margin: 0 auto }
h1 { font-size: 16pt; margin: 0 0 2mm }
table { border-collapse: collapse; width: 100%; margin: 4mm 0 }
th, td { text-align: left; vertical-align: top; border-bottom: 0.3mm solid #888; padding: 1.2mm 2mm 1.2mm 0; overflow-wrap: anywhere }
td ul { margin: 1mm 0 0; padding-left: 5mm }
.verdict { border: 0.6mm solid #111; padding: 2.5mm 3mm; font-weight: bold }
.line { border-bottom: 0.3mm solid #111; display: inline-block; width: 70mm }
</style>
</head>
<body>
)";

std::string row(const CheckLook& look) {
    using Outcome = CheckLook::Outcome;
    const char* outcome = look.outcome == Outcome::clean ? "nothing found" : look.outcome == Outcome::finding ? "FOUND" : "not done";
    std::string out = "<tr><td>" + html_safe(look.name) + "</td><td>" + outcome + "</td><td>" + html_safe(look.words);
    constexpr std::size_t kShown = 8;  // so that one page holds it
    if (!look.places.empty()) out += "<ul>";
    for (std::size_t i = 0; i < look.places.size() && i < kShown; ++i) out += "<li>" + html_safe(look.places[i].what) + ": " + html_safe(look.places[i].where) + "</li>";
    if (look.places.size() > kShown) out += "<li>and " + std::to_string(look.places.size() - kShown) + " more</li>";
    if (!look.places.empty()) out += "</ul>";
    return out + "</td></tr>\n";
}

}  // namespace

std::string report_page(const CheckReport& report, const std::string& what) {
    std::string out = kHead;
    out += "<h1>Check of a film</h1>\n<p>" + html_safe(what) + "</p>\n<p class=\"verdict\">";
    out += report.passed() ? "Nothing was found." : "Something was found that may identify a person: do not show this film.";
    out += "</p>\n<table>\n<tr><th>Look</th><th>Outcome</th><th>What was looked at, and where something is</th></tr>\n";
    for (const auto& look : report.looks) out += row(look);
    out += "</table>\n<p>Detectors miss things: a person must watch the film before it is shown. What was \"not done\" was not looked for. Local policy and licensed practice decide. "
           "Canalogue teaches and documents; it does not diagnose.</p>\n"
           "<p>Watched from beginning to end by <span class=\"line\"></span> on <span class=\"line\" style=\"width:35mm\"></span></p>\n</body>\n</html>\n";
    return out;
}

}  // namespace canalogue::film
