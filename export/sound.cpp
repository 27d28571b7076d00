#include "export/sound.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::film {

namespace {

using media::kSoundRate;
using media::Samples;

constexpr std::int64_t kStretch = kSoundRate * 4;  // frames worked on at once
// AAC may overshoot what it was given; this leaves it a decibel.
const double kCeiling = std::pow(10.0, -2.0 / 20);
constexpr double kCloseEnough = 0.05;  // LU
constexpr std::int64_t kJoinFade = kSoundRate / 100;      // 10 ms
constexpr std::int64_t kDuckFade = kSoundRate / 4;        // about a line
constexpr std::int64_t kDuckStep = 48;
constexpr float kDucked = 0.25f;                          // -12 dB under speech (common practice)
constexpr double kMostGain = 100;      // 40 dB: silence is not to be blown up

std::int64_t sound_frames(Nanos t) { return av_rescale(t, kSoundRate, kSecond); }

}  // namespace

Sound::Sound(const Plan& plan, const Schedule& schedule, const Narration& narration, const std::vector<SourceRecording>& sources)
    : plan_(plan), schedule_(schedule), narration_(narration), sources_(sources), frames_(sound_frames(schedule.length())), heard_(heard()) {}

bool Sound::silent() const { return narration_.size() == 0 && heard_.empty(); }

void Sound::add_line(Samples& out, std::int64_t at, std::size_t line) const {
    const std::int64_t start = sound_frames(schedule_.lines[line].start.ns), count = static_cast<std::int64_t>(out.size() / 2);
    const std::int64_t from = std::max<std::int64_t>(0, start - at), until = std::min(count, start + narration_.samples(line) - at);
    if (from >= until) return;
    std::size_t i = static_cast<std::size_t>(from) * 2;
    for (const std::int16_t sample : narration_.read(line, at + from - start, until - from)) {
        const float v = static_cast<float>(sample) / 32768.0f;
        out[i++] += v;
        out[i++] += v;
    }
}

// Where the original sound may be heard: at its own pace, all of it or the spans that its passage lets through.
std::vector<Sound::Heard> Sound::heard() const {
    std::vector<Heard> out;
    const double natural = static_cast<double>(kSecond) / plan_.film.frames_per_second;
    for (const auto& piece : schedule_.pieces) {
        const auto* passage = std::get_if<Passage>(&plan_.items[piece.item]);
        if (!passage || piece.held || std::abs(piece.step - natural) > 1 || piece.gain != 0) continue;
        const RecordingSpan shown{piece.from, piece.source(piece.first + piece.count)};
        std::vector<RecordingSpan> spans = passage->heard;
        if (plan_.film.original_sound) spans = {shown};
        for (const auto& s : united(std::move(spans))) {
            const RecordingSpan part{std::max(s.start, shown.start), std::min(s.end, shown.end)};
            if (part.empty()) continue;
            const std::int64_t at = sound_frames(schedule_.time_of(piece.first).ns + (part.start - piece.from));
            out.push_back({at, at + sound_frames(part.length()), passage->recording, part.start});
        }
    }
    return out;
}

// 1, and less by kDucked while somebody narrates, going down before the line begins.
float Sound::ducked(std::int64_t at) const {
    float least = 1;
    for (std::size_t i = 0; i < schedule_.lines.size(); ++i) {
        const std::int64_t start = sound_frames(schedule_.lines[i].start.ns), end = start + narration_.samples(i);
        const std::int64_t away = std::max({std::int64_t{0}, start - at, at - end});
        if (away < kDuckFade) least = std::min(least, kDucked + (1 - kDucked) * static_cast<float>(away) / static_cast<float>(kDuckFade));
    }
    return least;
}

