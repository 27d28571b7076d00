// How the clip desk looks.
#include <GLFW/glfw3.h>
#include <imgui_internal.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "app/core/plan_names.hpp"
#include "app/editor/clip_desk.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/editor/words_warning.hpp"
#include "export/encoder.hpp"

namespace canalogue::editor {

namespace {

constexpr float kCardRow = 74, kCardLine = 20;  // at scale 1; a line more where there is more to tell
constexpr Nanos kNewHold = 2 * kSecond, kRamp = kSecond;
constexpr const char* kLengthHint = "how long, such as 3:00; empty: as it comes";
constexpr double kPaces[] = {0.25, 0.5, 1, 1.5, 2, 3, 4, 8};

std::string short_time(Nanos t) { return format_time(t / (kSecond / 10) * (kSecond / 10)); }

// A pace as a person says it: in hundredths.
std::string number(double v) {
    char text[32];
    std::snprintf(text, sizeof text, "%g", std::round(v * 100) / 100);
    return text;
}

}  // namespace

void ClipDesk::draw_card_row(Workplace& w, std::size_t i) {
    const auto* passage = std::get_if<Passage>(&plan_->items[i]);
    const std::string more = passage ? passage_words(*passage) : "";
    const Row r = row("item " + std::to_string(i), px(kCardRow + (more.empty() ? 0 : kCardLine)), chosen_ == i);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const ImVec2 a{r.from.x + px(10), r.from.y + px(6)}, b{a.x + px(110), a.y + px(62)};
    draw->AddRectFilled(a, b, IM_COL32(0, 0, 0, 255), px(3));
    std::string head, second;
    if (const auto* p = std::get_if<Passage>(&plan_->items[i])) {
        if (const RgbTexture* t = thumbnail(w, i)) {
            const float scale = std::min((b.x - a.x) / static_cast<float>(t->size().w), (b.y - a.y) / static_cast<float>(t->size().h));
            const float tw = static_cast<float>(t->size().w) * scale, th = static_cast<float>(t->size().h) * scale;
            const ImVec2 at{a.x + (b.x - a.x - tw) / 2, a.y + (b.y - a.y - th) / 2};
            draw->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::intptr_t>(t->texture())), at, {at.x + tw, at.y + th});
        }
        head = p->chapter.empty() ? std::string(p->ear == Ear::right ? "Right ear" : "Left ear") : p->chapter;
        second = w.clock_of(p->recording, p->span.start) + " to " + w.clock_of(p->recording, p->span.end) + ", " + number(p->pace) + "x";
    } else {
        const auto& c = std::get<Card>(plan_->items[i]);
        text_within({a.x + px(8), a.y + px(22)}, px(96), c.title, film::kMist);
        head = c.title;
        second = "card, " + short_time(c.length);
    }
    const float x = b.x + px(12), width = r.to.x - x - px(8);
    text_within({x, r.from.y + px(6)}, width, std::to_string(i + 1) + "  " + head, theme().text, ui().fonts.strong);
    text_within({x, r.from.y + px(28)}, width, second + (schedule_ ? "  =  " + short_time(film_length(i)) : ""), theme().quiet);
    const float foot = r.to.y - px(25);
    if (!more.empty()) text_within({x, foot - px(kCardLine)}, width, more, theme().quiet);
    const std::string fit = fit_words(i);
    text_within({x, foot}, width, fit, fit.find("shorten") == std::string::npos ? theme().quiet : theme().danger);
    probe().mark("voice " + std::to_string(i), x, foot, width, px(18), fit);
    if (ImGui::IsItemActive() && ImGui::IsMouseDragging(0, px(6))) dragged_ = i;
    if (!r.pressed || dragged_) return;
    choose(i);
    if (const auto items = preview_.outline().items; preview_.on() && i < items.size()) preview_.go(items[i]);
    if (const auto* p = std::get_if<Passage>(&plan_->items[i]))
        if (const Recording* rec = w.view.recording(p->recording)) w.player.go(rec->session_time(p->span.start));
}

