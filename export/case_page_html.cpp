// The case page as HTML. All that it tells stands in it as text: the script only adds the timeline, the search, the
// captions and the questions, and paper gets two pages of its own.
#include <nlohmann/json.hpp>

#include "export/case_page.hpp"
#include "export/html.hpp"
#include "export/marks.hpp"
#include "export/sidecars.hpp"

namespace canalogue::film {

namespace {

using json = nlohmann::ordered_json;

constexpr const char* kControls = R"(<div class="controls scripted" hidden>
<button type="button" id="play" class="main">Play</button>
<button type="button" id="back">Back 5 s</button>
<button type="button" id="on">On 5 s</button>
<span class="clock" id="now"></span>
<span class="more">
<button type="button" id="captions" aria-pressed="true">Captions</button>
<select id="tongue" aria-label="Language of the captions" hidden></select>
<select id="pace" aria-label="Pace"><option value="0.5">0.5x</option><option value="0.75">0.75x</option><option value="1" selected>1x</option><option value="1.5">1.5x</option></select>
<button type="button" id="mute" aria-pressed="false">Mute</button>
<button type="button" id="whole">Whole screen</button>
</span>
</div>
)";

// Two strokes each, dark under light: seen on any picture.
constexpr const char* kAim = R"(<div class="aim" role="slider" tabindex="0" aria-label="The cross in the picture: arrow keys move it, Enter marks" aria-valuemin="0" aria-valuemax="100" aria-valuenow="50" hidden>
<svg aria-hidden="true"><line class="across"/><line class="down"/><line class="across top"/><line class="down top"/><rect/><rect class="top"/></svg>
</div>
)";

constexpr std::size_t kPrintedStills = 4;  // case.css hides the others on paper

double seconds(Nanos t) { return static_cast<double>((t + kMillisecond / 2) / kMillisecond) / 1000; }

const char* name(Ear ear) { return ear == Ear::right ? "Right ear" : "Left ear"; }

std::string joined(const std::vector<std::string>& lines, const char* between) {
    std::string out;
    for (const auto& line : lines) out += (out.empty() ? "" : between) + line;
    return out;
}

// A part of the page that is there only when it has something to say.
std::string part(const std::string& look, const std::string& heading, const std::string& body) {
    return body.empty() ? "" : "<section" + (look.empty() ? "" : " class=\"" + look + "\"") + ">\n<h2>" + heading + "</h2>\n" + body + "</section>\n";
}

std::string paragraphs(const std::string& text) {
    std::string out, line;
    for (const char c : text + "\n") {
        if (c != '\n') line += c;
        else if (!line.empty()) out += "<p>" + html_safe(line) + "</p>\n", line.clear();
    }
    return out;
}

std::string bullets(const std::vector<std::string>& lines) {
    std::string out;
    for (const auto& line : lines) out += "<li>" + html_safe(line) + "</li>\n";
    return out.empty() ? "" : "<ul>\n" + out + "</ul>\n";
}

std::string go(const std::string& look, Nanos at, const std::string& mark, const std::string& words, const std::string& side) {
    return "<button type=\"button\" class=\"go" + look + "\" data-at=\"" + npt(at) + "\">" + mark + "<span class=\"time\">" + format_clock(at) + "</span><span class=\"words\">" + html_safe(words) +
           "</span>" + (side.empty() ? "" : "<span class=\"side\">" + side + "</span>") + "</button>";
}

json box_json(const ShareBox& b) {
    const auto four = [](double v) { return std::round(v * 1e4) / 1e4; };
    return {{"x", four(b.x)}, {"y", four(b.y)}, {"width", four(b.w)}, {"height", four(b.h)}};
}

json tracks_json(const CasePage& page) {
    json tracks = json::array();
    for (const auto& track : page.tracks) {
        json cues = json::array();
        for (const auto& cue : track.cues) cues.push_back({{"from", seconds(cue.span.start.ns)}, {"until", seconds(cue.span.end.ns)}, {"words", joined(cue.lines, "\n")}});
        tracks.push_back({{"language", track.language}, {"cues", cues}});
    }
    return tracks;
}

json questions_json(const CasePage& page) {
    json out = json::array();
    for (const auto& q : page.questions) {
        json one = {{"at", seconds(q.at.ns)}, {"asks", q.question.asks}, {"reveals", q.question.reveals}, {"event", q.nearest}};
        if (q.spot) one["spot"] = box_json(*q.spot);
        else one["choices"] = q.question.choices, one["right"] = q.question.right;
        out.push_back(one);
    }
    return out;
}

std::string data_of(const CasePage& page) {
    json events = json::array(), chapters = json::array();
    for (const auto& e : page.events) events.push_back({{"at", seconds(e.span.start.ns)}, {"until", seconds(e.span.end.ns)}, {"ear", name_of(e.ear)}, {"words", e.words}});
    for (const auto& c : page.chapters) chapters.push_back({{"at", seconds(c.start.ns)}, {"title", c.title}});
    const json all = {{"length", seconds(page.length)}, {"aims", page.about.aims}, {"rate", page.frames_per_second}, {"burnt", page.captions_burnt}, {"chapters", chapters},
                      {"events", events},               {"tracks", tracks_json(page)},    {"questions", questions_json(page)}};
    return json_in_page(all.dump(-1, ' ', false, json::error_handler_t::replace));
}

