#include "demo_media/labelled/session_sound.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <fstream>

#include "demo_media/sound_track.hpp"
#include "demo_media/spoken.hpp"

namespace canalogue::demo::labelled {

namespace {

namespace fs = std::filesystem;

constexpr int kRate = 48'000, kReaderRate = 16'000;
constexpr const char* kReaders = "/usr/share/pocketsphinx/test/data/librivox";
constexpr const char* kSentences[] = {"Good morning Mara Tidewell, please sit still now.", "My name is Owen Quayle. Date of birth the second of November nineteen forty seven.",
                                      "Does it hurt, mister Brackwater?", "We are nearly there. Tell me when you feel dizzy.", "Hold on. There is a piece of wax behind the hair."};

std::vector<float> read_aloud(std::uint64_t seed) {
    std::vector<fs::path> files;
    std::error_code none;
    for (const auto& e : fs::directory_iterator(kReaders, none))
        if (e.path().extension() == ".wav") files.push_back(e.path());
    if (files.empty()) return {};
    std::sort(files.begin(), files.end());
    std::ifstream in(files[seed % files.size()], std::ios::binary);
    std::string bytes((std::istreambuf_iterator<char>(in)), {});
    constexpr std::size_t kHead = 44;
    std::vector<float> out;
    for (std::size_t i = kHead; i + 1 < bytes.size(); i += 2) {
        std::int16_t v = 0;
        std::memcpy(&v, bytes.data() + i, 2);
        out.push_back(static_cast<float>(v) / 32768);
    }
    return out;
}

// The parts of a clip in which the reader is loud enough to be heard: pauses are silence.
std::vector<Stretch> voiced(const std::vector<float>& clip) {
    constexpr std::size_t kStep = kReaderRate / 50;
    std::vector<double> power;
    for (std::size_t at = 0; at + kStep <= clip.size(); at += kStep) {
        double sum = 0;
        for (std::size_t i = 0; i < kStep; ++i) sum += static_cast<double>(clip[at + i]) * clip[at + i];
        power.push_back(sum / kStep);
    }
    const double loudest = power.empty() ? 0 : *std::max_element(power.begin(), power.end());
    std::vector<Stretch> out;
    for (std::size_t i = 0; i < power.size(); ++i) {
        if (power[i] < .004 * loudest) continue;
        const double at = static_cast<double>(i) / 50;
        if (!out.empty() && at - out.back().end < .2) out.back().end = at + .02;
        else out.push_back({at, at + .02});
    }
    std::erase_if(out, [](const Stretch& s) { return s.end - s.start < .08; });
    return out;
}

bool write_wav(const fs::path& wav, const std::vector<float>& samples) {
    std::ofstream out(wav, std::ios::binary);
    const auto put = [&](std::uint32_t v, int bytes) { out.write(reinterpret_cast<const char*>(&v), bytes); };
    const auto bytes = static_cast<std::uint32_t>(samples.size() * 2);
    out.write("RIFF", 4), put(36 + bytes, 4), out.write("WAVEfmt ", 8), put(16, 4), put(1, 2), put(1, 2), put(kRate, 4), put(kRate * 2, 4), put(2, 2), put(16, 2), out.write("data", 4), put(bytes, 4);
    for (const float s : samples) {
        const auto v = static_cast<std::int16_t>(std::lround(std::clamp(s, -1.f, 1.f) * 32767));
        out.write(reinterpret_cast<const char*>(&v), 2);
    }
    return static_cast<bool>(out);
}

}  // namespace

Result<std::vector<Heard>> session_sound(const Design& d, const fs::path& wav) {
    std::vector<Heard> heard;
    if (!d.sound) return heard;
    Script script = d.script;
    script.sentence = kSentences[d.seed % std::size(kSentences)];
    script.sentence_at = .4 + static_cast<double>(d.seed % 7) * .35;
    // The demo's own sound; its suction louder or softer, its voice as it is.
    auto whole = make_sound(script, d.seed);
    if (!whole) return whole.failure();
    Script mute = script;
    mute.sentence_at = d.seconds + 1;
    auto noise = make_sound(mute, d.seed);
    if (!noise) return noise.failure();
    auto& samples = whole->samples;
    for (std::size_t i = 0; i < samples.size(); ++i) samples[i] += static_cast<float>(d.suction - 1) * noise->samples[i];
    for (const auto& w : whole->spoken) heard.push_back({w.words, w.name || w.words == "Tidewell" || w.words == "Quayle." || w.words == "Quayle", false, w.start, w.end});
    if (d.read_at >= 0) {
        const auto clip = read_aloud(d.seed);
        const double most = d.seconds - d.read_at - .3;
        const auto n = static_cast<std::size_t>(std::max(0.0, std::min(most, static_cast<double>(clip.size()) / kReaderRate)) * kRate);
        const auto first = static_cast<std::size_t>(d.read_at * kRate);
        for (std::size_t i = 0; i < n && first + i < samples.size(); ++i) {
            const double at = static_cast<double>(i) * kReaderRate / kRate;
            const auto k = static_cast<std::size_t>(at);
            if (k + 1 >= clip.size()) break;
            const auto part = static_cast<float>(at - static_cast<double>(k));
            samples[first + i] += 1.3f * (clip[k] * (1 - part) + clip[k + 1] * part);
        }
        for (const auto& v : voiced(clip))
            if (v.start < most) heard.push_back({"", false, true, d.read_at + v.start, d.read_at + std::min(v.end, most)});
    }
    if (!write_wav(wav, samples)) return machine_trouble("The sound of a labelled session cannot be written; check the disk's free space.");
    return heard;
}

}  // namespace canalogue::demo::labelled
