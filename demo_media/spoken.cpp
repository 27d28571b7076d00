#include "demo_media/spoken.hpp"

#include <espeak-ng/speak_lib.h>

#include <mutex>
#include <string_view>

namespace canalogue::demo {

namespace {

// A voice without flutter, whose phase would carry over from one sentence to the next.
constexpr const char* kVoice = "en+Hugo";
// What still carries over is washed out by speaking this first, unheard. Found by trial: after it the
// same sentence had the same samples in 200 random orders of sentences; shorter ones did not do it.
constexpr std::string_view kRinse = "Less than break time, two hundred milliseconds.";

struct Event {
    int letter, letters, at_ms;
};
struct Catch {
    std::vector<float> samples;
    std::vector<Event> words;
    std::vector<int> clause_ends_ms;
};

int on_sound(short* wav, int count, espeak_EVENT* events) {
    auto* into = static_cast<Catch*>(events->user_data);
    if (!into) return 0;
    for (int i = 0; wav && i < count; ++i) into->samples.push_back(float(wav[i]) / 32768.0f);
    for (; events->type != espeakEVENT_LIST_TERMINATED; ++events) {
        // a pause between clauses comes as a word of no letters
        if (events->type == espeakEVENT_WORD && events->text_position > 0 && events->length > 0)
            into->words.push_back({events->text_position - 1, events->length, events->audio_position});
        if (events->type == espeakEVENT_END) into->clause_ends_ms.push_back(events->audio_position);
    }
    return 0;
}

}  // namespace

Result<Spoken> speak(const std::string& sentence) {
    static std::mutex one_at_a_time;
    const std::lock_guard held(one_at_a_time);
    // Started once and left running: in version 1.51 a second start after espeak_Terminate hangs.
    static const int rate =
        espeak_Initialize(AUDIO_OUTPUT_SYNCHRONOUS, 200, nullptr, espeakINITIALIZE_DONT_EXIT);
    if (rate <= 0 || espeak_SetVoiceByName(kVoice) != EE_OK)
        return machine_trouble(
            "The synthetic voice espeak-ng cannot start; install its data package and try again.");
    espeak_SetParameter(espeakRATE, 165, 0);
    espeak_SetParameter(espeakVOLUME, 90, 0);
    espeak_SetSynthCallback(on_sound);
    Catch into, unheard;
    espeak_Synth(kRinse.data(), kRinse.size() + 1, 0, POS_CHARACTER, 0, espeakCHARS_UTF8, nullptr, &unheard);
    espeak_Synth(sentence.c_str(), sentence.size() + 1, 0, POS_CHARACTER, 0, espeakCHARS_UTF8, nullptr,
                 &into);
    if (into.samples.empty() || into.words.empty())
        return machine_trouble("The synthetic voice espeak-ng made no sound; check its installation.");
    Spoken out{std::move(into.samples), rate, {}};
    const double whole = double(out.samples.size()) / rate;
    for (std::size_t i = 0; i < into.words.size(); ++i) {
        const Event& e = into.words[i];
        double end = i + 1 < into.words.size() ? into.words[i + 1].at_ms / 1000.0 : whole;
        for (const int ms : into.clause_ends_ms)
            if (ms > e.at_ms) end = std::min(end, ms / 1000.0);
        std::string word = sentence.substr(std::size_t(e.letter), std::size_t(e.letters));
        out.words.push_back({std::move(word), e.at_ms / 1000.0, end});
    }
    return out;
}

}  // namespace canalogue::demo
