#include "app/editor/player.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::editor {

void Player::use(std::vector<Source> sources) {
    sources_ = std::move(sources);
    std::vector<FrameSource> files;
    for (const auto& s : sources_)
        if (s.index) files.push_back({s.recording.id, s.recording.path, s.index});
    server_.use(std::move(files));
    const SessionSpan all = whole();
    if (at_ < all.start || at_ >= all.end) at_ = all.start;
    if (sources_.empty()) play(false);
}

SessionSpan Player::whole() const {
    if (sources_.empty()) return {{0}, {0}};
    SessionSpan out = sources_.front().recording.session_span();
    for (const auto& s : sources_) {
        const SessionSpan span = s.recording.session_span();
        out = {std::min(out.start, span.start), std::max(out.end, span.end)};
    }
    return out;
}

const Player::Source* Player::source_at(SessionTime t) const {
    const Source* found = nullptr;
    for (const auto& s : sources_)
        if (s.recording.session_span().holds(t)) found = &s;
    return found;
}

double Player::until_next() const {
    const auto now = showing();
    if (!playing_ || !now) return 0;
    return static_cast<double>((now->recording->session_time(now->until) - at_)) / kSecond / pace_;
}

std::optional<Showing> Player::showing() const {
    const Source* s = source_at(at_);
    if (!s || !s->index || s->index->size() == 0) return std::nullopt;
    const std::size_t i = s->index->at(s->recording.recording_time(at_));
    return Showing{&s->recording, i, s->index->time(i), i + 1 < s->index->size() ? s->index->time(i + 1) : s->index->end()};
}

void Player::moved() {
    if (const auto now = showing()) server_.want(now->recording->id, now->frame, direction_);
}

void Player::start_sound() {
    sound_.stop();
    sounding_.clear();
    silent_for_ = behind_for_ = 0;
    const Source* s = source_at(at_);
    if (!playing_ || !s || !s->recording.has_sound) return;
    sound_.play(s->recording, s->recording.recording_time(at_), pace_, public_look_ ? s->hushed : std::vector<RecordingSpan>{});
    if (sound_.device()) sounding_ = s->recording.id;
}

void Player::go(SessionTime t) {
    const SessionSpan all = whole();
    if (all.empty()) return;
    at_ = std::clamp(t, all.start, SessionTime{all.end.ns - 1});
    direction_ = playing_ ? 1 : 0;
    owed_ = 0;
    if (playing_) start_sound();
    moved();
}

void Player::step(int frames) {
    if (playing_) play(false);
    const auto now = showing();
    if (!now) return go({at_.ns + frames * kSecond / 25});  // in a gap
    const Recording& r = *now->recording;
    const SessionSpan own = r.session_span();
    SessionTime to = frames > 0 ? r.session_time(now->until) : r.session_time(now->time) - 1;
    // Before the recording's own beginning (a part of a file) or after its end: the neighbour.
    if (to >= own.end || to < own.start) to = frames > 0 ? own.end : own.start - 1;
    direction_ = frames > 0 ? 1 : -1;
    const SessionSpan all = whole();
    to = std::clamp(to, all.start, SessionTime{all.end.ns - 1});
    at_ = to;
    // To the very beginning of the frame, so that what is tagged here is tagged at its time.
    if (const auto there = showing()) at_ = std::max(there->recording->session_time(there->time), there->recording->session_span().start);
    moved();
}

void Player::play(bool yes) {
    if (yes == playing_) return;
    playing_ = yes && !whole().empty();
    if (playing_ && at_ >= whole().end - kSecond / 25) at_ = whole().start;
    direction_ = playing_ ? 1 : 0;
    last_tick_ = 0, owed_ = 0;
    start_sound();
    moved();
}

void Player::set_pace(double pace) {
    pace_ = std::clamp(pace, 0.25, 4.0);
    if (playing_) start_sound();
}