// A line shows where the card under the hand would go; it goes there when the hand lets go. Esc leaves it.
void ClipDesk::drag_cards(Workplace& w, const std::vector<ImVec2>& tops) {
    if (!dragged_ || *dragged_ + 1 >= tops.size()) return dragged_.reset();
    if (ui().keys.down(GLFW_KEY_ESCAPE)) {
        ImGui::ClearActiveID();  // or the hand, still down, would take it again
        return dragged_.reset();
    }
    const ImVec2 mouse = ImGui::GetIO().MousePos, list = ImGui::GetWindowPos(), room = ImGui::GetWindowSize();
    std::size_t before = 0;
    while (before + 1 < tops.size() && (tops[before].y + tops[before + 1].y) / 2 < mouse.y) ++before;
    // Near an end of the list, more of it comes.
    const float over = std::min(0.0f, mouse.y - list.y - px(24)) + std::max(0.0f, mouse.y - list.y - room.y + px(24));
    if (over != 0) ImGui::SetScrollY(ImGui::GetScrollY() + std::clamp(over, -px(20), px(20)) * 0.4f);
    const float y = tops[before].y - ImGui::GetStyle().ItemSpacing.y / 2, right = tops.front().x + ImGui::GetContentRegionAvail().x;
    ImDrawList* draw = ImGui::GetWindowDrawList();
    draw->AddRectFilled({tops.front().x, y - px(2)}, {right, y + px(2)}, colour(theme().accent), px(2));
    draw->AddCircleFilled({tops.front().x + px(4), y}, px(5), colour(theme().accent));
    probe().mark("card goes", tops.front().x, y, right - tops.front().x, px(2), std::to_string(before));
    ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeNS);
    if (ImGui::IsMouseDown(0)) return;
    const std::size_t from = *dragged_;
    dragged_.reset();
    choose(move_item(*plan_, from, before));
    if (*chosen_ != from) change(w, "move in the plan");
}

// True when something was done, and the plan is no longer what was being drawn.
bool ClipDesk::draw_narration(Workplace& w, std::vector<NarrationLine>& lines) {
    strong("Narration");
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const std::string name = "line " + std::to_string(i);
        auto [draft, fresh] = drafts_.try_emplace(name, lines[i].text);
        const bool edited = !takes_.recording() && field(name, draft->second, "a sentence; empty takes it away");
        if (takes_.recording()) quiet(lines[i].text.c_str());
        if (const std::string act = takes_.draw(w, *plan_, i, lines[i]); !act.empty()) return change(w, act), true;
        if (!edited) warn_of(w, draft->second);
        if (!edited) continue;
        if (draft->second.empty()) lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(i));
        else lines[i].text = draft->second;
        drafts_.clear();
        return change(w, "change the narration"), true;
    }
    if (takes_.recording()) return false;
    auto& fresh = drafts_["new line"];
    if (field("new line", fresh, "another sentence") && !fresh.empty()) {
        lines.push_back(fresh);
        drafts_.clear();
        change(w, "add narration");
        return true;
    }
    warn_of(w, fresh);
    return false;
}

void ClipDesk::draw_title(Workplace& w, Card& c) {
    auto [title_draft, fresh] = drafts_.try_emplace("title", c.title);
    strong("Title");
    if (field("card title", title_draft->second, "what stands on the card")) {
        c.title = title_draft->second;
        return change(w, "change a card");
    }
    warn_of(w, title_draft->second);
    ImGui::Dummy({0, 0});
    for (const auto& [name, role] : kRoles)
        if (chip(std::string("role ") + name, role == Card::Role::warning ? "content warning" : name, c.role == role) && c.role != role) {
            c.role = role;
            return change(w, "what a card is for");
        }
    strong("Lines");
    for (std::size_t i = 0; i <= c.lines.size(); ++i) {
        const std::string name = "card line " + std::to_string(i);
        auto [draft, first] = drafts_.try_emplace(name, i < c.lines.size() ? c.lines[i] : "");
        if (!field(name, draft->second, i < c.lines.size() ? "empty takes it away" : "another line")) {
            warn_of(w, draft->second);
            continue;
        }
        if (i == c.lines.size()) {
            if (draft->second.empty()) continue;
            c.lines.push_back(draft->second);
        } else if (draft->second.empty()) c.lines.erase(c.lines.begin() + static_cast<std::ptrdiff_t>(i));
        else c.lines[i] = draft->second;
        drafts_.clear();
        return change(w, "change a card");
    }
    if (!draw_narration(w, c.narration)) draw_chapter(w, c.chapter);
}

void ClipDesk::draw_passage(Workplace& w, Passage& p) {
    const Recording* r = w.view.recording(p.recording);
    if (!r) return said("Its recording is not in this session any more.", theme().danger);
    const RecordingTime now = r->recording_time(w.player.at());
    if (button("begin here", "Begins here", "[", Look::plain, now < p.span.end && now >= r->only.start)) return cut(w, false);
    ImGui::SameLine();
    if (button("finish here", "Ends here", "]", Look::plain, now > p.span.start && now <= r->only.end)) return cut(w, true);
    ImGui::SameLine();
    if (button("hold here", "Hold here", "", Look::plain, p.span.holds(now))) {
        p.holds.push_back({now, kNewHold});
        std::sort(p.holds.begin(), p.holds.end(), [](const Hold& a, const Hold& b) { return a.at < b.at; });
        return change(w, "add a hold");
    }
    draw_close_up(w, p);
    const auto showing = w.player.showing();
    const bool own = showing && showing->recording->id == p.recording;
    if (const std::string act = more_.draw(w, p, own ? std::optional(now) : std::nullopt); !act.empty()) return change(w, act);
    if (draw_pace(w, p) || draw_narration(w, p.narration)) return;
    if (const std::string act = about_.draw_questions(w, p, now); !act.empty()) return change(w, act);
    // One thing at a time has the mouse on the picture.
    if (box_.awaiting()) stop_placing();
    draw_chapter(w, p.chapter);
}

