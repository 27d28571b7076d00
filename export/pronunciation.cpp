#include "export/pronunciation.hpp"

#include <utility>

#include "export/voice.hpp"

namespace canalogue::film {

namespace {

// Longer signs stand before the shorter ones that they begin with.
constexpr std::pair<std::string_view, std::string_view> kSigns[] = {
    {"aɪɚ", "AY ER"}, {"aɪə", "AY AH"}, {"aʊɚ", "AW ER"}, {"eɪ", "EY"}, {"aɪ", "AY"},  {"ɔɪ", "OY"},   {"oʊ", "OW"},  {"əʊ", "OW"},  {"aʊ", "AW"},
    {"ɪɹ", "IH R"},   {"iə", "IY AH"},  {"əl", "AH L"},   {"tʃ", "CH"}, {"dʒ", "JH"},  {"t͡ʃ", "CH"},  {"d͡ʒ", "JH"}, {"ɜː", "ER"},  {"ɜ", "ER"},
    {"ɝ", "ER"},      {"ɚ", "ER"},      {"iː", "IY"},     {"i", "IY"},  {"ɪ", "IH"},   {"ᵻ", "IH"},    {"ɛ", "EH"},   {"e", "EH"},   {"æ", "AE"},
    {"a", "AE"},      {"ɑ", "AA"},      {"ɒ", "AA"},      {"ɔ", "AO"},  {"o", "OW"},   {"ʊ", "UH"},    {"u", "UW"},   {"ʌ", "AH"},   {"ə", "AH"},
    {"ɐ", "AH"},      {"p", "P"},       {"b", "B"},       {"t", "T"},   {"ɾ", "T"},    {"d", "D"},     {"k", "K"},    {"x", "K"},    {"g", "G"},
    {"ɡ", "G"},       {"f", "F"},       {"v", "V"},       {"θ", "TH"},  {"ð", "DH"},   {"s", "S"},     {"z", "Z"},    {"ʃ", "SH"},   {"ʒ", "ZH"},
    {"h", "HH"},      {"m", "M"},       {"n", "N"},       {"ŋ", "NG"},  {"l", "L"},    {"ɫ", "L"},     {"ɹ", "R"},    {"r", "R"},    {"j", "Y"},
    {"w", "W"},
};

std::pair<std::string_view, std::string_view> sign_at(std::string_view rest) {
    for (const auto& sign : kSigns)
        if (rest.substr(0, sign.first.size()) == sign.first) return sign;
    return {rest.substr(0, 1), ""};
}

}  // namespace

std::string phones_of_ipa(std::string_view ipa) {
    std::string out;
    while (!ipa.empty()) {
        const auto [sign, phones] = sign_at(ipa);
        if (!phones.empty()) out += (out.empty() ? "" : " ") + std::string(phones);
        ipa.remove_prefix(sign.size());
    }
    return out;
}

Result<std::string> guessed_phones(const std::string& word) {
    auto ipa = ipa_of(word);
    if (!ipa) return ipa.failure();
    return phones_of_ipa(*ipa);
}

}  // namespace canalogue::film
