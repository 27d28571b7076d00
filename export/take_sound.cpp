#include "export/take_sound.hpp"

#include <algorithm>
#include <cmath>

#include "app/media/noise.hpp"
#include "export/loudness.hpp"
#include "export/word_alignment.hpp"

namespace canalogue::film {

namespace {

using media::kSoundRate;

constexpr std::size_t kWindow = kSoundRate / 50;      // 20 ms
constexpr double kFaintest = -55;                     // dBFS of a window; quieter is no speech whatever the room
constexpr double kAboveRoom = 10, kBelowLoudest = 30; // dB between speech, the room and the loudest window
constexpr double kOverRoom = 3;                       // the room's noise swells a little
constexpr std::size_t kBefore = 8, kAfter = 15;       // windows kept around speech
constexpr double kVoiceLoudness = -20;                // LUFS, about what the draft voice has (measured: -19 to -21)
constexpr double kPeak = 0.89;                        // -1 dBFS

double level(const std::vector<std::int16_t>& s, std::size_t window) {
    double sum = 0;
    const std::size_t from = window * kWindow, until = std::min(s.size(), from + kWindow);
    for (std::size_t i = from; i < until; ++i) sum += static_cast<double>(s[i]) * s[i];
    const double mean = sum / static_cast<double>(std::max<std::size_t>(1, until - from));
    return 10 * std::log10(std::max(mean, 1e-3) / (32768.0 * 32768.0));
}

std::vector<double> levels_of(const std::vector<std::int16_t>& s) {
    std::vector<double> levels(s.size() / kWindow + (s.size() % kWindow != 0));
    for (std::size_t i = 0; i < levels.size(); ++i) levels[i] = level(s, i);
    return levels;
}

// The level that a tenth of the windows stay under: nobody speaks without a pause.
double room_of(std::vector<double> levels) {
    if (levels.empty()) return kFaintest;
    std::sort(levels.begin(), levels.end());
    return levels[levels.size() / 10];
}

// Whether each window of 20 ms holds speech: louder than the room by 10 dB, or within 30 dB of the loudest.
std::vector<bool> speech_in(const std::vector<std::int16_t>& s) {
    const std::vector<double> levels = levels_of(s);
    if (levels.empty()) return {};
    const double room = room_of(levels), loudest = *std::max_element(levels.begin(), levels.end());
    const double least = std::max(kFaintest, std::max(std::min(room + kAboveRoom, loudest - 3), loudest - kBelowLoudest));
    std::vector<bool> out(levels.size());
    for (std::size_t i = 0; i < levels.size(); ++i) out[i] = levels[i] >= least;
    return out;
}

double gain_for(const std::vector<std::int16_t>& take) {
    media::Samples stereo(take.size() * 2);
    float peak = 1e-6f;
    for (std::size_t i = 0; i < take.size(); ++i) {
        stereo[2 * i] = stereo[2 * i + 1] = static_cast<float>(take[i]) / 32768.0f;
        peak = std::max(peak, std::abs(stereo[2 * i]));
    }
    LoudnessMeter meter;
    meter.add(stereo);
    const double measured = meter.result().integrated;
    if (!std::isfinite(measured)) return 1;
    return std::min(std::pow(10, (kVoiceLoudness - measured) / 20), kPeak / static_cast<double>(peak));
}

// Every word's share of the time in which somebody speaks is its share of the letters.
std::vector<WordMark> marks_along(const std::vector<bool>& speech, const std::string& says) {
    std::vector<WordMark> marks;
    for (std::size_t i = 0; i < says.size(); ++i) {
        if (says[i] == ' ') continue;
        std::size_t end = says.find(' ', i);
        if (end == std::string::npos) end = says.size();
        marks.push_back({i, end - i, 0});
        i = end;
    }
    const auto spoken = std::count(speech.begin(), speech.end(), true);
    double letters = 0;
    for (const auto& m : marks) letters += static_cast<double>(m.length) + 1;
    double before = 0;
    for (auto& m : marks) {
        auto due = static_cast<long>(before / letters * static_cast<double>(spoken));
        std::size_t window = 0;
        while (window + 1 < speech.size() && (!speech[window] || due > 0)) due -= speech[window], ++window;
        m.time = static_cast<Nanos>(window) * 20 * kMillisecond;
        before += static_cast<double>(m.length) + 1;
    }
    return marks;
}

}  // namespace

std::vector<std::int16_t> as_mono(const media::Samples& stereo) {
    std::vector<std::int16_t> out(stereo.size() / 2);
    for (std::size_t i = 0; i < out.size(); ++i) {
        const float both = std::clamp((stereo[2 * i] + stereo[2 * i + 1]) / 2, -1.0f, 1.0f);
        out[i] = static_cast<std::int16_t>(std::lround(both * 32767));
    }
    return out;
}

Result<std::vector<std::int16_t>> without_silent_ends(const std::vector<std::int16_t>& take) {
    const auto speech = speech_in(take);
    const auto first = std::find(speech.begin(), speech.end(), true);
    if (first == speech.end()) return wrong_use("Nobody can be heard in the take: check the microphone and its level, and record it again.");
    const auto last = speech.size() - 1 - static_cast<std::size_t>(std::find(speech.rbegin(), speech.rend(), true) - speech.rbegin());
    const auto begin = static_cast<std::size_t>(first - speech.begin());
    const std::size_t from = (begin - std::min(begin, kBefore)) * kWindow, until = std::min(take.size(), (last + 1 + kAfter) * kWindow);
    return std::vector<std::int16_t>(take.begin() + static_cast<std::ptrdiff_t>(from), take.begin() + static_cast<std::ptrdiff_t>(until));
}

Spoken as_spoken(const std::vector<std::int16_t>& take, const std::string& says) {
    Spoken out;
    out.rate = kSoundRate;
    // Without the filter the take is heard as it was recorded: that is better than no film.
    const auto lowered = media::lower_noise(take, room_of(levels_of(take)) + kOverRoom);
    const auto& clean = lowered ? *lowered : take;
    const double gain = gain_for(clean);
    out.samples.reserve(clean.size());
    for (const auto s : clean) out.samples.push_back(static_cast<std::int16_t>(std::lround(std::clamp(s * gain, -32767.0, 32767.0))));
    auto found = words_in(take, says);
    out.words = found ? std::move(*found) : marks_along(speech_in(take), says);
    return out;
}

}  // namespace canalogue::film
