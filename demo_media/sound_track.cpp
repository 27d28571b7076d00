#include "demo_media/sound_track.hpp"

#include <cmath>

#include "demo_media/chance.hpp"
#include "demo_media/film_writer.hpp"
#include "demo_media/invented.hpp"
#include "demo_media/spoken.hpp"
#include "demo_media/vector3.hpp"

namespace canalogue::demo {

namespace {

// Windowed-sinc resampling: clean enough that no mirror tones of the 22 kHz voice are heard.
float sample_at(const std::vector<float>& in, double at) {
    constexpr int kReach = 12;
    const auto middle = std::ptrdiff_t(std::floor(at));
    double sum = 0;
    for (std::ptrdiff_t k = middle - kReach + 1; k <= middle + kReach; ++k) {
        if (k < 0 || k >= std::ptrdiff_t(in.size())) continue;
        const double x = at - double(k), pi_x = M_PI * x;
        const double sinc = std::abs(x) < 1e-9 ? 1 : std::sin(pi_x) / pi_x;
        sum += double(in[std::size_t(k)]) * sinc * (0.5 + 0.5 * std::cos(pi_x / kReach));
    }
    return flt(sum);
}

void add_room_tone(std::vector<float>& out, Chance& chance) {
    float rumble = 0;
    for (std::size_t i = 0; i < out.size(); ++i) {
        rumble = 0.996f * rumble + 0.004f * chance.between(-1, 1) * 9;
        const double t = double(i) / kSoundRate;
        out[i] += 0.010f * rumble + 0.0016f * chance.between(-1, 1) +
                  0.0012f * flt(std::sin(2 * M_PI * 50 * t)) + 0.0007f * flt(std::sin(2 * M_PI * 150 * t));
    }
}

// Air through a thin tube: noise in a band that wavers, with gurgles when wax comes through.
void add_suction(std::vector<float>& out, const Script& s, Chance& chance) {
    float low = 0, band = 0, gurgle = 0;
    for (std::size_t i = 0; i < out.size(); ++i) {
        const double t = double(i) / kSoundRate;
        float on = 0, wet = 0;
        for (const Stretch& x : s.suction_on)
            on = std::max(on, smooth(0, 0.12f, flt(t - x.start)) * smooth(0, 0.18f, flt(x.end - t)));
        for (const Pull& p : s.pulls)
            wet = std::max(wet, smooth(0.5f, 0.0f, flt(std::abs(t - p.grip - 0.3 * s.tempo))));
        const float noise = chance.between(-1, 1);
        if (on <= 0) continue;
        const float centre = 0.30f + 0.05f * flt(std::sin(2 * M_PI * 3.1 * t)) - 0.14f * wet;
        low += centre * band;  // state-variable filter
        band += centre * (noise - low - 0.55f * band);
        gurgle = 0.999f * gurgle + 0.001f * chance.between(-1, 1) * 30;
        out[i] += on * (0.075f * band + 0.018f * noise) * (1 + wet * std::clamp(gurgle, -0.8f, 1.5f));
    }
}

bool says_name(std::string word) {
    const auto lower = [](std::string w) {
        for (char& c : w) c = char(std::tolower(static_cast<unsigned char>(c)));
        return w;
    };
    return lower(std::move(word)).find(lower(std::string(invented::kSurname))) != std::string::npos;
}

}  // namespace

Result<SoundTrack> make_sound(const Script& script, std::uint64_t seed) {
    Result<Spoken> spoken = speak(script.sentence);
    if (!spoken) return spoken.failure();
    SoundTrack track;
    track.samples.assign(std::size_t(std::llround(script.seconds * kSoundRate)), 0.0f);
    Chance chance(seed ^ 0x50D);
    add_room_tone(track.samples, chance);
    add_suction(track.samples, script, chance);
    const double length = double(spoken->samples.size()) / spoken->rate;
    const auto first = std::size_t(std::llround(script.sentence_at * kSoundRate));
    for (std::size_t i = first; i < track.samples.size(); ++i) {
        const double t = double(i - first) / kSoundRate;
        if (t >= length) break;
        track.samples[i] += 0.55f * sample_at(spoken->samples, t * spoken->rate);
    }
    for (const SpokenWord& w : spoken->words)
        if (script.sentence_at + w.end <= script.seconds)
            track.spoken.push_back(
                {w.words, says_name(w.words), script.sentence_at + w.start, script.sentence_at + w.end});
    for (float& v : track.samples) v = std::clamp(v, -0.99f, 0.99f);
    return track;
}

}  // namespace canalogue::demo