void ClipDesk::draw_chapter(Workplace& w, std::string& chapter) {
    auto [draft, fresh] = drafts_.try_emplace("chapter", chapter);
    strong("Chapter");
    if (field("chapter", draft->second, "begins one of this name in the film's list")) {
        chapter = draft->second;
        change(w, "name a chapter");
    } else warn_of(w, draft->second);
}

bool ClipDesk::draw_pace(Workplace& w, Passage& p) {
    strong("Pace");
    ImGui::Dummy({0, 0});
    std::vector<double> paces(std::begin(kPaces), std::end(kPaces));
    if (std::none_of(paces.begin(), paces.end(), [&](double v) { return std::abs(v - p.pace) < 0.001; })) paces.insert(std::upper_bound(paces.begin(), paces.end(), p.pace), p.pace);
    for (double pace : paces)
        if (chip("pace " + number(pace), number(pace) + "x", std::abs(p.pace - pace) < 0.001)) {
            p.pace = pace;
            return change(w, "set the pace"), true;
        }
    if (std::abs(p.pace - 1) > 0.001 && chip("ramp", "Softly in and out", p.ramp > 0)) {
        p.ramp = p.ramp > 0 ? 0 : std::min(kRamp, p.span.length() / 2);
        return change(w, "ramp the pace"), true;
    }
    for (std::size_t i = 0; i < p.holds.size(); ++i) {
        ImGui::AlignTextToFramePadding();
        ImGui::Text("Holds at %s for %s", w.clock_of(p.recording, p.holds[i].at).c_str(), short_time(p.holds[i].length).c_str());
        ImGui::SameLine();
        if (button("longer " + std::to_string(i), "+1 s")) {
            p.holds[i].length += kSecond;
            return change(w, "change a hold"), true;
        }
        ImGui::SameLine();
        if (button("no hold " + std::to_string(i), "Away")) {
            p.holds.erase(p.holds.begin() + static_cast<std::ptrdiff_t>(i));
            return change(w, "take a hold away"), true;
        }
    }
    return false;
}

void ClipDesk::draw_chosen(Workplace& w) {
    if (button("earlier", "Earlier", "K")) return move(w, -1);
    ImGui::SameLine();
    if (button("later", "Later", "J")) return move(w, 1);
    ImGui::SameLine();
    if (button("out", "Take out", "Del", Look::danger)) return remove(w);
    PlanItem& item = plan_->items[*chosen_];
    if (auto* p = std::get_if<Passage>(&item)) draw_passage(w, *p);
    else draw_title(w, std::get<Card>(item));
}

void ClipDesk::draw_render(Workplace& w) {
    strong("For whom");
    ImGui::Dummy({0, 0});
    for (Audience a : {Audience::learners, Audience::public_, Audience::patient, Audience::care})
        if (chip("for " + std::string(name_of(a)), std::string(name_of(a)), audience_ == a)) audience_ = a;
    if (may_identify(audience_)) {
        said("May show who it is; every frame says so.", theme().accent);
        field("render reason", reason_, "why: is recorded");
    }
    if (out_.empty()) {
        const char* home = std::getenv("HOME");
        out_ = (std::filesystem::path(home && *home ? home : ".") / ("clip-" + w.session)).string();
    }
    gap(2);
    ImGui::Dummy({0, 0});
    const std::tuple<RenderPart, const char*, const char*> parts[] = {{RenderPart::size, "film size", "Size and file"}, {RenderPart::looks, "film looks", "Look and sound"}, {RenderPart::set, "film set", "Teaching set"}};
    for (const auto& [part, name, words] : parts)
        if (chip(name, words, render_part_ == part)) render_part_ = part;
    if (render_part_ == RenderPart::set) set_.draw(w, result_);
    else if (render_part_ == RenderPart::looks) draw_looks(w, plan_->film);
    else draw_film(w);
    strong("Into a new folder");
    field("out", out_, "a folder that is made");
    std::error_code ec;
    const bool there = std::filesystem::exists(std::filesystem::path(out_) / "manifest.json", ec);
    if (there && chip("replace", "Replace the film that is there", replace_)) replace_ = !replace_;
    const bool busy = w.jobs.running("Making the film");
    if (busy) {
        if (button("stop render", "Stop", "", Look::danger)) w.jobs.stop("Making the film");
    } else if (button("render", "Make the film", "", Look::primary, plan_.has_value())) render(w);
    if (!result_.empty()) {
        quiet(result_.c_str());
        probe().mark("result", 0, 0, 1, 1, result_);
        if (button("open result", "Show the page")) {
            const std::string command = "xdg-open '" + result_ + "/case.html' >/dev/null 2>&1 &";
            if (result_.find('\'') == std::string::npos && std::system(command.c_str()) != 0) w.news = "No program for pages is set up; film and page lie in " + result_;
        }
    }
    draw_captions(w);
    draw_make_up(w);
}

