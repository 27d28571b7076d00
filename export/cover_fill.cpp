#include "export/cover_fill.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>

namespace canalogue::film {

namespace {

constexpr int kDepth = 6;    // samples outwards that are averaged into a border value
constexpr int kSmooth = 12;  // samples along the border on each side that soften it
constexpr double kNeutralLuma = 0.24;  // of full scale, where there is nothing outside to fill from

// One component (Y, Cb, G ...) of a picture, planar or packed, 8 to 16 bits.
struct Channel {
    std::uint8_t* base;
    int stride, step;   // bytes
    int width, height;  // samples
    int shift_x, shift_y;  // log2 of the subsampling
    bool wide;          // two bytes a sample, little endian
    int shift;          // low bits that are not part of the value
    int top;            // largest value
    bool chroma;

    int get(int x, int y) const {
        const std::uint8_t* p = base + static_cast<std::ptrdiff_t>(y) * stride + x * step;
        return wide ? (p[0] | p[1] << 8) >> shift : *p >> shift;
    }
    void put(int x, int y, int v) const {
        std::uint8_t* p = base + static_cast<std::ptrdiff_t>(y) * stride + x * step;
        v <<= shift;
        p[0] = static_cast<std::uint8_t>(v);
        if (wide) p[1] = static_cast<std::uint8_t>(v >> 8);
    }
    int neutral() const { return chroma ? (top + 1) / 2 : static_cast<int>(kNeutralLuma * top); }
};

bool reachable(const AVPixFmtDescriptor* d) {
    constexpr std::uint64_t kNo = AV_PIX_FMT_FLAG_PAL | AV_PIX_FMT_FLAG_BITSTREAM | AV_PIX_FMT_FLAG_HWACCEL |
                                  AV_PIX_FMT_FLAG_BE | AV_PIX_FMT_FLAG_FLOAT | AV_PIX_FMT_FLAG_BAYER;
    if (!d || (d->flags & kNo) || d->nb_components < 1) return false;
    for (int c = 0; c < d->nb_components; ++c)
        if (d->comp[c].depth < 8 || d->comp[c].depth > 16) return false;
    return true;
}

std::vector<Channel> channels_of(AVFrame& f, const AVPixFmtDescriptor& d) {
    std::vector<Channel> out;
    const bool rgb = d.flags & AV_PIX_FMT_FLAG_RGB;
    for (int c = 0; c < d.nb_components; ++c) {
        const auto& comp = d.comp[c];
        const bool alpha = (d.flags & AV_PIX_FMT_FLAG_ALPHA) && c == d.nb_components - 1;
        if (alpha) continue;
        const bool chroma = !rgb && (c == 1 || c == 2);
        const int sx = chroma ? d.log2_chroma_w : 0, sy = chroma ? d.log2_chroma_h : 0;
        out.push_back({f.data[comp.plane] + comp.offset, f.linesize[comp.plane], comp.step,
                       AV_CEIL_RSHIFT(f.width, sx), AV_CEIL_RSHIFT(f.height, sy), sx, sy, comp.depth > 8, comp.shift,
                       (1 << comp.depth) - 1, chroma});
    }
    return out;
}

// A box in the samples of a channel, clipped to it.
StoredBox in_channel(const StoredBox& b, const Channel& c) {
    const int x0 = b.x >> c.shift_x, y0 = b.y >> c.shift_y;
    const int x1 = -((-b.right()) >> c.shift_x), y1 = -((-b.bottom()) >> c.shift_y);
    return common(StoredBox{x0, y0, x1 - x0, y1 - y0}, StoredBox{0, 0, c.width, c.height});
}

bool covered(int x, int y, const std::vector<StoredBox>& boxes) {
    for (const auto& b : boxes)
        if (x >= b.x && y >= b.y && x < b.right() && y < b.bottom()) return true;
    return false;
}

// One side's border values, -1 where there is nothing uncovered to take.
using Side = std::vector<int>;

// (x, y): first sample outside; (ox, oy): outwards; (ax, ay): along the side.
Side sample_side(const Channel& c, const std::vector<StoredBox>& boxes, int x, int y, int ox, int oy, int ax, int ay, int length) {
    Side side(static_cast<std::size_t>(length), -1);
    for (int i = 0; i < length; ++i) {
        int sum = 0, count = 0;
        for (int d = 0; d < kDepth; ++d) {
            const int px = x + i * ax + d * ox, py = y + i * ay + d * oy;
            if (px < 0 || py < 0 || px >= c.width || py >= c.height || covered(px, py, boxes)) break;
            sum += c.get(px, py);
            ++count;
        }
        if (count > 0) side[static_cast<std::size_t>(i)] = sum / count;
    }
    return side;
}

// Closes holes with the nearest known value and softens along the side. Empty when nothing is known.
Side softened(const Side& side) {
    const int n = static_cast<int>(side.size());
    Side full = side;
    int last = -1;
    for (int i = 0; i < n; ++i) {
        if (side[static_cast<std::size_t>(i)] >= 0) last = side[static_cast<std::size_t>(i)];
        full[static_cast<std::size_t>(i)] = last;
    }
    last = -1;
    for (int i = n - 1; i >= 0; --i) {
        auto& v = full[static_cast<std::size_t>(i)];
        if (v >= 0) last = v;
        else v = last;
    }
    if (n == 0 || full[0] < 0) return {};
    Side out(full.size());
    for (int i = 0; i < n; ++i) {
        int sum = 0, count = 0;
        for (int j = std::max(0, i - kSmooth); j <= std::min(n - 1, i + kSmooth); ++j) sum += full[static_cast<std::size_t>(j)], ++count;
        out[static_cast<std::size_t>(i)] = sum / count;
    }
    return out;
}

// The same grain at the same place of the same cover, always: a hash of the position (integer mixing
// with large odd constants).
int grain(int x, int y, int strength) {
    std::uint32_t h = static_cast<std::uint32_t>(x) * 0x9E3779B1u ^ static_cast<std::uint32_t>(y) * 0x85EBCA77u;
    h ^= h >> 15;
    h *= 0xC2B2AE3Du;
    h ^= h >> 13;
    return static_cast<int>(h % static_cast<std::uint32_t>(2 * strength + 1)) - strength;
}

struct Filled {
    StoredBox box;
    std::vector<int> values;  // empty: neutral
};

// Each sample is the mean of the four border values around it, each weighing by its nearness.
Filled fill(const Channel& c, const StoredBox& b, const std::vector<StoredBox>& boxes) {
    Filled out{b, {}};
    const Side top = softened(sample_side(c, boxes, b.x, b.y - 1, 0, -1, 1, 0, b.w));
    const Side bottom = softened(sample_side(c, boxes, b.x, b.bottom(), 0, 1, 1, 0, b.w));
    const Side left = softened(sample_side(c, boxes, b.x - 1, b.y, -1, 0, 0, 1, b.h));
    const Side right = softened(sample_side(c, boxes, b.right(), b.y, 1, 0, 0, 1, b.h));
    if (top.empty() && bottom.empty() && left.empty() && right.empty()) return out;
    out.values.resize(static_cast<std::size_t>(b.w) * b.h);
    std::vector<float> wl(static_cast<std::size_t>(b.w)), wr(wl.size());
    for (int x = 0; x < b.w; ++x) {
        wl[static_cast<std::size_t>(x)] = left.empty() ? 0.0f : 1.0f / static_cast<float>(x + 1);
        wr[static_cast<std::size_t>(x)] = right.empty() ? 0.0f : 1.0f / static_cast<float>(b.w - x);
    }
    const int strength = c.chroma ? 0 : std::max(1, c.top / 128);
    for (int y = 0; y < b.h; ++y) {
        const auto row = static_cast<std::size_t>(y);
        const float wt = top.empty() ? 0.0f : 1.0f / static_cast<float>(y + 1);
        const float wb = bottom.empty() ? 0.0f : 1.0f / static_cast<float>(b.h - y);
        const float l = left.empty() ? 0.0f : static_cast<float>(left[row]), r = right.empty() ? 0.0f : static_cast<float>(right[row]);
        for (int x = 0; x < b.w; ++x) {
            const auto col = static_cast<std::size_t>(x);
            const float t = top.empty() ? 0.0f : static_cast<float>(top[col]), m = bottom.empty() ? 0.0f : static_cast<float>(bottom[col]);
            const float sum = wt * t + wb * m + wl[col] * l + wr[col] * r;
            const int v = static_cast<int>(sum / (wt + wb + wl[col] + wr[col]) + 0.5f) + grain(b.x + x, b.y + y, std::max(strength, 0));
            out.values[row * static_cast<std::size_t>(b.w) + col] = std::clamp(v, 0, c.top);
        }
    }
    return out;
}

void write(const Channel& c, const Filled& f) {
    for (int y = 0; y < f.box.h; ++y)
        for (int x = 0; x < f.box.w; ++x)
            c.put(f.box.x + x, f.box.y + y,
                  f.values.empty() ? c.neutral() : f.values[static_cast<std::size_t>(y) * static_cast<std::size_t>(f.box.w) + static_cast<std::size_t>(x)]);
}

}  // namespace

Result<void> lay_covers(media::Picture& picture, const std::vector<StoredBox>& boxes) {
    if (boxes.empty()) return {};
    const auto* d = av_pix_fmt_desc_get(static_cast<AVPixelFormat>(picture.frame->format));
    if (!reachable(d))
        return bad_media("The recording's pictures have a form that cannot be covered; convert the recording to H.264 first.");
    if (!picture.own()) return machine_trouble("There is not enough memory to cover a picture; close other programs.");
    for (const Channel& c : channels_of(*picture.frame, *d)) {
        std::vector<StoredBox> here;
        for (const auto& b : boxes)
            if (const StoredBox in = in_channel(b, c); !in.empty()) here.push_back(in);
        // All fills are computed before any is written, so that none reads another.
        std::vector<Filled> filled;
        for (const auto& b : here) filled.push_back(fill(c, b, here));
        for (const auto& f : filled) write(c, f);
    }
    return {};
}

}  // namespace canalogue::film
