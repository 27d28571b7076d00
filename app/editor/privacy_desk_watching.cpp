// What of a session a reviewer has really seen as the public would see it, and what is still to be watched.
#include <algorithm>

#include "app/editor/privacy_desk.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {

constexpr double kFastestWatching = 2.0;    // quicker than this nobody reads a name
constexpr double kKeepEvery = 4.0;          // seconds
constexpr Nanos kLeadIn = kSecond / 2;      // the eye gets there before the first frame that counts

}  // namespace

void PrivacyDesk::read_seen(Workplace& w) {
    watching_ = w.session;
    kept_.clear();
    if (auto s = desk::seen(w.desk, w.session)) kept_ = std::move(*s);
    seen_session_.clear();
    desk::Seen all = kept_;
    for (const auto& [recording, spans] : shown_) all[recording].insert(all[recording].end(), spans.begin(), spans.end());
    for (const auto& [recording, spans] : all)
        if (const Recording* r = w.view.recording(recording))
            for (const auto& s : spans) seen_session_.push_back({r->session_time(s.start), r->session_time(s.end)});
    seen_session_ = united(std::move(seen_session_));
}

void PrivacyDesk::keep(Workplace& w) {
    if (shown_.empty() || watching_.empty()) return;
    if (auto ok = desk::keep_seen(w.desk, watching_, shown_); !ok) w.failed(ok.failure());
    shown_.clear();
    sign_off_.look_again();
}

// Only what stood on the screen counts: public look, playing at twice the pace at most, the window in
// front. Jumping about never does.
void PrivacyDesk::watch(Workplace& w, bool focused) {
    const auto shown = pane_.shown_publicly();
    const auto now = w.player.showing();
    const bool counts = focused && shown && now && w.player.playing() && w.player.pace() <= kFastestWatching && shown->first == now->recording->id && shown->second == now->frame;
    if (counts) {
        auto& spans = shown_[now->recording->id];
        if (!spans.empty() && now->time <= spans.back().end && now->time >= spans.back().start) spans.back().end = std::max(spans.back().end, now->until);
        else spans.push_back({now->time, now->until});
    }
    const double time = ImGui::GetTime();
    if (!shown_.empty() && (time - kept_at_ > kKeepEvery || !w.player.playing())) {
        kept_at_ = time;
        keep(w);
        read_seen(w);
    }
}

// The first stretch after this moment that nobody has watched, or the first of all.
void PrivacyDesk::go_to_unwatched(Workplace& w) {
    std::vector<SessionSpan> gaps;
    for (const auto& r : w.view.recordings)
        for (const auto& g : gaps_in(r.session_span(), seen_session_)) gaps.push_back(g);
    if (gaps.empty()) return w.succeeded("All of the session was watched in the public look");
    const SessionTime now = w.player.at();
    auto next = std::find_if(gaps.begin(), gaps.end(), [&](const SessionSpan& g) { return g.start > now + kLeadIn; });
    if (next == gaps.end()) next = gaps.begin();
    w.player.go({std::max<Nanos>(0, next->start.ns - kLeadIn)});
    w.succeeded("Not watched for " + format_time(next->length() / (kSecond / 10) * (kSecond / 10)) + " from here; play it in the look Covered");
}

void PrivacyDesk::draw_duty(Workplace& w) {
    Nanos watched = 0, whole = 0;
    for (const auto& s : seen_session_) watched += s.length();
    for (const auto& r : w.view.recordings) whole += r.only.length();
    const int percent = whole > 0 ? static_cast<int>(std::min<Nanos>(100, watched * 100 / whole)) : 0;
    quiet(("Watched in the public look: " + std::to_string(percent) + " % (playing, at 2x at most). Detectors miss things: a person must watch.").c_str());
    if (percent < 100 || watched < whole) {
        if (button("unwatched", "Next part not watched", "G")) go_to_unwatched(w);
        ImGui::SameLine();
    }
    probe().mark("watched", 0, 0, 1, 1, std::to_string(percent));
}

}  // namespace canalogue::editor
