#include "export/mp4_boxes.hpp"

#include <algorithm>
#include <fstream>
#include <set>

namespace canalogue::film {

namespace {

const std::set<std::string> kContainers{"moov", "trak", "mdia", "minf", "stbl", "edts", "dinf", "udta", "gmhd", "tref"};
// What our own films hold. Anything else is a finding.
const std::set<std::string> kKnown{
    "ftyp", "moov", "mvhd", "trak", "tkhd", "edts", "elst", "mdia", "mdhd", "hdlr", "minf", "vmhd", "smhd", "nmhd", "gmhd", "gmin",
    "text", "dinf", "dref", "url ", "stbl", "stsd", "stts", "stss", "ctts", "stsc", "stsz", "stco", "co64", "sgpd", "sbgp", "sdtp",
    "udta", "chpl", "meta", "ilst", "free", "mdat", "tref", "chap"};
const std::set<std::string> kNeutralHandlers{"", "VideoHandler", "SoundHandler", "DataHandler", "SubtitleHandler", "TextHandler"};

// The longest head an edit list may hide: an encoder's own delay (AAC 1024 samples, a few reordered pictures).
constexpr double kCodecDelaySeconds = 0.25;

struct Track {
    std::uint32_t timescale = 1;
    std::uint64_t sample_bytes = 0;
    std::uint64_t duration = 0;   // of the media, in its time scale
    std::vector<std::int64_t> media_times;
    std::uint64_t shown = 0;      // by the edit list, in the movie's time scale
    std::int64_t from = 0;        // where in the media its first edit begins
};

class Walker {
  public:
    explicit Walker(const std::filesystem::path& path) : in_(path, std::ios::binary) {
        in_.seekg(0, std::ios::end);
        size_ = static_cast<std::uint64_t>(std::max<std::streamoff>(0, in_.tellg()));
    }

    bool readable() const { return in_.is_open(); }

    std::vector<BoxFinding> walk() {
        level(0, size_, "");
        finish_track();
        if (mdat_bytes_ > sample_bytes_) add("media data that no track uses", "mdat, " + std::to_string(mdat_bytes_ - sample_bytes_) + " bytes");
        return std::move(findings_);
    }

  private:
    void add(const std::string& what, const std::string& where) { findings_.push_back({what, where}); }

    std::string bytes(std::uint64_t at, std::uint64_t count) {
        std::string out(static_cast<std::size_t>(std::min<std::uint64_t>(count, 1 << 20)), '\0');
        in_.clear();
        in_.seekg(static_cast<std::streamoff>(at));
        in_.read(out.data(), static_cast<std::streamsize>(out.size()));
        out.resize(static_cast<std::size_t>(std::max<std::streamsize>(0, in_.gcount())));
        return out;
    }

    std::uint64_t number(std::uint64_t at, int width) {
        std::uint64_t v = 0;
        for (unsigned char c : bytes(at, static_cast<std::uint64_t>(width))) v = v << 8 | c;
        return v;
    }

    static std::string printable(std::string type) {
        for (char& c : type)
            if (c < ' ' || c > '~') c = '?';
        return type;
    }

    void level(std::uint64_t at, std::uint64_t end, const std::string& path) {
        while (at + 8 <= end) {
            std::uint64_t length = number(at, 4), head = 8;
            const std::string type = printable(bytes(at + 4, 4));
            if (length == 1) length = number(at + 8, 8), head = 16;
            if (length == 0) length = end - at;
            if (length < head || at + length > end) {
                add("bytes that are no box", (path.empty() ? "the file" : path) + ", byte " + std::to_string(at));
                return;
            }
            const std::string here = path.empty() ? type : path + "/" + type;
            box(type, here, at, at + head, at + length);
            if (kContainers.count(type) && type != "tref") level(at + head, at + length, here);
            // The muxer always writes an empty list of tags; each tag in it would be a finding of its own.
            if (type == "meta" && length >= head + 4) level(at + head + 4, at + length, here);
            if (type == "ilst" && length > head) add("a tag in the film's tag list", here + ", byte " + std::to_string(at));
            at += length;
        }
        // Four zero bytes may end a QuickTime user data list.
        if (at < end && !(path.ends_with("udta") && end - at == 4 && number(at, 4) == 0))
            add("bytes after the last box", (path.empty() ? "the end of the file" : path) + ", " + std::to_string(end - at) + " bytes");
    }

    void box(const std::string& type, const std::string& here, std::uint64_t at, std::uint64_t body, std::uint64_t end) {
        const std::string where = here + ", byte " + std::to_string(at);
        if (!kKnown.count(type) || (type == "text" && !here.ends_with("gmhd/text"))) add("a kind of box that no film needs", where);
        if (type == "trak") finish_track();
        if (type == "mdat") mdat_bytes_ += end - body;
        if (type == "mvhd" || type == "tkhd" || type == "mdhd") header(type, where, body);
        if (type == "hdlr") handler(where, body, end);
        if (type == "elst") edits(body, end);
        if (type == "stsz") sizes(body, end);
        if (type == "free" || type == "skip") space(where, body, end);
    }