std::string head_of(const CasePage& page) {
    const bool english = page.language.rfind("en", 0) == 0;
    return "<!doctype html>\n<html lang=\"" + (english ? html_safe(page.language) : std::string("en")) + "\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"" +
           page_policy(page_style(), page_script()) + "\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"referrer\" content=\"no-referrer\">\n" +
           "<meta name=\"color-scheme\" content=\"light dark\">\n<title>" + html_safe(page.title) + "</title>\n<style>" + std::string(page_style()) + "</style>\n</head>\n";
}

std::string title_of(const CasePage& page) {
    std::string by;
    if (!page.about.made_by.empty()) by += "By " + html_safe(page.about.made_by) + ". ";
    if (!page.about.made_for.empty()) by += "For " + html_safe(page.about.made_for) + ". ";
    return (page.notice.empty() ? "" : "<p class=\"notice\">" + html_safe(page.notice) + "</p>\n") + "<header>\n<h1 lang=\"" + html_safe(page.language) + "\">" + html_safe(page.title) +
           "</h1>\n<p class=\"quiet\">" + by + format_clock(page.length) + " of film.</p>\n</header>\n";
}

// Lanes for the ears that the film tells of.
std::string lanes_of(const CasePage& page) {
    std::string out;
    for (const Ear ear : {Ear::right, Ear::left})
        if (std::any_of(page.events.begin(), page.events.end(), [&](const PageEvent& e) { return e.ear == ear; }))
            out += "<div class=\"lane " + std::string(name_of(ear)) + "\"><b>" + std::string(letter_of(ear)) + "</b></div>\n";
    return out;
}

std::string film_of(const CasePage& page) {
    const bool tall = page.size.h >= page.size.w;
    return "<section id=\"film\" class=\"theatre\" aria-label=\"Film\">\n<div class=\"stage" + std::string(tall ? " tall" : "") + "\">\n<video src=\"" + page.film_file + "\" poster=\"poster.jpg\" width=\"" +
           std::to_string(page.size.w) + "\" height=\"" + std::to_string(page.size.h) + "\" preload=\"auto\" playsinline controls></video>\n" + kAim +
           "</div>\n<section class=\"question\" aria-label=\"Question\" hidden></section>\n<p class=\"fault\" role=\"alert\" hidden>This browser cannot play the film here. Open " + page.film_file + ", which lies beside this page, with a program for films.</p>\n<p class=\"captions scripted\" lang=\"" +
           html_safe(page.language) + "\" hidden></p>\n" + kControls + "<div class=\"timeline scripted\" hidden>\n<input type=\"range\" id=\"place\" min=\"0\" max=\"" + npt(page.length) +
           "\" step=\"0.1\" value=\"0\" aria-label=\"Place in the film\">\n<div class=\"lanes\" aria-hidden=\"true\">\n" + lanes_of(page) + "<div class=\"head\"></div>\n</div>\n<div class=\"parts\" aria-hidden=\"true\"></div>\n</div>\n</section>\n";
}

// Chapters and events in one list, by time.
std::string index_of(const CasePage& page) {
    std::string out;
    std::size_t e = 0;
    const auto events_until = [&](Nanos end) {
        for (; e < page.events.size() && page.events[e].span.start.ns < end; ++e) {
            const PageEvent& it = page.events[e];
            out += "<li>" + go(" event", it.span.start.ns, mark_svg(it.symbol), it.words, it.ear == Ear::right ? "Right" : "Left") + "</li>\n";
        }
    };
    for (const auto& chapter : page.chapters) {
        events_until(chapter.start.ns);
        out += "<li><h3>" + go(" part", chapter.start.ns, "", chapter.title, "") + "</h3></li>\n";
    }
    events_until(page.length + 1);
    return "<aside class=\"index\" aria-label=\"In this film\">\n<h2>In this film</h2>\n<div class=\"scripted\" hidden><label for=\"sought\" class=\"unseen\">Search captions and events</label>\n"
           "<input type=\"search\" id=\"sought\" placeholder=\"Search captions and events\" autocomplete=\"off\">\n<p class=\"found quiet\" role=\"status\"></p></div>\n<ul class=\"list\" lang=\"" +
           html_safe(page.language) + "\">\n" + out + "</ul>\n<ul class=\"list hits\" lang=\"" + html_safe(page.language) + "\" hidden></ul>\n</aside>\n";
}

