#include "app/editor/take_panel.hpp"

#include <GLFW/glfw3.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "app/desk/hearing.hpp"
#include "app/desk/takes.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/media/sound_reader.hpp"

namespace canalogue::editor {

namespace {

constexpr double kCountIn = 3;                        // seconds
constexpr float kFaint = -36, kLoud = -3;             // dBFS at the peak: below is faint, above is clipped soon (common practice)
constexpr float kMeterFloor = -54;

float decibels(float level) { return 20 * std::log10(std::max(level, 1e-5f)); }

std::string seconds_of(Nanos t) { return format_time(t / (kSecond / 10) * (kSecond / 10)); }

}  // namespace

void TakePanel::leave() {
    microphone_.close();
    of_.reset();
}

void TakePanel::begin(Workplace& w, std::size_t number) {
    w.player.play(false);
    w.player.sound().stop();
    if (const std::string trouble = microphone_.open(); !trouble.empty()) {
        w.complaint = trouble;
        return;
    }
    of_ = number;
    began_ = ImGui::GetTime();
}

void TakePanel::finish(Workplace& w, const Plan& plan, NarrationLine& line) {
    const auto sound = microphone_.taken();
    leave();
    const std::string before = line.take;
    const auto id = desk::keep_take(w.desk, w.session, sound, line.text, [&](const std::string& take) {
        line.take = take;
        return plan;
    });
    if (!id) line.take = before;
    if (w.did(id, "Take " + (id ? id->substr(1) : "") + " is kept and chosen; earlier takes stay")) listen_for_names(w, *id);
}

// A slip of the tongue is easiest mended at once. Without the passphrase nobody knows the names.
void TakePanel::listen_for_names(Workplace& w, const std::string& take) {
    if (w.known().empty()) return;
    w.beside("Listening for names", [&w, take, session = w.session, known = w.known()](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto named = desk::names_in_take(own, session, take, known, true, progress);
        if (!named) return named.failure();
        return Jobs::Then([&w, named = *named] {
            if (!named.empty()) w.complaint = "A known identifier may be said " + named.front() + " of this take: listen, and record it again if it is.";
        });
    }, true);
}

// A bar from -54 dBFS to full scale, and in words what is wrong with it.
void TakePanel::draw_meter() {
    const float db = decibels(microphone_.level());
    const float share = std::clamp((db - kMeterFloor) / -kMeterFloor, 0.0f, 1.0f);
    const ImVec2 at = ImGui::GetCursorScreenPos(), size{px(180), ImGui::GetFrameHeight()};
    ImDrawList* draw = ImGui::GetWindowDrawList();
    const float top = at.y + size.y * 0.3f, bottom = at.y + size.y * 0.7f;
    draw->AddRectFilled({at.x, top}, {at.x + size.x, bottom}, colour(theme().raised), px(3));
    draw->AddRectFilled({at.x, top}, {at.x + size.x * share, bottom}, colour(db > kLoud ? theme().danger : theme().accent), px(3));
    for (const float mark : {kFaint, kLoud}) {
        const float x = at.x + size.x * (mark - kMeterFloor) / -kMeterFloor;
        draw->AddLine({x, top - px(3)}, {x, bottom + px(3)}, colour(theme().quiet), px(1));
    }
    ImGui::Dummy(size);
    ImGui::SameLine();
    ImGui::AlignTextToFramePadding();
    const char* words = db > kLoud ? "too loud" : db < kFaint ? "faint" : "good";
    ImGui::TextUnformatted(words);
    probe().mark("level", at.x, at.y, size.x, size.y, std::to_string(db) + " " + words);
}

void TakePanel::draw_recording(Workplace& w, const Plan& plan, NarrationLine& line) {
    const double counted = ImGui::GetTime() - began_;
    if (counted >= kCountIn) microphone_.keep(desk::kLongestTake);
    const bool keeping = counted >= kCountIn;
    const std::string words = keeping ? "Recording " + format_clock(microphone_.kept()) : "Speak in " + std::to_string(static_cast<int>(std::ceil(kCountIn - counted))) + " \u2026";
    ImGui::PushFont(ui().fonts.title);
    said(words.c_str(), keeping ? theme().danger : theme().accent);
    ImGui::PopFont();
    probe().mark("recording", 0, 0, 1, 1, words);
    draw_meter();
    const bool done = keeping && button("take done", "Done", "Enter", Look::primary);
    if (keeping && (done || ui().keys.down(GLFW_KEY_ENTER) || microphone_.kept() >= desk::kLongestTake)) return finish(w, plan, line);
    if (keeping) ImGui::SameLine();
    if (button("take away", "Throw away", "Esc", Look::danger) || ui().keys.down(GLFW_KEY_ESCAPE)) leave();
    if (counted < kCountIn) ImGui::SetScrollHereY(1);  // the buttons are in sight, whatever was scrolled
}

void TakePanel::hear(Workplace& w, const std::string& language, const NarrationLine& line) {
    auto spoken = line.take.empty() ? film::speak(line.text, language) : desk::take_sound(w.desk, w.session, line.take, line.text);
    if (!spoken) {
        w.failed(spoken.failure());
        return;
    }
    w.player.play(false);
    const auto sound = std::make_shared<film::Spoken>(std::move(*spoken));
    w.player.sound().play_made([sound](std::int64_t from, std::int64_t count) {
        std::vector<float> out;
        for (std::int64_t i = from; i < from + count; ++i) {
            const auto at = static_cast<std::size_t>(i * sound->rate / media::kSoundRate);
            if (at >= sound->samples.size()) break;
            out.insert(out.end(), 2, static_cast<float>(sound->samples[at]) / 32768.0f);
        }
        return out;
    }, 0);
    if (!w.player.sound().device()) w.complaint = "No sound device answers, so nothing can be heard here.";
}

std::string TakePanel::draw_choice(Workplace& w, const Plan& plan, std::size_t number, NarrationLine& line) {
    const std::string n = " " + std::to_string(number);
    if (button("record" + n, "Record")) begin(w, number);
    ImGui::SameLine();
    if (button("hear" + n, "Hear")) hear(w, plan.language, line);
    if (chip("draft voice" + n, "draft voice", line.take.empty()) && !line.take.empty()) {
        line.take.clear();
        return "say it by the draft voice";
    }
    for (const Take& take : w.view.takes) {
        if (take.says != line.text && take.id != line.take) continue;
        if (!chip("take " + take.id + n, "take " + take.id.substr(1) + ", " + seconds_of(take.length), line.take == take.id) || line.take == take.id) continue;
        line.take = take.id;
        return "say it by take " + take.id;
    }
    for (const Take& take : w.view.takes)
        if (take.id == line.take && take.says != line.text) said("The words were changed after this take was recorded: captions will not match what is heard.", theme().danger);
    return {};
}

std::string TakePanel::draw(Workplace& w, const Plan& plan, std::size_t number, NarrationLine& line) {
    if (of_ == number) return draw_recording(w, plan, line), std::string();
    if (of_ || line.text.empty()) return {};
    return draw_choice(w, plan, number, line);
}

}  // namespace canalogue::editor