    void header(const std::string& type, const std::string& where, std::uint64_t body) {
        const bool wide = number(body, 1) == 1;
        const int width = wide ? 8 : 4;
        const std::uint64_t made = number(body + 4, width), changed = number(body + 4 + static_cast<unsigned>(width), width);
        if (made || changed) add("a date is set", where);
        const std::uint64_t scale = number(body + 4 + 2 * static_cast<unsigned>(width), 4);
        if (type == "mvhd") movie_scale_ = std::max<std::uint64_t>(1, scale);
        if (type != "mdhd") return;
        track_.timescale = static_cast<std::uint32_t>(std::max<std::uint64_t>(1, scale));
        track_.duration = number(body + 8 + 2 * static_cast<unsigned>(width), width);
    }

    void handler(const std::string& where, std::uint64_t body, std::uint64_t end) {
        if (body + 24 > end) return;
        std::string name = bytes(body + 24, end - body - 24);
        // QuickTime writes the length in front, MP4 a zero at the end.
        if (!name.empty() && static_cast<unsigned char>(name[0]) == name.size() - 1) name.erase(0, 1);
        name = name.c_str();
        if (!kNeutralHandlers.count(name)) add("a handler name that is not neutral", where);
    }

    void edits(std::uint64_t body, std::uint64_t end) {
        const bool wide = number(body, 1) == 1;
        const std::uint64_t count = number(body + 4, 4), step = wide ? 20 : 12;
        for (std::uint64_t i = 0; i < count && body + 8 + (i + 1) * step <= end; ++i) {
            const std::uint64_t at = body + 8 + i * step + (wide ? 8 : 4);
            const std::int64_t t = wide ? static_cast<std::int64_t>(number(at, 8)) : static_cast<std::int32_t>(number(at, 4));
            track_.media_times.push_back(t);
            if (t < 0) continue;  // an empty edit shows nothing of the media
            if (track_.shown == 0) track_.from = t;
            track_.shown += number(at - (wide ? 8 : 4), wide ? 8 : 4);
        }
    }

    void sizes(std::uint64_t body, std::uint64_t end) {
        const std::uint64_t each = number(body + 4, 4), count = number(body + 8, 4);
        if (each) {
            track_.sample_bytes += each * count;
            return;
        }
        for (std::uint64_t at = body + 12; at < end;) {
            const std::string block = bytes(at, std::min<std::uint64_t>(end - at, 1 << 16));
            if (block.size() < 4) return;
            for (std::size_t i = 0; i + 4 <= block.size(); i += 4) {
                std::uint32_t v = 0;
                for (std::size_t k = 0; k < 4; ++k) v = v << 8 | static_cast<unsigned char>(block[i + k]);
                track_.sample_bytes += v;
            }
            at += block.size() / 4 * 4;
        }
    }

    void space(const std::string& where, std::uint64_t body, std::uint64_t end) {
        for (std::uint64_t at = body; at < end; at += 1 << 20)
            for (char c : bytes(at, end - at))
                if (c != 0) {
                    add("free space that holds something", where);
                    return;
                }
    }

    void finish_track() {
        sample_bytes_ += track_.sample_bytes;
        for (std::int64_t t : track_.media_times)
            if (static_cast<double>(t) / track_.timescale > kCodecDelaySeconds || track_.media_times.size() > 2)
                add("an edit list hides part of a track", "moov/trak/edts/elst");
        const double seen = static_cast<double>(track_.from) / track_.timescale + static_cast<double>(track_.shown) / static_cast<double>(movie_scale_);
        if (track_.shown > 0 && static_cast<double>(track_.duration) / track_.timescale - seen > kCodecDelaySeconds)
            add("an edit list hides the end of a track", "moov/trak/edts/elst");
        track_ = {};
    }

    std::ifstream in_;
    std::uint64_t size_ = 0, mdat_bytes_ = 0, sample_bytes_ = 0, movie_scale_ = 1;
    Track track_;
    std::vector<BoxFinding> findings_;
};

}  // namespace

bool is_mp4(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    char head[8] = {};
    in.read(head, sizeof head);
    return in.gcount() == 8 && std::string(head + 4, 4) == "ftyp";
}

Result<std::vector<BoxFinding>> walk_boxes(const std::filesystem::path& file) {
    Walker walker(file);
    if (!walker.readable()) return bad_media("The film cannot be read; check that it is there.");
    return walker.walk();
}

}  // namespace canalogue::film
