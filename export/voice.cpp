#include "export/voice.hpp"

#include <espeak-ng/speak_lib.h>

#include <algorithm>
#include <cstdlib>
#include <mutex>

namespace canalogue::film {

namespace {

// A calm teaching pace; narration is commonly read at 150 to 160 words a minute (common practice).
constexpr int kWordsAMinute = 152;
constexpr std::int16_t kSilence = 24;  // below this a sample counts as silent when ends are trimmed

// The voice keeps some of its state from one line to the next. Speaking this first, unheard, washes it
// out: found by trial; after it the same line had the same samples in 200 random orders of lines.
const std::string kRinse = "Less than break time, two hundred milliseconds.";

std::mutex one_at_a_time;
Spoken* current = nullptr;

// espeak-ng's text positions count characters from 1.
std::size_t byte_of(const std::string& text, int character) {
    std::size_t at = 0;
    for (int seen = 1; at < text.size(); ++at)
        if ((static_cast<unsigned char>(text[at]) & 0xC0) != 0x80 && seen++ == character) break;
    return at;
}

const std::string* current_text = nullptr;

int on_samples(short* samples, int count, espeak_EVENT* events) {
    if (!current) return 1;
    if (samples && count > 0) current->samples.insert(current->samples.end(), samples, samples + count);
    for (; events && events->type != espeakEVENT_LIST_TERMINATED; ++events)
        if (events->type == espeakEVENT_WORD)
            current->words.push_back({byte_of(*current_text, events->text_position), static_cast<std::size_t>(events->length),
                                      static_cast<Nanos>(events->audio_position) * kMillisecond});
    return 0;
}

// -1: could not start.
int start_engine() {
    static const int rate = espeak_Initialize(AUDIO_OUTPUT_SYNCHRONOUS, 0, nullptr, espeakINITIALIZE_DONT_EXIT);
    return rate;
}

void trim_end(Spoken& s) {
    std::size_t keep = s.samples.size();
    while (keep > 0 && std::abs(s.samples[keep - 1]) < kSilence) --keep;
    s.samples.resize(std::min(s.samples.size(), keep + static_cast<std::size_t>(s.rate / 20)));
}

std::string lower(const std::string& language) {
    std::string name;
    for (char c : language) name += static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
    return name;
}

// Speaks with the voice that is set; the lock must be held.
Result<Spoken> spoken(const std::string& text, int rate, int words_a_minute) {
    espeak_SetParameter(espeakRATE, words_a_minute, 0);
    espeak_SetParameter(espeakPITCH, 45, 0);
    espeak_SetParameter(espeakRANGE, 45, 0);
    espeak_SetSynthCallback(on_samples);
    const auto say = [](const std::string& words) {
        // The voice's breath noise comes from the C library's generator: start it anew for each line.
        std::srand(1);
        const auto done = espeak_Synth(words.c_str(), words.size() + 1, 0, POS_CHARACTER, 0, espeakCHARS_UTF8, nullptr, nullptr);
        espeak_Synchronize();
        return done;
    };
    Spoken unheard, out;
    unheard.rate = out.rate = rate;
    current = &unheard, current_text = &kRinse;
    say(kRinse);
    current = &out, current_text = &text;
    const auto done = say(text);
    current = nullptr, current_text = nullptr;
    if (done != EE_OK) return machine_trouble("The draft voice stopped before the line was spoken; try again.");
    trim_end(out);
    return out;
}

const Failure kNoVoice = machine_trouble("The draft voice cannot start: install the package espeak-ng-data.");

}  // namespace

Result<Spoken> speak(const std::string& text, const std::string& language) {
    const std::lock_guard lock(one_at_a_time);
    const int rate = start_engine();
    if (rate <= 0) return kNoVoice;
    const std::string name = lower(language);
    espeak_VOICE wanted{};
    wanted.languages = name.c_str();
    if (espeak_SetVoiceByProperties(&wanted) != EE_OK)
        return wrong_use("There is no draft voice for the language '" + language + "'; choose another, such as en-GB.");
    return spoken(text, rate, kWordsAMinute);
}

Result<Spoken> speak_as(const std::string& text, const std::string& voice, int words_a_minute) {
    const std::lock_guard lock(one_at_a_time);
    const int rate = start_engine();
    if (rate <= 0 || espeak_SetVoiceByName(voice.c_str()) != EE_OK) return kNoVoice;
    return spoken(text, rate, words_a_minute);
}

Result<std::string> ipa_of(const std::string& text) {
    const std::lock_guard lock(one_at_a_time);
    if (start_engine() <= 0 || espeak_SetVoiceByName("en-us") != EE_OK) return kNoVoice;
    std::string out;
    for (const void* rest = text.c_str(); rest;)
        if (const char* said = espeak_TextToPhonemes(&rest, espeakCHARS_UTF8, espeakPHONEMES_IPA)) out += said;
    return out;
}

}  // namespace canalogue::film
