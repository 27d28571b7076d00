#include "export/recogniser.hpp"

#include <pocketsphinx.h>
#include <sphinxbase/err.h>

#include <algorithm>

#include "app/media/sound_reader.hpp"
#include "export/pronunciation.hpp"

namespace canalogue::film {

namespace {

int phones_in(const std::string& spelled) { return static_cast<int>(std::count(spelled.begin(), spelled.end(), ' ')) + 1; }

}  // namespace

void Recogniser::Free::operator()(ps_decoder_s* ps) const { ps_free(ps); }

Result<Recogniser> Recogniser::start(const std::vector<std::string>& options) {
    err_set_logfp(nullptr);  // it tells of each phrase, and phrases may be secret
    const std::string model = CANALOGUE_SPEECH_MODEL;
    std::vector<std::string> words{"-hmm", model + "/en-us", "-dict", model + "/cmudict-en-us.dict", "-remove_silence", "no", "-cmn", "batch", "-logfn", "/dev/null"};
    words.insert(words.end(), options.begin(), options.end());
    std::vector<char*> arguments;
    for (auto& word : words) arguments.push_back(word.data());
    cmd_ln_t* config = cmd_ln_parse_r(nullptr, ps_args(), static_cast<int>(arguments.size()), arguments.data(), TRUE);
    ps_decoder_t* ps = config ? ps_init(config) : nullptr;
    if (config) cmd_ln_free_r(config);
    if (!ps) return machine_trouble("Speech cannot be listened to: the recogniser does not start; install the package pocketsphinx-en-us.");
    return Recogniser(ps);
}

bool Recogniser::knows(const std::string& word) {
    char* listed = ps_lookup_word(ps(), word.c_str());
    if (listed) ckd_free(listed);
    return listed != nullptr;
}

int Recogniser::phones_of(const std::string& word) {
    if (char* listed = ps_lookup_word(ps(), word.c_str())) {
        const int phones = phones_in(listed);
        ckd_free(listed);
        return phones;
    }
    const auto guess = guessed_phones(word);
    if (!guess || guess->empty() || ps_add_word(ps(), word.c_str(), guess->c_str(), TRUE) < 0) return 0;
    return phones_in(*guess);
}

Result<std::vector<Recogniser::Piece>> Recogniser::hear(const std::int16_t* sound, std::size_t count) {
    std::vector<Piece> out;
    if (ps_start_utt(ps()) < 0) return machine_trouble("Speech cannot be listened to: the recogniser stopped; try again.");
    ps_process_raw(ps(), sound, count, FALSE, TRUE);
    ps_end_utt(ps());
    for (ps_seg_t* seg = ps_seg_iter(ps()); seg; seg = ps_seg_next(seg)) {
        Piece piece{ps_seg_word(seg), 0, 0};
        piece.words.erase(piece.words.find_last_not_of(' ') + 1);  // a phrase ends in a blank
        ps_seg_frames(seg, &piece.first, &piece.last);
        out.push_back(std::move(piece));
    }
    return out;
}

std::vector<std::int16_t> for_listening(const std::vector<float>& mono) {
    static_assert(media::kSoundRate == 3 * kListenRate);
    // The mean of three is low pass enough for speech.
    std::vector<std::int16_t> out(mono.size() / 3);
    for (std::size_t i = 0; i < out.size(); ++i) out[i] = static_cast<std::int16_t>(std::clamp((mono[3 * i] + mono[3 * i + 1] + mono[3 * i + 2]) / 3, -1.0f, 1.0f) * 32767);
    return out;
}

std::vector<std::int16_t> for_listening(const std::vector<std::int16_t>& mono) {
    std::vector<float> floats;
    floats.reserve(mono.size());
    for (const auto s : mono) floats.push_back(static_cast<float>(s) / 32768.0f);
    return for_listening(floats);
}

}  // namespace canalogue::film
