#include "demo_media/spoken.hpp"

#include "export/voice.hpp"

namespace canalogue::demo {

namespace {
// A voice without flutter, whose phase would carry over from one sentence to the next.
constexpr const char* kVoice = "en+Hugo";
constexpr int kWordsAMinute = 165;
}  // namespace

Result<Spoken> speak(const std::string& sentence) {
    auto voice = film::speak_as(sentence, kVoice, kWordsAMinute);
    if (!voice) return voice.failure();
    Spoken out;
    out.rate = voice->rate;
    for (std::int16_t s : voice->samples) out.samples.push_back(static_cast<float>(s) / 32768.0f);
    const double whole = double(out.samples.size()) / out.rate;
    for (std::size_t i = 0; i < voice->words.size(); ++i) {
        const auto& w = voice->words[i];
        if (w.length == 0) continue;  // a pause between clauses
        // A word ends where the next begins, be that a pause.
        const double end = i + 1 < voice->words.size() ? double(voice->words[i + 1].time) / kSecond : whole;
        out.words.push_back({sentence.substr(w.at, w.length), double(w.time) / kSecond, std::min(end, whole)});
    }
    if (out.words.empty()) return machine_trouble("The synthetic voice espeak-ng made no sound; check its installation.");
    return out;
}

}  // namespace canalogue::demo
