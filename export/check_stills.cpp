// Stills, posters and documents beside a film: what their files say, and what can be read in them.
#include <algorithm>
#include <fstream>
#include <set>

#include "app/media/frame_reader.hpp"
#include "export/check_parts.hpp"
#include "export/second_reader.hpp"

namespace canalogue::film {

namespace {

namespace fs = std::filesystem;
using Outcome = CheckLook::Outcome;

std::string bytes_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {(std::istreambuf_iterator<char>(in)), {}};
}

std::uint32_t big_endian(const std::string& b, std::size_t at, int bytes) {
    std::uint32_t v = 0;
    for (int i = 0; i < bytes; ++i) v = v << 8 | static_cast<std::uint8_t>(b[at + static_cast<std::size_t>(i)]);
    return v;
}

// Segments of a JPEG (ITU-T T.81) that hold more than a picture needs: comments, and application data but for
// JFIF's own without a thumbnail; and bytes behind its end.
std::vector<std::string> notes_in_jpeg(const std::string& b) {
    std::vector<std::string> out;
    std::size_t at = 2;
    while (at + 4 <= b.size() && static_cast<std::uint8_t>(b[at]) == 0xFF) {
        const auto marker = static_cast<std::uint8_t>(b[at + 1]);
        const std::size_t length = big_endian(b, at + 2, 2);
        if (marker == 0xFE) out.push_back("a comment");
        const bool jfif = marker == 0xE0 && b.compare(at + 4, 4, "JFIF") == 0 && length == 16;
        if (marker >= 0xE0 && marker <= 0xEF && !jfif) out.push_back("application data");
        at += 2 + length;
        if (marker == 0xDA) break;
    }
    const auto end = b.rfind("\xFF\xD9");
    if (end != std::string::npos && end + 2 < b.size()) out.push_back("bytes behind its end");
    return out;
}

// Chunks of a PNG (ISO/IEC 15948) that are neither picture nor colour.
std::vector<std::string> notes_in_png(const std::string& b) {
    static const char* const kNeeded[] = {"IHDR", "PLTE", "IDAT", "IEND", "tRNS", "gAMA", "cHRM", "sRGB", "pHYs", "sBIT", "bKGD"};
    std::vector<std::string> out;
    for (std::size_t at = 8; at + 12 <= b.size();) {
        const std::string kind = b.substr(at + 4, 4);
        if (std::none_of(std::begin(kNeeded), std::end(kNeeded), [&](const char* k) { return kind == k; })) out.push_back("a chunk '" + kind + "'");
        at += 12 + std::size_t{big_endian(b, at, 4)};
        if (kind == "IEND" && at < b.size()) out.push_back("bytes behind its end");
    }
    return out;
}

// The fields of a PDF's document information (ISO 32000-1, 14.3.3) that name people or times.
std::vector<std::string> notes_in_pdf(const std::string& b) {
    std::vector<std::string> out;
    for (const char* key : {"/Author", "/Title", "/Subject", "/Keywords", "/CreationDate", "/ModDate", "/Metadata"})
        if (b.find(key) != std::string::npos) out.push_back(std::string("the field ") + key);
    return out;
}

bool ends_with(const fs::path& f, std::initializer_list<const char*> endings) {
    return std::any_of(endings.begin(), endings.end(), [&](const char* e) { return f.extension() == e; });
}

bool is_still(const fs::path& f) { return ends_with(f, {".jpg", ".jpeg", ".png"}); }

}  // namespace

CheckLook look_at_picture_files(const std::vector<fs::path>& files) {
    CheckLook look{Outcome::clean, "Notes in stills", "comments, application data, text chunks, document fields", {}};
    for (const auto& f : files) {
        const bool jpeg = ends_with(f, {".jpg", ".jpeg"}), png = ends_with(f, {".png"}), pdf = ends_with(f, {".pdf"});
        if (!jpeg && !png && !pdf) continue;
        const std::string b = bytes_of(f);
        for (const auto& note : jpeg ? notes_in_jpeg(b) : png ? notes_in_png(b) : notes_in_pdf(b)) look.places.push_back({note, f.filename().string()});
    }
    if (!look.places.empty()) look.outcome = Outcome::finding;
    return look;
}

