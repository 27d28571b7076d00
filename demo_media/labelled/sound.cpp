#include "demo_media/labelled/sound.hpp"

#include <cmath>
#include <cstring>
#include <sys/wait.h>
#include <unistd.h>

#include "demo_media/chance.hpp"
#include "demo_media/labelled/found_files.hpp"
#include "demo_media/vector3.hpp"
#include "export/voice.hpp"

namespace canalogue::demo::labelled {

namespace {

constexpr double kLeastLoud = 0.02, kMostLoud = 0.28;  // of speech, root mean square

// Catmull-Rom between samples; enough for speech that holds nothing above 8 to 11 kHz.
float between(const std::vector<float>& in, double at) {
    const auto k = std::ptrdiff_t(std::floor(at));
    const float u = flt(at - double(k));
    const auto s = [&](std::ptrdiff_t i) { return i < 0 || i >= std::ptrdiff_t(in.size()) ? 0.0f : in[std::size_t(i)]; };
    const float a = s(k - 1), b = s(k), c = s(k + 1), d = s(k + 2);
    return b + 0.5f * u * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)));
}

double loudness(const std::vector<float>& in, std::size_t from, std::size_t to) {
    double sum = 0;
    for (std::size_t i = from; i < to; ++i) sum += double(in[i]) * double(in[i]);
    return to > from ? std::sqrt(sum / double(to - from)) : 0;
}

void add_hum(std::vector<float>& out, double loud, Chance& chance) {
    float rumble = 0;
    for (std::size_t i = 0; i < out.size(); ++i) {
        const double t = double(i) / kSoundRate;
        rumble = 0.995f * rumble + 0.005f * chance.between(-1, 1) * 9;
        out[i] += flt(loud) * (0.8f * rumble + 0.25f * chance.between(-1, 1) + 0.5f * flt(std::sin(2 * M_PI * 50 * t)) +
                               0.2f * flt(std::sin(2 * M_PI * 150 * t)));
    }
}

void add_suction(std::vector<float>& out, const Noise& noise, Chance& chance) {
    float low = 0, band = 0;
    for (std::size_t i = 0; i < out.size(); ++i) {
        const double t = double(i) / kSoundRate;
        float on = 0;
        for (const auto& [start, end] : noise.suction_on)
            on = std::max(on, smooth(0, 0.12f, flt(t - start)) * smooth(0, 0.2f, flt(end - t)));
        const float white = chance.between(-1, 1), centre = 0.28f + 0.06f * flt(std::sin(2 * M_PI * 2.7 * t));
        low += centre * band;
        band += centre * (white - low - 0.55f * band);
        out[i] += on * flt(noise.suction) * (2.6f * band + 0.6f * white);
    }
}

struct Said {
    std::vector<float> samples;
    int rate = 0;
    bool real = false;
};

bool write_all(int pipe, const void* bytes, std::size_t count) {
    const auto* at = static_cast<const char*>(bytes);
    while (count > 0) {
        const ssize_t n = ::write(pipe, at, count);
        if (n <= 0) return false;
        at += n, count -= std::size_t(n);
    }
    return true;
}

[[noreturn]] void speak_into(int pipe, const Speech& s) {
    const auto voice = film::speak_as(s.words, s.voice, s.pace);
    const bool sent = voice && write_all(pipe, &voice->rate, sizeof voice->rate) &&
                      write_all(pipe, voice->samples.data(), voice->samples.size() * sizeof(std::int16_t));
    ::_exit(sent ? 0 : 1);
}

// The voice carries state from line to line, which changes a line's length by milliseconds: each is spoken by
// a process of its own, so that it does not matter what was said before.
Result<Said> spoken_afresh(const Speech& s) {
    const Failure silent = machine_trouble("The synthetic voice did not speak; install the package espeak-ng-data.");
    int ends[2];
    if (::pipe(ends) != 0) return silent;
    const pid_t child = ::fork();
    if (child == 0) speak_into(ends[1], s);
    ::close(ends[1]);
    std::string bytes;
    char some[4096];
    for (ssize_t n = 0; child > 0 && (n = ::read(ends[0], some, sizeof some)) > 0;) bytes.append(some, std::size_t(n));
    ::close(ends[0]);
    int status = 1;
    if (child < 0 || ::waitpid(child, &status, 0) != child || status != 0) return silent;
    Said out;
    if (bytes.size() < sizeof out.rate) return silent;
    std::memcpy(&out.rate, bytes.data(), sizeof out.rate);
    for (std::size_t at = sizeof out.rate; at + 1 < bytes.size(); at += sizeof(std::int16_t)) {
        std::int16_t v = 0;
        std::memcpy(&v, bytes.data() + at, sizeof v);
        out.samples.push_back(flt(v) / 32768.0f);
    }
    return out.rate > 0 ? Result<Said>(std::move(out)) : Result<Said>(silent);
}

Result<Said> said(const Speech& s) {
    if (s.clip >= 0)
        if (auto clip = read_clip(s.clip)) return Said{std::move(clip->samples), clip->rate, true};
    return spoken_afresh(s);
}

// What is cut off by the recording's end is still told, to the end.
void add_speech(Sound& sound, const std::vector<float>& noise, const Speech& s, const Said& voice) {
    const auto first = std::size_t(s.at * kSoundRate);
    const auto last = std::min(noise.size(), first + voice.samples.size() * std::size_t(kSoundRate) / std::size_t(voice.rate));
    if (first >= last) return;
    std::vector<float> words(last - first);
    for (std::size_t i = 0; i < words.size(); ++i) words[i] = between(voice.samples, double(i) * voice.rate / kSoundRate);
    const double ground = std::max(1e-5, loudness(noise, first, last)), own = std::max(1e-6, loudness(words, 0, words.size()));
    const double wish = std::clamp(ground * std::pow(10, s.snr_db / 20), kLeastLoud, kMostLoud);
    for (std::size_t i = 0; i < words.size(); ++i) sound.samples[first + i] += words[i] * flt(wish / own);
    sound.spoken.push_back({s.words, s.at, double(last) / kSoundRate, s.name, voice.real, 20 * std::log10(wish / ground)});
}

}  // namespace

Result<Sound> make_sound(const Recipe& r) {
    Sound sound;
    if (r.form.sound.empty()) return sound;
    sound.samples.assign(std::size_t(std::llround(r.seconds * kSoundRate)), 0.0f);
    if (r.silent) return sound;
    Chance chance(r.seed ^ 0x4015E);
    add_hum(sound.samples, r.noise.hum, chance);
    add_suction(sound.samples, r.noise, chance);
    const std::vector<float> noise = sound.samples;
    for (const Speech& s : r.speech) {
        auto voice = said(s);
        if (!voice) return voice.failure();
        add_speech(sound, noise, s, *voice);
    }
    for (float& v : sound.samples) v = std::clamp(v, -0.99f, 0.99f);
    return sound;
}

}  // namespace canalogue::demo::labelled