// A draft takes the place of the plan: it is asked first.
void ClipDesk::draw_draft_anew(Workplace& w) {
    said("A new draft takes the place of this plan; then Ctrl+Z brings this one back.", theme().accent);
    field("draft length", draft_length_, kLengthHint);
    const bool free = !w.jobs.running("Drafting a plan"), enter = entered("draft length");
    if (button("draft instead", "Draft in its place", "Enter", Look::primary, free) || (enter && free)) draft(w);
    ImGui::SameLine();
    if (button("leave plan", "Leave it", "Esc") || ui().keys.down(GLFW_KEY_ESCAPE)) drafting_anew_ = false;
}

void ClipDesk::draw_tools(Workplace& w) {
    if (w.jobs.running("Drafting a plan")) {
        if (button("stop drafting", "Stop drafting", "", Look::danger)) w.jobs.stop("Drafting a plan");
    } else if (button("draft", plan_ ? "Draft anew" : "Draft a plan", "D", drafting_anew_ ? Look::chosen : plan_ ? Look::plain : Look::primary)) return key(w, "d");
    ImGui::SameLine();
    if (button("add passage", "Passage", "A")) return add_passage(w);
    ImGui::SameLine();
    if (button("add card", "Card", "T")) return add_card(w);
    if (!plan_) {
        field("draft length", draft_length_, kLengthHint);
        if (entered("draft length") && !w.jobs.running("Drafting a plan")) draft(w);
        return;
    }
    if (drafting_anew_) draw_draft_anew(w);
    if (button("preview", "Preview", "V", preview_.on() ? Look::chosen : Look::plain)) key(w, "v");
    ImGui::SameLine();
    if (chip("rendering", "Render", rendering_)) rendering_ = !rendering_, telling_ = false, to_top_ = true;
    if (chip("telling", "The case", telling_)) telling_ = !telling_, rendering_ = false, to_top_ = true;
    if (schedule_) {
        const std::string words = format_clock(schedule_->length()) + " long";
        ImGui::SameLine();
        if (ImGui::CalcTextSize(words.c_str()).x > ImGui::GetContentRegionAvail().x) ImGui::NewLine();
        ImGui::AlignTextToFramePadding();
        ImGui::TextUnformatted(words.c_str());
        probe().mark("film length", 0, 0, 1, 1, std::to_string(schedule_->length()));
    }
}

void ClipDesk::draw_case(Workplace& w) {
    if (const std::string act = about_.draw(w, *plan_); !act.empty()) change(w, act);
}

void ClipDesk::draw_cards(Workplace& w) {
    const float room = ImGui::GetContentRegionAvail().y;
    const bool below = chosen_ || rendering_ || telling_;
    // No more than they need; what stands below them is what is worked at.
    const float share = rendering_ || telling_ ? 0.2f : 0.44f;
    const float high = std::max(px(160), room * share);
    ImGui::BeginChild("cards", {0, !below ? 0 : cards_need_ > 0 ? std::min(high, cards_need_) : high});
    std::vector<ImVec2> tops;
    for (std::size_t i = 0; plan_ && i < plan_->items.size(); ++i) {
        tops.push_back(ImGui::GetCursorScreenPos());
        draw_card_row(w, i);
    }
    tops.push_back(ImGui::GetCursorScreenPos());  // below the last
    cards_need_ = tops.back().y - tops.front().y + px(4);
    drag_cards(w, tops);
    ImGui::EndChild();
    if (!below || !plan_) return;
    ImGui::BeginChild("chosen item");
    if (std::exchange(to_top_, false)) ImGui::SetScrollY(0);
    if (rendering_) draw_render(w);
    else if (telling_) draw_case(w);
    else if (chosen_ && *chosen_ < plan_->items.size()) draw_chosen(w);
    ImGui::EndChild();
}

void ClipDesk::draw(Workplace& w) {
    if (read_of_ != w.session) read(w);
    draw_tools(w);
    gap(2);
    if (!plan_) {
        quiet("No plan yet. 'Draft a plan' makes one from the events: title, passages around what was tagged, waiting time dropped, a hold where the drum is seen, the outcome at the end. Or put passages together yourself.");
        return;
    }
    measure_voices(w);
    draw_cards(w);
}

}  // namespace canalogue::editor
