#include <algorithm>
#include <fstream>
#include <set>

#include "app/core/identifiers.hpp"
#include "app/core/known.hpp"
#include "app/media/open_file.hpp"
#include "export/check_parts.hpp"
#include "export/html.hpp"
#include "export/mp4_boxes.hpp"

namespace canalogue::film {

namespace fs = std::filesystem;

namespace {

using Outcome = CheckLook::Outcome;

CheckLook settled(CheckLook look) {
    if (!look.places.empty()) look.outcome = Outcome::finding;
    return look;
}

bool is_text(const fs::path& p) {
    static const std::set<std::string> kText{".vtt", ".srt", ".json", ".jsonld", ".csv", ".txt", ".html", ".xml"};
    return kText.count(p.extension().string()) > 0;
}

std::string lower(std::string text) {
    for (char& c : text)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
    return text;
}

// Letters of a name; a byte that is no UTF-8 stands for itself.
std::u32string letters_of(const std::string& utf8) {
    std::u32string out;
    for (std::size_t i = 0; i < utf8.size();) {
        const auto lead = static_cast<unsigned char>(utf8[i]);
        std::size_t more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : lead >= 0xC0 ? 1 : 0;
        if (i + more >= utf8.size()) more = 0;
        char32_t c = more ? lead & (0x3Fu >> more) : lead;
        for (std::size_t k = 1; k <= more; ++k) c = c << 6 | (static_cast<unsigned char>(utf8[i + k]) & 0x3F);
        out += c;
        i += 1 + more;
    }
    return out;
}

// The other case of a letter of Latin-1, Latin Extended-A, Greek or Cyrillic; others stay.
char32_t in_case(char32_t c, bool upper) {
    const auto shifted = [&](char32_t first, char32_t last, char32_t by) { return upper ? (c >= first + by && c <= last + by ? c - by : c) : (c >= first && c <= last ? c + by : c); };
    if (c < 0x100) return c == 0xD7 || c == 0xF7 ? c : shifted(0xC0, 0xDE, 0x20);
    if ((c >= 0x139 && c <= 0x148) || (c >= 0x179 && c <= 0x17E)) return upper ? c - !(c & 1) : c + (c & 1);
    if (c >= 0x100 && c <= 0x177) return upper ? c & ~char32_t{1} : c | 1;
    if (c >= 0x391 && c <= 0x3C9) return shifted(0x391, 0x3A9, 0x20);
    if (c >= 0x410 && c <= 0x44F) return shifted(0x410, 0x42F, 0x20);
    return shifted(0x400, 0x40F, 0x50);
}

std::string utf16(const std::u32string& letters, bool big) {
    std::string out;
    const auto unit = [&](char32_t u) {
        const char high = static_cast<char>(u >> 8), low = static_cast<char>(u);
        out += big ? std::string{high, low} : std::string{low, high};
    };
    for (char32_t c : letters) {
        if (c < 0x10000) unit(c);
        else unit(0xD800 + ((c - 0x10000) >> 10)), unit(0xDC00 + ((c - 0x10000) & 0x3FF));
    }
    return out;
}

std::string utf8(const std::u32string& letters) {
    std::string out;
    for (char32_t c : letters) {
        if (c < 0x80) out += static_cast<char>(c);
        else if (c < 0x800) out += {static_cast<char>(0xC0 | c >> 6), static_cast<char>(0x80 | (c & 0x3F))};
        else if (c < 0x10000) out += {static_cast<char>(0xE0 | c >> 12), static_cast<char>(0x80 | (c >> 6 & 0x3F)), static_cast<char>(0x80 | (c & 0x3F))};
        else out += {static_cast<char>(0xF0 | c >> 18), static_cast<char>(0x80 | (c >> 12 & 0x3F)), static_cast<char>(0x80 | (c >> 6 & 0x3F)), static_cast<char>(0x80 | (c & 0x3F))};
    }
    return out;
}

// The forms in which a name may stand in a file, as lower() leaves them.
std::vector<std::string> forms_of(const std::string& name) {
    std::vector<std::string> out;
    for (bool upper : {false, true}) {
        std::u32string letters = letters_of(name);
        for (char32_t& c : letters) c = in_case(c, upper);
        for (const std::string& form : {utf8(letters), utf16(letters, false), utf16(letters, true)})
            if (const std::string low = lower(form); std::find(out.begin(), out.end(), low) == out.end()) out.push_back(low);
    }
    return out;
}

std::vector<std::string> patterns_in_page(const fs::path& file, const std::vector<std::string>& patterns) {
    std::ifstream in(file, std::ios::binary);
    const std::string page = lower(without_own_parts(std::string((std::istreambuf_iterator<char>(in)), {})));
    std::vector<std::string> found;
    std::copy_if(patterns.begin(), patterns.end(), std::back_inserter(found), [&](const std::string& p) { return page.find(p) != std::string::npos; });
    return found;
}

// Searches a file block by block, overlapping, without regard to case.
std::vector<std::string> patterns_in(const fs::path& file, const std::vector<std::string>& patterns) {
    if (file.extension() == ".html") return patterns_in_page(file, patterns);
    std::vector<std::string> found;
    std::ifstream in(file, std::ios::binary);
    std::size_t longest = 1;
    for (const auto& p : patterns) longest = std::max(longest, p.size());
    std::string window;
    std::vector<char> block(1 << 20);
    while (in) {
        in.read(block.data(), static_cast<std::streamsize>(block.size()));
        window += lower(std::string(block.data(), static_cast<std::size_t>(in.gcount())));
        for (const auto& p : patterns)
            if (window.find(p) != std::string::npos && std::find(found.begin(), found.end(), p) == found.end()) found.push_back(p);
        if (window.size() > longest) window.erase(0, window.size() - longest);
    }
    return found;
}

// What a text or a document says; empty for other files, none for a document that cannot be read. Our own style and
// script say nothing of anybody, and their words may be somebody's name.
std::optional<std::string> words_of(const fs::path& file) {
    if (file.extension() == ".pdf") return text_of_pdf(file);
    if (!is_text(file)) return "";
    std::ifstream in(file, std::ios::binary);
    std::string text((std::istreambuf_iterator<char>(in)), {});
    return file.extension() == ".html" ? without_own_parts(std::move(text)) : text;
}

// A tag may say which language or what kind of file; anything else is more than a film needs.
bool neutral_tag(const std::string& key, const std::string& value) {
    static const std::set<std::string> kKeys{"major_brand", "minor_version", "compatible_brands", "language", "vendor_id"};
    static const std::set<std::string> kHandlers{"VideoHandler", "SoundHandler", "DataHandler", "SubtitleHandler", "TextHandler"};
    // WebM has a place for the writer's name, where ours says no more than this, and tells each stream's length in a tag.
    if (key == "encoder") return value == "Lavf";
    if (key == "DURATION") return value.find_first_not_of("0123456789:.") == std::string::npos && value.size() <= 18;
    return kKeys.count(key) || (key == "handler_name" && kHandlers.count(value));
}

}  // namespace

CheckLook look_at_boxes(const fs::path& film) {
    CheckLook look{Outcome::clean, "Boxes of the film", "the box tree, dates, edit lists, unused bytes", {}};
    auto found = walk_boxes(film);
    if (!found) return {Outcome::not_done, look.name, found.failure().sentence, {}};
    for (const auto& f : *found) look.places.push_back({f.what, f.where});
    return settled(look);
}

CheckLook look_at_tags(const fs::path& film) {
    CheckLook look{Outcome::clean, "Tags and streams", "container and stream tags, extra streams, cover art", {}};
    auto format = media::open_format(film);
    if (!format) return {Outcome::not_done, look.name, format.failure().sentence, {}};
    const auto tags = [&](const AVDictionary* d, const std::string& where) {
        const AVDictionaryEntry* e = nullptr;
        while ((e = av_dict_get(d, "", e, AV_DICT_IGNORE_SUFFIX)))
            if (!neutral_tag(e->key, e->value)) look.places.push_back({std::string("a tag '") + e->key + "'", where});
    };
    tags((*format)->metadata, "the container");
    int pictures = 0, sounds = 0;
    for (unsigned i = 0; i < (*format)->nb_streams; ++i) {
        const AVStream& s = *(*format)->streams[i];
        const std::string where = "stream " + std::to_string(i + 1);
        tags(s.metadata, where);
        const auto type = s.codecpar->codec_type;
        // The chapter titles of an MP4 are a text track of their own.
        const bool chapters = (*format)->nb_chapters > 0 && (type == AVMEDIA_TYPE_DATA || type == AVMEDIA_TYPE_SUBTITLE) &&
                              s.nb_frames == static_cast<std::int64_t>((*format)->nb_chapters);
        if (s.disposition & AV_DISPOSITION_ATTACHED_PIC) look.places.push_back({"cover art", where});
        else if (type == AVMEDIA_TYPE_VIDEO ? ++pictures > 1 : type == AVMEDIA_TYPE_AUDIO ? ++sounds > 1 : !chapters)
            look.places.push_back({"a stream that the film does not need", where});
    }
    return settled(look);
}

CheckLook look_at_picture_notes(const fs::path& film) {
    CheckLook look{Outcome::clean, "Notes inside pictures", "SEI messages of H.264 and H.265", {}};
    auto file = media::OpenFile::open(film, 1);
    if (!file) return {Outcome::not_done, look.name, file.failure().sentence, {}};
    const AVCodecParameters& p = *file->stream()->codecpar;
    const bool avc = p.codec_id == AV_CODEC_ID_H264, hevc = p.codec_id == AV_CODEC_ID_HEVC;
    if (!avc && !hevc) {
        look.words = std::string("pictures are ") + avcodec_get_name(p.codec_id) + ": not looked into";
        look.outcome = Outcome::not_done;
        return look;
    }
    const auto is_note = [&](std::uint8_t head) { return avc ? (head & 31) == 6 : ((head >> 1) & 63) == 39 || ((head >> 1) & 63) == 40; };
    // Length-prefixed units in MP4 and Matroska, start codes elsewhere.
    const bool prefixed = p.extradata_size > 4 && p.extradata[0] == 1;
    int notes = 0;
    media::PacketPtr packet(av_packet_alloc());
    while (av_read_frame(file->format.get(), packet.get()) >= 0) {
        if (packet->stream_index == file->video) {
            const std::uint8_t* d = packet->data;
            const int n = packet->size;
            if (prefixed) {
                for (std::int64_t at = 0; at + 5 <= n;) {
                    notes += is_note(d[at + 4]);
                    at += 4 + (std::int64_t{d[at]} << 24 | d[at + 1] << 16 | d[at + 2] << 8 | d[at + 3]);
                }
            } else {
                for (int at = 0; at + 4 < n; ++at)
                    if (d[at] == 0 && d[at + 1] == 0 && d[at + 2] == 1) notes += is_note(d[at + 3]);
            }
        }
        av_packet_unref(packet.get());
    }
    if (notes > 0) look.places.push_back({std::to_string(notes) + " notes that may hold text", "the picture stream"});
    return settled(look);
}

CheckLook look_at_bytes(const std::vector<fs::path>& files, const CheckOptions& options) {
    CheckLook look{Outcome::clean, "Bytes and texts", "", {}};
    look.words = "identifier formats in texts";
    if (const auto n = options.known_identifiers.size(); n > 0) look.words = std::to_string(n) + " known identifiers as bytes, " + look.words;
    std::vector<std::string> patterns;
    for (const auto& known : options.known_identifiers) {
        if (known.size() < 3) continue;  // two bytes stand in any film by chance
        const auto forms = forms_of(known);
        patterns.insert(patterns.end(), forms.begin(), forms.end());
    }
    for (const auto& f : files) {
        const std::string name = f.filename().string();
        for (std::size_t i = patterns_in(f, patterns).size(); i > 0; --i) look.places.push_back({"known identifier", name + ", as bytes"});
        const auto text = words_of(f);
        if (!text) look.places.push_back({"a document that cannot be read", name});
        if (!text || text->empty()) continue;
        if (name == "manifest.json") continue;  // hashes there look like numbers of every kind
        for (const auto& written : {*text, spoken_digits_written(*text)})
            for (const auto& hit : identifiers_in(written)) look.places.push_back({hit.what, name});
        for (const auto& known : options.known_identifiers)
            if (const auto held = written_with(*text, known); held != Holding::nothing) look.places.push_back({std::string(name_of(held)), name});
    }
    return settled(look);
}

}  // namespace canalogue::film