void Player::set_loop(std::optional<SessionSpan> span) { loop_ = span && !span->empty() ? span : std::nullopt; }

void Player::set_public_look(bool yes) {
    if (yes == public_look_) return;
    public_look_ = yes;
    if (playing_) start_sound();
}

// Where the film would stand by the ear, or by the wall clock where nothing is heard.
SessionTime Player::by_clock(double passed, double ahead) {
    const Source* s = source_at(at_);
    // What a slow picture cost is made up for, by a quarter more at most.
    made_up_ = std::min(owed_, static_cast<Nanos>(passed * pace_ * kSecond / 4));
    const SessionTime by_wall = at_ + static_cast<Nanos>(passed * pace_ * kSecond) + made_up_;
    if (!s || s->recording.id != sounding_) return by_wall;
    if (const auto heard = sound_.heard(ahead)) {
        silent_for_ = 0;
        // The ear leads; a clock that jitters back must not make the film go back.
        return std::max(at_, s->recording.session_time(*heard));
    }
    // The first samples are on their way; if they never come, the film goes on without them.
    silent_for_ += passed;
    return silent_for_ < SoundPlayer::kPatience ? at_ : by_wall;
}

// In the public look no frame is left out: whoever watches must be able to say that they saw all of it.
SessionTime Player::no_frame_missed(SessionTime next, double passed) {
    const auto now = showing();
    if (!public_look_ || !now) return next;
    // Anywhere within the next picture: to its very beginning would lose a little time with each of them.
    const auto& index = *source_at(at_)->index;
    const RecordingTime end = now->frame + 2 < index.size() ? index.time(now->frame + 2) : now->until + 1;
    const SessionTime most = server_.take(now->recording->id, now->frame) ? std::min(next, now->recording->session_time(end - 1)) : at_;
    // The sound waits for the picture, too: not for a single slow frame, but when it stays behind.
    constexpr double kTogether = 0.04, kBehind = 0.3;  // seconds as heard
    const bool behind = static_cast<double>(next - most) > kTogether * pace_ * kSecond;
    behind_for_ = behind && !sounding_.empty() ? behind_for_ + passed : 0;
    // Where nothing is heard nobody notices a film that runs a little quicker for a while. Not without end: a machine that is
    // too slow for the film stays behind.
    constexpr double kMostOwed = 0.2;
    owed_ = sounding_.empty() ? std::clamp<Nanos>(owed_ - made_up_ + (next - most), 0, static_cast<Nanos>(kMostOwed * pace_ * kSecond)) : 0;
    if (behind_for_ > kBehind) start_sound();
    return most;
}

void Player::advance(double passed, double ahead) {
    const Source* before = source_at(at_);
    const SessionTime next = no_frame_missed(by_clock(passed, ahead), passed);
    const SessionSpan all = whole();
    if (loop_ && (next >= loop_->end || next < loop_->start)) {
        at_ = loop_->start;
        start_sound();
        return;
    }
    if (next >= all.end) {
        at_ = SessionTime{all.end.ns - 1};
        return play(false);
    }
    at_ = next;
    if (!source_at(at_)) {
        // A gap between recordings is jumped over.
        SessionTime nearest = all.end;
        for (const auto& each : sources_)
            if (each.recording.session_span().start > at_) nearest = std::min(nearest, each.recording.session_span().start);
        at_ = std::min(nearest, SessionTime{all.end.ns - 1});
    }
    const Source* after = source_at(at_);
    if (after && after != before) start_sound();
}

std::optional<Showing> Player::tick(double now, double ahead) {
    const double passed = last_tick_ > 0 ? now - last_tick_ : 0;
    last_tick_ = now;
    if (playing_) advance(passed, ahead);
    moved();
    return showing();
}

std::optional<media::Picture> Player::picture() {
    const auto now = showing();
    return now ? server_.take(now->recording->id, now->frame) : std::nullopt;
}

}  // namespace canalogue::editor