Result<void> Sound::add_original(Samples& out, std::int64_t at) const {
    const std::int64_t count = static_cast<std::int64_t>(out.size() / 2);
    for (const auto& h : heard_) {
        const std::int64_t from = std::max(at, h.begin), until = std::min(at + count, h.end);
        if (from >= until) continue;
        for (const auto& s : sources_) {
            if (s.recording.id != h.recording) continue;
            const RecordingTime t{h.from.ns + av_rescale(from - h.begin, kSecond, kSoundRate)};
            const RecordingSpan span{t, t + av_rescale(until - from, kSecond, kSoundRate)};
            auto sound = media::read_sound(s.recording.path, s.recording.zero, span, s.covers.hushed, {});
            if (!sound) return sound.failure();
            const auto n = std::min<std::int64_t>(static_cast<std::int64_t>(sound->size() / 2), until - from);
            float duck = 1;
            for (std::int64_t i = 0; i < n; ++i) {
                const std::int64_t now = from + i;
                if (i % kDuckStep == 0) duck = ducked(now);
                // No click where it begins and ends.
                const float fade = std::min(1.0f, static_cast<float>(std::min(now - h.begin, h.end - 1 - now)) / static_cast<float>(kJoinFade));
                for (const std::int64_t side : {0, 1})
                    out[static_cast<std::size_t>((now - at) * 2 + side)] += (*sound)[static_cast<std::size_t>(i * 2 + side)] * fade * duck;
            }
        }
    }
    return {};
}

Result<Samples> Sound::mixed(std::int64_t at, std::int64_t count) const {
    Samples out(static_cast<std::size_t>(count) * 2, 0.0f);
    for (std::size_t i = 0; i < narration_.size(); ++i) add_line(out, at, i);
    if (!heard_.empty())
        if (auto done = add_original(out, at); !done) return done.failure();
    return out;
}

Result<Loudness> Sound::measured(double gain, const Progress& progress) const {
    LoudnessMeter meter(false);
    Limiter limiter(gain, kCeiling);
    for (std::int64_t at = 0; at < frames_; at += kStretch) {
        if (progress.stopped()) return cancelled();
        auto stretch = mixed(at, std::min(kStretch, frames_ - at));
        if (!stretch) return stretch.failure();
        meter.add(limiter.process(*stretch));
        progress.report("Measuring the sound", static_cast<double>(at) / static_cast<double>(frames_));
    }
    return meter.result();
}

Result<void> Sound::level(const Progress& progress) {
    // The limiter lowers what it touches, so the gain is corrected a few times.
    constexpr int kRounds = 5;
    for (int round = 0; round < kRounds; ++round) {
        auto now = measured(gain_, progress);
        if (!now) return now.failure();
        if (!std::isfinite(now->integrated)) break;
        const double missing = plan_.film.loudness - now->integrated;
        if (std::abs(missing) < kCloseEnough) break;
        gain_ = std::clamp(gain_ * std::pow(10.0, missing / 20), 1 / kMostGain, kMostGain);
    }
    rewind();
    return {};
}

void Sound::rewind() {
    limiter_ = std::make_unique<Limiter>(gain_, kCeiling);
    skip_ = Limiter::kDelay;
    fed_ = 0;
    waiting_.clear();
}

Result<Samples> Sound::next(std::int64_t count) {
    const auto wanted = static_cast<std::size_t>(count) * 2;
    while (waiting_.size() < wanted) {
        auto stretch = fed_ < frames_ ? mixed(fed_, std::min(kStretch, frames_ - fed_)) : Result<Samples>(Samples(static_cast<std::size_t>(kStretch) * 2, 0.0f));
        if (!stretch) return stretch.failure();
        fed_ += static_cast<std::int64_t>(stretch->size() / 2);
        Samples out = limiter_->process(*stretch);
        const std::size_t drop = std::min(skip_, out.size() / 2);
        skip_ -= drop;
        waiting_.insert(waiting_.end(), out.begin() + static_cast<std::ptrdiff_t>(drop * 2), out.end());
    }
    Samples out(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(wanted));
    waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(wanted));
    return out;
}

}  // namespace canalogue::film