Result<CheckLook> read_stills(const std::vector<fs::path>& files, const CheckOptions& options, const Progress& progress) {
    CheckLook look{Outcome::clean, "Text in stills", "read by Tesseract", {}};
    SecondReader reader;
    if (!reader.ready()) return CheckLook{Outcome::not_done, look.name, SecondReader::kMissing, {}};
    std::size_t done = 0;
    for (const auto& f : files) {
        progress.report("Reading the stills", static_cast<double>(done++) / static_cast<double>(files.size()));
        if (progress.stopped()) return cancelled();
        if (!is_still(f)) continue;
        auto opened = media::FrameReader::open(f, 1);
        auto picture = opened ? opened->next() : Result<std::optional<media::Picture>>(opened.failure());
        if (!picture || !*picture) {
            look.places.push_back({"a still that cannot be read", f.filename().string()});
            continue;
        }
        auto text = reader.read(**picture, Rotation::none);
        if (!text) return text.failure();
        const auto hits = identifying(*text, "in " + f.filename().string(), options);
        look.places.insert(look.places.end(), hits.begin(), hits.end());
    }
    if (!look.places.empty()) look.outcome = Outcome::finding;
    return look;
}

namespace {

// Stills of one size, each as a span of its own to the spotter. What cannot be read is told by read_stills.
Result<void> look_at_stills(const std::vector<fs::path>& files, const CheckOptions& options, CheckLook& look, const Progress& progress) {
    constexpr Nanos kEach = 10 * kSecond;
    auto spotter = SpotterProcess::start(*options.face_spotter, options.host);
    if (!spotter) return spotter.failure();
    media::RgbConverter converter;
    Size told;
    Nanos at = 0;
    for (const auto& f : files) {
        if (progress.stopped()) return cancelled();
        progress.report("Looking at the stills", static_cast<double>(at / kEach) / static_cast<double>(files.size()));
        auto opened = media::FrameReader::open(f, 1);
        auto picture = opened ? opened->next() : Result<std::optional<media::Picture>>(opened.failure());
        if (!picture || !*picture) continue;
        auto rgb = converter.convert(**picture, Rotation::none, spotter->longest_side());
        if (!rgb) return rgb.failure();
        if (rgb->size != told)
            if (auto ok = spotter->begin_recording({rgb->size, kEach * static_cast<Nanos>(files.size())}); !ok) return ok;
        told = rgb->size;
        if (auto ok = spotter->begin_span({{at}, {at + kEach}}); !ok) return ok;
        if (auto ok = spotter->frame({at}, rgb->pixels.data(), rgb->size.w, rgb->size.h, rgb->stride()); !ok) return ok;
        auto found = spotter->end_span();
        if (!found) return found.failure();
        for (const auto& p : *found)
            if (p.kind == SuspectKind::face && p.sureness >= kSureFace) {
                look.places.push_back({"a face or a person", "in " + f.filename().string(), SuspectKind::outside, false, {}, p.sureness, f.filename().string()});
                break;
            }
        at += kEach;
    }
    return {};
}

}  // namespace

Result<CheckLook> look_for_faces_in_stills(const std::vector<fs::path>& files, const CheckOptions& options, const Progress& progress) {
    CheckLook look{Outcome::clean, "Faces in stills", "looked for by three nets", {}};
    const auto not_done = [&](const std::string& why) { return CheckLook{Outcome::not_done, look.name, why, {}}; };
    if (!options.face_spotter) return not_done("its spotter is not installed");
    if (!options.face_spotter->available) return not_done(options.face_spotter->why_not);
    std::vector<fs::path> stills;
    std::set<std::string> met;  // the poster is one of the stills
    for (const auto& f : files)
        if (is_still(f) && met.insert(bytes_of(f)).second) stills.push_back(f);
    auto looked = look_at_stills(stills, options, look, progress);
    if (!looked && looked.failure().trouble == Trouble::cancelled) return looked.failure();
    if (!looked) return not_done(looked.failure().sentence);
    if (!look.places.empty()) look.outcome = Outcome::finding;
    return look;
}

}  // namespace canalogue::film