std::string asked_of(const CasePage& page) {
    if (page.questions.empty()) return "";
    std::string out = "<section class=\"asked scripted\" hidden>\n<h2>Questions</h2>\n<p>The film stops at each of them and asks. What you answer stays in this browser.</p>\n<p class=\"scores\"><span id=\"score\" role=\"status\"></span>"
                      "<button type=\"button\" id=\"reset\">Forget my answers</button></p>\n<p class=\"scores\">";
    for (std::size_t i = 0; i < page.questions.size(); ++i)
        out += "<button type=\"button\" class=\"again\" data-number=\"" + std::to_string(i) + "\">Question " + std::to_string(i + 1) + ", at " + format_clock(page.questions[i].at.ns) + "</button>\n";
    return out + "</p>\n</section>\n";
}

std::string statements_of(const About& about) {
    std::string out;
    const auto say = [&](const char* what, const std::string& text) {
        if (!text.empty()) out += "<dt>" + std::string(what) + "</dt><dd>" + html_safe(text) + "</dd>\n";
    };
    say("Consent", about.consent), say("Interests", about.conflicts), say("Credits", joined(about.credits, "; "));
    return out.empty() ? "" : "<dl>\n" + out + "</dl>\n";
}

std::string stills_of(const CasePage& page) {
    std::string out;
    for (std::size_t i = 0; i < page.stills.size(); ++i) {
        const PageStill& s = page.stills[i];
        const char* lazy = i < kPrintedStills ? "" : " loading=\"lazy\"";  // what is printed has to be there
        out += "<li data-words=\"" + html_safe(s.words) + "\"><figure><a href=\"" + html_safe(s.file) + "\"><img src=\"" + html_safe(s.file) + "\" alt=\"" + name(s.ear) + " at " + format_clock(s.at.ns) + ", still\"" + lazy + "></a><figcaption>" + name(s.ear) + ": " +
               html_safe(s.words) + go("", s.at.ns, "", "Show it in the film", "") + "</figcaption></figure></li>\n";
    }
    return out.empty() ? "" : "<section class=\"stills\">\n<h2>Stills</h2>\n<ul class=\"grid\">\n" + out + "</ul>\n</section>\n";
}

std::string transcript_of(const CasePage& page) {
    std::string out;
    for (const auto& track : page.tracks) {
        std::string said;
        for (const auto& cue : track.cues) said += (said.empty() ? "" : " ") + joined(cue.lines, " ");
        out += "<p lang=\"" + html_safe(track.language) + "\">" + html_safe(said) + "</p>\n";
    }
    return out.empty() ? "" : "<details>\n<summary>All that is said</summary>\n" + out + "</details>\n";
}

// What only paper shows: the second page of the handout.
std::string paper_of(const CasePage& page) {
    std::string chapters, asked, answers;
    for (const auto& c : page.chapters) chapters += "<tr><td>" + format_clock(c.start.ns) + "</td><td>" + html_safe(c.title) + "</td></tr>\n";
    for (std::size_t i = 0; i < page.questions.size(); ++i) {
        const Question& q = page.questions[i].question;
        asked += "<li>" + html_safe(q.asks);
        for (std::size_t n = 0; n < q.choices.size(); ++n) asked += "<br>" + letter_of_choice(n) + "  " + html_safe(q.choices[n]);
        asked += "</li>\n";
        answers += std::to_string(i + 1) + ": " + (q.choices.empty() ? "" : letter_of_choice(static_cast<std::size_t>(q.right)) + ". ") + html_safe(q.reveals) + " ";
    }
    return "<div class=\"paper\">\n" + part("", "Chapters", chapters.empty() ? "" : "<table>\n" + chapters + "</table>\n") + part("", "Outcome", paragraphs(page.about.outcome)) +
           part("", "Questions", asked.empty() ? "" : "<ol>\n" + asked + "</ol>\n") + part("", "Statements and credits", statements_of(page.about)) +
           (answers.empty() ? "" : "<p class=\"small\">Answers. " + answers + "</p>\n") + "</div>\n";
}

}  // namespace

std::string case_page_html(const CasePage& page) {
    const About& about = page.about;
    const std::string caution = "<p class=\"caution\">" + html_safe(teaching_caution()) + " Detectors miss things: a person must have watched this film before it is shown.</p>\n";
    return head_of(page) + "<body>\n<a class=\"skip\" href=\"#film\">To the film</a>\n" + title_of(page) + "<main>\n" + caution + "<div class=\"watch\">\n" + film_of(page) + index_of(page) + "</div>\n" + asked_of(page) +
           "<div class=\"told\" lang=\"" + html_safe(page.language) + "\">\n" + part("", "The case", paragraphs(about.case_text)) + part("", "What you can learn", bullets(about.aims)) +
           part("late", "The outcome", paragraphs(about.outcome)) + part("late", "Statements and credits", statements_of(about)) + "</div>\n" + stills_of(page) + paper_of(page) + "</main>\n<footer>\n" + transcript_of(page) +
           "<p class=\"quiet\">Made with Canalogue, which teaches and documents and does not diagnose.</p>\n</footer>\n<script type=\"application/json\" id=\"told\">" + data_of(page) + "</script>\n<script>" +
           std::string(page_script()) + "</script>\n</body>\n</html>\n";
}

}  // namespace canalogue::film
