#include "export/voice.hpp"

#include <dlfcn.h>
#include <espeak-ng/speak_lib.h>

#include <algorithm>
#include <cstdlib>
#include <memory>
#include <mutex>

#include "app/core/text.hpp"

namespace canalogue::film {

namespace {

// A calm teaching pace; narration is commonly read at 150 to 160 words a minute (common practice).
constexpr int kWordsAMinute = 152;
constexpr std::int16_t kSilence = 24;  // below this a sample counts as silent when ends are trimmed

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

// The library keeps state from one line to the next (a line could come out by hundredths of a second longer after another),
// and cannot be started twice. So it is loaded anew for each line and unloaded after it: nothing of a line is left for the next.
class Engine {
  public:
    // Null: it could not start.
    static std::unique_ptr<Engine> fresh() {
        auto engine = std::make_unique<Engine>();
        if (!engine->load()) return nullptr;
        return engine;
    }
    Engine() = default;
    Engine(const Engine&) = delete;
    Engine& operator=(const Engine&) = delete;
    ~Engine() {
        if (rate > 0) terminate();
        if (library_) ::dlclose(library_);
    }

    int rate = 0;
    decltype(&espeak_Terminate) terminate = nullptr;
    decltype(&espeak_SetParameter) set_parameter = nullptr;
    decltype(&espeak_SetSynthCallback) set_callback = nullptr;
    decltype(&espeak_Synth) synth = nullptr;
    decltype(&espeak_Synchronize) synchronize = nullptr;
    decltype(&espeak_SetVoiceByProperties) voice_by_properties = nullptr;
    decltype(&espeak_SetVoiceByName) voice_by_name = nullptr;
    decltype(&espeak_TextToPhonemes) phonemes = nullptr;

  private:
    template <class F>
    bool find(F& function, const char* name) {
        function = reinterpret_cast<F>(::dlsym(library_, name));
        return function != nullptr;
    }
    bool load() {
        library_ = ::dlopen("libespeak-ng.so.1", RTLD_NOW | RTLD_LOCAL);
        decltype(&espeak_Initialize) initialize = nullptr;
        if (!library_ || !find(initialize, "espeak_Initialize") || !find(terminate, "espeak_Terminate") || !find(set_parameter, "espeak_SetParameter") ||
            !find(set_callback, "espeak_SetSynthCallback") || !find(synth, "espeak_Synth") || !find(synchronize, "espeak_Synchronize") ||
            !find(voice_by_properties, "espeak_SetVoiceByProperties") || !find(voice_by_name, "espeak_SetVoiceByName") || !find(phonemes, "espeak_TextToPhonemes"))
            return false;
        rate = initialize(AUDIO_OUTPUT_SYNCHRONOUS, 0, nullptr, espeakINITIALIZE_DONT_EXIT);
        return rate > 0;
    }
    void* library_ = nullptr;
};

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
Result<Spoken> spoken(const Engine& engine, const std::string& text, int words_a_minute) {
    engine.set_parameter(espeakRATE, words_a_minute, 0);
    engine.set_parameter(espeakPITCH, 45, 0);
    engine.set_parameter(espeakRANGE, 45, 0);
    engine.set_callback(on_samples);
    Spoken out;
    out.rate = engine.rate;
    current = &out, current_text = &text;
    // The voice's breath noise comes from the C library's generator.
    std::srand(1);
    const auto done = engine.synth(text.c_str(), text.size() + 1, 0, POS_CHARACTER, 0, espeakCHARS_UTF8, nullptr, nullptr);
    engine.synchronize();
    current = nullptr, current_text = nullptr;
    if (done != EE_OK) return machine_trouble("The draft voice stopped before the line was spoken; try again.");
    trim_end(out);
    return out;
}

const Failure kNoVoice = machine_trouble("The draft voice cannot start: install the package espeak-ng-data.");

}  // namespace

namespace {

Result<void> set_language(const Engine& engine, const std::string& language) {
    const std::string name = lower(language);
    espeak_VOICE wanted{};
    wanted.languages = name.c_str();
    if (engine.voice_by_properties(&wanted) != EE_OK)
        return wrong_use("There is no draft voice for the language '" + legible(language) + "'; choose another, such as en-GB.");
    return {};
}

}  // namespace

Result<void> can_speak(const std::string& language) {
    const std::lock_guard lock(one_at_a_time);
    const auto engine = Engine::fresh();
    if (!engine) return kNoVoice;
    return set_language(*engine, language);
}

Result<Spoken> speak(const std::string& text, const std::string& language) {
    const std::lock_guard lock(one_at_a_time);
    const auto engine = Engine::fresh();
    if (!engine) return kNoVoice;
    if (auto ok = set_language(*engine, language); !ok) return ok.failure();
    return spoken(*engine, text, kWordsAMinute);
}

Result<Spoken> speak_as(const std::string& text, const std::string& voice, int words_a_minute) {
    const std::lock_guard lock(one_at_a_time);
    const auto engine = Engine::fresh();
    if (!engine || engine->voice_by_name(voice.c_str()) != EE_OK) return kNoVoice;
    return spoken(*engine, text, words_a_minute);
}

Result<std::string> ipa_of(const std::string& text) {
    const std::lock_guard lock(one_at_a_time);
    const auto engine = Engine::fresh();
    if (!engine || engine->voice_by_name("en-us") != EE_OK) return kNoVoice;
    std::string out;
    for (const void* rest = text.c_str(); rest;)
        if (const char* said = engine->phonemes(&rest, espeakCHARS_UTF8, espeakPHONEMES_IPA)) out += said;
    return out;
}

}  // namespace canalogue::film
