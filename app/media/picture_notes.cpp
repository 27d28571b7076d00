#include "app/media/picture_notes.hpp"

#include <algorithm>
#include <set>
#include <string>

namespace canalogue::media {

namespace {

constexpr int kPackets = 400;
constexpr std::size_t kMostText = 200;

using Bytes = std::basic_string<std::uint8_t>;

// Runs of printable ASCII of four letters and more, joined.
std::string printable(const Bytes& bytes) {
    std::string out, run;
    const auto end_run = [&] {
        if (run.size() >= 4) out += (out.empty() ? "" : " ") + run;
        run.clear();
    };
    for (const auto b : bytes) {
        if (b >= 0x20 && b < 0x7F) run += static_cast<char>(b);
        else end_run();
    }
    end_run();
    return out.substr(0, kMostText);
}

// What encoders say of their own settings tells nobody.
bool settings_of_an_encoder(const std::string& text) { return text.find("x264 - core") != std::string::npos || text.find("x265 (build") != std::string::npos; }

// A unit's bytes without the bytes that only keep start codes from arising.
Bytes unescaped(const std::uint8_t* d, std::size_t n) {
    Bytes out;
    int zeros = 0;
    for (std::size_t i = 0; i < n; ++i) {
        if (zeros >= 2 && d[i] == 3) {
            zeros = 0;
            continue;
        }
        zeros = d[i] == 0 ? zeros + 1 : 0;
        out += d[i];
    }
    return out;
}

// The user data of an SEI unit: message types 4 (registered) and 5 (unregistered, after its 16 bytes of name).
std::string user_data(const Bytes& unit, std::size_t at) {
    std::string out;
    const auto number = [&] {
        std::size_t n = 0;
        while (at < unit.size() && unit[at] == 0xFF) n += 255, ++at;
        return at < unit.size() ? n + unit[at++] : n;
    };
    while (at + 2 < unit.size()) {
        const std::size_t type = number(), size = std::min(number(), unit.size() - std::min(at, unit.size()));
        if ((type == 5 && size > 16) || type == 4) {
            const std::size_t skip = type == 5 ? 16 : 0;
            const std::string text = printable(unit.substr(at + skip, size - skip));
            if (!settings_of_an_encoder(text)) out += text;
        }
        at += size;
    }
    return out;
}

std::string sei_of(const AVCodecParameters& p, const AVPacket& packet) {
    const bool avc = p.codec_id == AV_CODEC_ID_H264;
    const std::size_t head = avc ? 1 : 2;
    const auto is_note = [&](std::uint8_t b) { return avc ? (b & 31) == 6 : ((b >> 1) & 63) == 39 || ((b >> 1) & 63) == 40; };
    const std::uint8_t* d = packet.data;
    const auto n = static_cast<std::size_t>(std::max(0, packet.size));
    std::string out;
    const auto look = [&](std::size_t from, std::size_t to) {
        if (from + head < to && is_note(d[from])) out += user_data(unescaped(d + from, to - from), head);
    };
    if (p.extradata_size > 4 && p.extradata[0] == 1) {  // length before each unit
        for (std::size_t at = 0; at + 5 <= n;) {
            const std::size_t size = std::size_t{d[at]} << 24 | static_cast<std::size_t>(d[at + 1]) << 16 | static_cast<std::size_t>(d[at + 2]) << 8 | d[at + 3];
            look(at + 4, std::min(n, at + 4 + size));
            at += 4 + size;
        }
        return out;
    }
    std::size_t from = n;
    for (std::size_t at = 0; at + 3 < n; ++at)
        if (d[at] == 0 && d[at + 1] == 0 && d[at + 2] == 1) {
            if (from < at) look(from, at);
            from = at + 3;
        }
    look(from, n);
    return out;
}

// Comments and application data of a JPEG picture before its pixels.
void jpeg_notes(const AVPacket& packet, const std::string& stream, std::vector<FileField>& out) {
    const std::uint8_t* d = packet.data;
    const auto n = static_cast<std::size_t>(std::max(0, packet.size));
    for (std::size_t at = 2; at + 4 <= n && d[at] == 0xFF;) {
        const std::uint8_t marker = d[at + 1];
        const std::size_t size = static_cast<std::size_t>(d[at + 2]) << 8 | d[at + 3];
        if (marker == 0xDA || size < 2) return;
        const std::size_t end = std::min(n, at + 2 + size);
        const std::string text = printable(Bytes(d + at + 4, end - std::min(end, at + 4)));
        if (marker == 0xFE && !text.starts_with("Lavc")) out.push_back({stream + "comment in pictures", text});
        if (marker == 0xE1 && text.starts_with("Exif")) out.push_back({stream + "exif in pictures", text});
        at += 2 + size;
    }
}

}  // namespace

std::vector<FileField> notes_inside(AVFormatContext& format) {
    std::vector<FileField> out;
    std::set<std::pair<std::string, std::string>> told;
    const auto tell = [&](FileField f) {
        if (!f.value.empty() && told.emplace(f.name, f.value).second) out.push_back(std::move(f));
    };
    PacketPtr packet(av_packet_alloc());
    for (int i = 0; packet && i < kPackets && av_read_frame(&format, packet.get()) >= 0; ++i) {
        const AVStream& s = *format.streams[packet->stream_index];
        const AVCodecParameters& p = *s.codecpar;
        const std::string stream = "stream " + std::to_string(s.index) + ": ";
        if (s.disposition & AV_DISPOSITION_ATTACHED_PIC) {
            // told of as an attachment
        } else if (p.codec_id == AV_CODEC_ID_H264 || p.codec_id == AV_CODEC_ID_HEVC) {
            tell({stream + "note in pictures", sei_of(p, *packet)});
        } else if (p.codec_id == AV_CODEC_ID_MJPEG) {
            std::vector<FileField> notes;
            jpeg_notes(*packet, stream, notes);
            for (auto& f : notes) tell(std::move(f));
        } else if (p.codec_type == AVMEDIA_TYPE_SUBTITLE || p.codec_type == AVMEDIA_TYPE_DATA) {
            tell({"extra stream " + std::to_string(s.index) + ": words", printable(Bytes(packet->data, static_cast<std::size_t>(std::max(0, packet->size))))});
        }
        av_packet_unref(packet.get());
    }
    return out;
}

}  // namespace canalogue::media
