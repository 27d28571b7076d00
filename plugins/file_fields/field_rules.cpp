#include "plugins/file_fields/field_rules.hpp"

#include <algorithm>
#include <array>
#include <cctype>

namespace canalogue::file_fields {

namespace {

std::string lower(std::string_view text) {
    std::string out(text);
    for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return out;
}

std::string_view trimmed(std::string_view text) {
    const auto blank = [](char c) { return std::isspace(static_cast<unsigned char>(c)) || c == '\0'; };
    while (!text.empty() && blank(text.front())) text.remove_prefix(1);
    while (!text.empty() && blank(text.back())) text.remove_suffix(1);
    return text;
}

template <std::size_t N>
bool among(const std::array<std::string_view, N>& list, std::string_view text) {
    return std::find(list.begin(), list.end(), text) != list.end();
}

bool starts_with_any(std::string_view text, std::initializer_list<std::string_view> starts) {
    return std::any_of(starts.begin(), starts.end(), [&](auto s) { return text.starts_with(s); });
}

bool holds_any(std::string_view text, std::initializer_list<std::string_view> parts) {
    return std::any_of(parts.begin(), parts.end(),
                       [&](auto p) { return text.find(p) != std::string_view::npos; });
}

// Tags that describe the coding, whatever their value.
constexpr auto kNeutralTags = std::to_array<std::string_view>(
    {"major_brand", "minor_version", "compatible_brands", "language", "duration", "rotate", "bps",
     "number_of_frames", "number_of_bytes", "alpha_mode", "mimetype", "kind", "codec", "stereo_mode",
     "start_time", "_statistics_tags", "waveformatextensible_channel_mask"});

// What writing programs put where a person's or device's name could stand.
constexpr auto kNeutralValues = std::to_array<std::string_view>(
    {"videohandler", "soundhandler", "datahandler", "texthandler", "subtitlehandler", "timecodehandler",
     "video", "audio", "sound", "und", "[0][0][0][0]", "ffmp", "main", "track"});

constexpr auto kPlainWords = std::to_array<std::string_view>(
    {"audio", "camera", "canal", "capture",  "case",     "chapter",   "cleaned",  "clip",      "clips",
     "copy",  "dcim",   "demo",  "desktop",  "document", "documents", "download", "downloads", "drum",
     "ear",   "ears",   "end",   "export",   "exports",  "file",      "files",    "film",      "home",
     "image", "import", "img",   "intro",    "left",     "media",     "micro",    "mnt",       "mov",
     "movie", "movies", "new",   "otoscope", "part",     "raw",       "rec",      "recording", "recordings",
     "right", "room",   "root",  "run",      "scope",    "sequence",  "session",  "sessions",  "start",
     "take",  "test",   "tmp",   "tools",    "usr",      "var",       "video",    "videos"});

constexpr std::size_t kMostPlainDigits = 4;  // a year or a counter; six make a date, ten a record number

bool neutral_tag(std::string_view tag) {
    // Some containers add the language: "bps-eng".
    const auto dash = tag.find('-');
    return among(kNeutralTags, tag) ||
           (dash != std::string_view::npos && among(kNeutralTags, tag.substr(0, dash)));
}

// The zero of the container's calendar (ISO/IEC 14496-12 counts from 1904, others from 1970): no date at all.
bool zero_date(std::string_view value) {
    return value.starts_with("1970-01-01t00:00:00") || value.starts_with("1904-01-01t00:00:00");
}

// The mark of the coding library alone, as in "Lavf59.27.100": it names a program, not a person or device.
bool library_mark(std::string_view value) {
    if (!starts_with_any(value, {"lavf", "lavc"})) return false;
    value.remove_prefix(4);
    const auto codec = value.find(' ');  // "Lavc59.37.100 libx264"
    return value.substr(0, codec).find_first_not_of("0123456789.") == std::string_view::npos;
}

double sureness_of_tag(std::string_view tag) {
    constexpr double kTells = .9, kTellsOfADevice = .6, kMayTell = .5;
    if (holds_any(tag, {"title", "artist", "author", "name", "comment", "description", "synopsis", "location",
                        "gps", "date", "time", "serial", "subject", "patient", "performer", "composer",
                        "copyright", "keyword", "filename", "exif", "words"}))
        return kTells;
    if (holds_any(tag, {"encoder", "make", "model", "device", "software", "vendor", "firmware", "handler"}))
        return kTellsOfADevice;
    return kMayTell;
}

}  // namespace

FieldName split(std::string_view name) {
    const auto colon = std::min(name.find(':'), name.size());
    return {lower(trimmed(name.substr(0, colon))),
            lower(trimmed(name.substr(std::min(colon + 1, name.size()))))};
}

bool plain_name(std::string_view name) {
    const std::string text = lower(name);
    const auto letter = [](char c) { return std::isalpha(static_cast<unsigned char>(c)) || (c & 0x80); };
    const auto digits = std::count_if(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
    if (static_cast<std::size_t>(digits) > kMostPlainDigits) return false;
    for (auto at = text.begin(); at != text.end();) {
        const auto from = std::find_if(at, text.end(), letter);
        at = std::find_if_not(from, text.end(), letter);
        const std::string_view word(text.data() + (from - text.begin()), static_cast<std::size_t>(at - from));
        if (!word.empty() && !among(kPlainWords, word)) return false;
    }
    return true;
}

double sureness_of(const FieldName& name, std::string_view raw) {
    constexpr double kNameOfAFile = .8, kNameOfAFolder = .5;
    const std::string value = lower(trimmed(raw));
    if (value.empty()) return 0;
    if (name.place == "file") {
        const auto dot = value.rfind('.');
        return plain_name(std::string_view(value).substr(0, dot == 0 ? value.size() : dot)) ? 0
                                                                                            : kNameOfAFile;
    }
    if (name.place == "folder") return plain_name(value) ? 0 : kNameOfAFolder;
    if (name.tag == "filename") return plain_name(value.substr(0, value.rfind('.'))) ? 0 : kNameOfAFile;
    if (neutral_tag(name.tag) || among(kNeutralValues, value) || zero_date(value)) return 0;
    if (holds_any(name.tag, {"encoder"}) && library_mark(value)) return 0;
    if (name.place.starts_with("chapter") && plain_name(value)) return 0;
    return sureness_of_tag(name.tag);
}

}  // namespace canalogue::file_fields
