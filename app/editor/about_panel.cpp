#include "app/editor/about_panel.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "app/core/assessment.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/editor/words_warning.hpp"

namespace canalogue::editor {

namespace {

constexpr ShareBox kNewSpot{0.4, 0.4, 0.2, 0.2};

// A share as a person says it, in hundredths.
std::string hundredths(double share) {
    char text[32];
    std::snprintf(text, sizeof text, "%g", std::round(share * 1000) / 10);
    return text;
}

}  // namespace

bool AboutPanel::edit_lines(Workplace& w, const std::string& name, std::vector<std::string>& lines, const char* hint) {
    for (std::size_t i = 0; i <= lines.size(); ++i) {
        const bool fresh = i == lines.size();
        std::string text = fresh ? "" : lines[i];
        if (!edited(w, drafts_, name + " " + std::to_string(i), text, fresh ? hint : "empty takes it away")) continue;
        if (fresh) lines.push_back(text);
        else if (text.empty()) lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(i));
        else lines[i] = text;
        forget();
        return true;
    }
    return false;
}

void AboutPanel::draw_assessment(const Plan& plan) {
    const Assessment a = assess(plan);
    const std::string sum = std::to_string(a.marks()) + " of " + std::to_string(a.most());
    strong(("What a good film shows: " + sum).c_str());
    probe().mark("assessment", 0, 0, 1, 1, sum);
    for (const auto& item : a.items) {
        std::string line = "\u2022 " + std::to_string(item.marks) + "  " + item.name;
        for (std::size_t i = 0; i < item.missing.size(); ++i) line += (i ? "; " : ". Missing: ") + item.missing[i];
        if (item.marks < kMostMarksOfItem) said(line.c_str(), theme().text);
        else quiet(line.c_str());
    }
    quiet("Counted from the plan; whoever watches the film may mark it otherwise.");
}

std::string AboutPanel::draw(Workplace& w, Plan& plan) {
    About& a = plan.about;
    const struct {
        const char *heading, *name;
        std::string* text;
        const char* hint;
    } texts[] = {
        {"Title", "about title", &plan.title, "of the film, the case page and the handout"},
        {"Made by", "about made by", &a.made_by, "a clinic or a person"},
        {"Made for", "about made for", &a.made_for, "who is to learn from it"},
        {"The case", "about case", &a.case_text, "history and findings, without identifiers"},
        {"The outcome", "about outcome", &a.outcome, "how it ended"},
        {"Consent", "about consent", &a.consent, "what the patient agreed to"},
        {"Interests", "about conflicts", &a.conflicts, "none, or which"},
    };
    for (const auto& each : texts) {
        strong(each.heading);
        if (edited(w, drafts_, each.name, *each.text, each.hint)) return "tell of the case";
    }
    const struct {
        const char *heading, *name;
        std::vector<std::string>* lines;
        const char* hint;
    } lists[] = {{"Aims", "about aim", &a.aims, "what a learner can do afterwards"}, {"Credits", "about credit", &a.credits, "who helped"}, {"Tags", "about tag", &a.tags, "a word to be found by"}};
    for (const auto& each : lists) {
        strong(each.heading);
        if (edit_lines(w, each.name, *each.lines, each.hint)) return "tell of the case";
    }
    draw_assessment(plan);
    return "";
}

// In hundredths of the picture: left, top, width, height.
bool AboutPanel::edit_spot(Workplace& w, const std::string& name, ShareBox& spot) {
    std::string text = hundredths(spot.x) + " " + hundredths(spot.y) + " " + hundredths(spot.w) + " " + hundredths(spot.h);
    quiet("or typed: left, top, width and height in hundredths of the picture");
    if (!edited(w, drafts_, name + " spot", text, "40 40 20 20")) return false;
    double x = 0, y = 0, wide = 0, high = 0;
    const bool good = std::sscanf(text.c_str(), "%lf %lf %lf %lf", &x, &y, &wide, &high) == 4 && x >= 0 && y >= 0 && wide > 0 && high > 0 && x + wide <= 100 && y + high <= 100;
    forget();
    if (!good) return w.failed(wrong_use("A spot is four numbers, left, top, width and height in hundredths, that lie in the picture: 40 40 20 20 is its middle.")), false;
    spot = {x / 100, y / 100, wide / 100, high / 100};
    return true;
}

