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
constexpr double kMostGain = 100;      // 40 dB: silence is not to be blown up

std::int64_t sound_frames(Nanos t) { return av_rescale(t, kSoundRate, kSecond); }

// Mono 16-bit at any rate to 48 kHz.
std::vector<std::int16_t> at_film_rate(const Spoken& s) {
    AVChannelLayout mono = AV_CHANNEL_LAYOUT_MONO;
    SwrContext* raw = nullptr;
    swr_alloc_set_opts2(&raw, &mono, AV_SAMPLE_FMT_S16, kSoundRate, &mono, AV_SAMPLE_FMT_S16, s.rate, 0, nullptr);
    media::SwrPtr swr(raw);
    if (!swr || s.rate <= 0 || swr_init(swr.get()) < 0) return {};
    std::vector<std::int16_t> out(static_cast<std::size_t>(av_rescale(static_cast<std::int64_t>(s.samples.size()), kSoundRate, s.rate)) + 256);
    auto* to = reinterpret_cast<std::uint8_t*>(out.data());
    const auto* from = reinterpret_cast<const std::uint8_t*>(s.samples.data());
    int got = swr_convert(swr.get(), &to, static_cast<int>(out.size()), &from, static_cast<int>(s.samples.size()));
    got = std::max(got, 0);
    auto* rest = reinterpret_cast<std::uint8_t*>(out.data() + got);
    got += std::max(0, swr_convert(swr.get(), &rest, static_cast<int>(out.size()) - got, nullptr, 0));
    out.resize(static_cast<std::size_t>(got));
    return out;
}

}  // namespace

Sound::Sound(const Plan& plan, const Schedule& schedule, const std::vector<Spoken>& spoken, const std::vector<SourceRecording>& sources)
    : plan_(plan), schedule_(schedule), sources_(sources), frames_(sound_frames(schedule.length())) {
    for (const auto& s : spoken) lines_.push_back(at_film_rate(s));
}

bool Sound::silent() const { return lines_.empty() && !plan_.film.original_sound; }

void Sound::add_line(Samples& out, std::int64_t at, std::size_t line) const {
    const auto& samples = lines_[line];
    const std::int64_t start = sound_frames(schedule_.lines[line].start.ns), count = static_cast<std::int64_t>(out.size() / 2);
    const std::int64_t from = std::max<std::int64_t>(0, start - at), until = std::min(count, start + static_cast<std::int64_t>(samples.size()) - at);
    for (std::int64_t i = from; i < until; ++i) {
        const float v = static_cast<float>(samples[static_cast<std::size_t>(at + i - start)]) / 32768.0f;
        out[static_cast<std::size_t>(i) * 2] += v;
        out[static_cast<std::size_t>(i) * 2 + 1] += v;
    }
}

Result<void> Sound::add_original(Samples& out, std::int64_t at) const {
    const std::int64_t count = static_cast<std::int64_t>(out.size() / 2);
    for (const auto& piece : schedule_.pieces) {
        const auto* passage = std::get_if<Passage>(&plan_.items[piece.item]);
        const double natural = static_cast<double>(kSecond) / plan_.film.frames_per_second;
        if (!passage || piece.held || std::abs(piece.step - natural) > 1) continue;
        const std::int64_t begin = sound_frames(schedule_.time_of(piece.first).ns), end = sound_frames(schedule_.time_of(piece.first + piece.count).ns);
        const std::int64_t from = std::max(at, begin), until = std::min(at + count, end);
        if (from >= until) continue;
        for (const auto& s : sources_) {
            if (s.recording.id != passage->recording) continue;
            const RecordingTime t{piece.from.ns + av_rescale(from - begin, kSecond, kSoundRate)};
            const RecordingSpan span{t, t + av_rescale(until - from, kSecond, kSoundRate)};
            auto sound = media::read_sound(s.recording.path, s.recording.zero, span, s.covers.hushed, {});
            if (!sound) return sound.failure();
            const auto n = std::min<std::size_t>(sound->size(), static_cast<std::size_t>(until - from) * 2);
            for (std::size_t i = 0; i < n; ++i) out[static_cast<std::size_t>(from - at) * 2 + i] += (*sound)[i];
        }
    }
    return {};
}

Result<Samples> Sound::mixed(std::int64_t at, std::int64_t count) const {
    Samples out(static_cast<std::size_t>(count) * 2, 0.0f);
    for (std::size_t i = 0; i < lines_.size(); ++i) add_line(out, at, i);
    if (plan_.film.original_sound)
        if (auto done = add_original(out, at); !done) return done.failure();
    return out;
}

Result<Loudness> Sound::measured(double gain, const Progress& progress) const {
    LoudnessMeter meter;
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
    limiter_ = std::make_unique<Limiter>(gain_, kCeiling);
    skip_ = Limiter::kDelay;
    return {};
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