// On the frame at which the question is asked: with the mouse, or in numbers.
bool AboutPanel::draw_spot(Workplace& w, const std::string& name, const Passage& p, Question& q) {
    const std::string box = name + " spot box";
    if (const auto drawn = box_.drawn(w, p.recording, box)) return q.spot = *drawn, forget(), true;
    if (button(name + " draw spot", "Draw the spot", "", box_.awaits(box) ? Look::chosen : Look::plain)) {
        const Recording* r = w.view.recording(p.recording);
        w.player.play(false);
        if (r) w.player.go(r->session_time(q.at));
        box_.ask(box);
    }
    return edit_spot(w, name, *q.spot);
}

std::string AboutPanel::draw_question(Workplace& w, const std::string& name, const Passage& p, Question& q) {
    if (std::exchange(show_, show_ == name ? "" : show_) == name) ImGui::SetScrollHereY(0);
    quiet(("Asked at " + w.clock_of(p.recording, q.at)).c_str());
    if (edited(w, drafts_, name + " asks", q.asks, "what is asked")) return q.asks.empty() ? "take a question away" : "change a question";
    if (q.spot && draw_spot(w, name, p, q)) return "change a question";
    for (std::size_t i = 0; !q.spot && i < q.choices.size(); ++i) {
        if (chip(name + " right " + std::to_string(i), i == static_cast<std::size_t>(q.right) ? "right" : "wrong", i == static_cast<std::size_t>(q.right))) return q.right = static_cast<int>(i), "change a question";
        ImGui::SameLine();
        std::string text = q.choices[i];
        if (!edited(w, drafts_, name + " choice " + std::to_string(i), text, "a choice")) continue;
        if (!text.empty()) q.choices[i] = text;
        else if (q.choices.size() > 2) {
            q.choices.erase(q.choices.begin() + static_cast<std::ptrdiff_t>(i));
            if (q.right >= static_cast<int>(i)) q.right = std::max(0, q.right - 1);
        }
        forget();
        return "change a question";
    }
    std::string more;
    if (!q.spot && edited(w, drafts_, name + " new choice", more, "another choice")) {
        q.choices.push_back(more);
        forget();
        return "change a question";
    }
    return edited(w, drafts_, name + " reveals", q.reveals, "what is said when it is answered") ? "change a question" : "";
}

std::string AboutPanel::draw_questions(Workplace& w, Passage& p, RecordingTime now) {
    strong("Questions of the case page");
    for (std::size_t i = 0; i < p.questions.size(); ++i) {
        const std::string act = draw_question(w, "question " + std::to_string(i), p, p.questions[i]);
        if (act.empty()) continue;
        if (p.questions[i].asks.empty()) p.questions.erase(p.questions.begin() + static_cast<std::ptrdiff_t>(i)), forget();
        return act;
    }
    const bool here = p.span.holds(now);
    const bool choice = button("ask choices", "Ask here", "", Look::plain, here);
    ImGui::SameLine();
    const bool spot = button("ask spot", "Ask for a spot", "", Look::plain, here);
    if (!choice && !spot) return "";
    Question q;
    q.at = now;
    q.asks = spot ? "Where is it?" : "What is it?";
    if (spot) q.spot = kNewSpot;
    else q.choices = {"This", "That"}, q.right = 0;
    p.questions.push_back(q);
    forget();
    // Its words, or its spot, come next.
    show_ = "question " + std::to_string(p.questions.size() - 1);
    if (spot) w.player.play(false), box_.ask(show_ + " spot box");
    else ui().focus.go(show_ + " asks");
    return "ask a question";
}

}  // namespace canalogue::editor
