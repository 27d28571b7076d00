#include "export/cover_fill.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "export/cover_flow.hpp"

namespace canalogue::film {

namespace {

constexpr int kDepth = 12;  // samples beyond a cover that it is filled from
// Fills are computed on cells of so many samples squared: smoother, and a sixteenth of the work. Covers
// lie on blocks of 16, so a cell is either covered or not, in chroma too.
constexpr int kCell = 4;
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
    bool alpha;         // becomes opaque under a cover: its shape could tell, too

    bool plain_bytes() const { return !wide && step == 1 && shift == 0; }
    std::uint8_t* row(int y) const { return base + static_cast<std::ptrdiff_t>(y) * stride; }
    int get(int x, int y) const {
        const std::uint8_t* p = row(y) + x * step;
        return wide ? (p[0] | p[1] << 8) >> shift : *p >> shift;
    }
    void put(int x, int y, int v) const {
        std::uint8_t* p = row(y) + x * step;
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
        const bool chroma = !rgb && (c == 1 || c == 2);
        const int sx = chroma ? d.log2_chroma_w : 0, sy = chroma ? d.log2_chroma_h : 0;
        out.push_back({f.data[comp.plane] + comp.offset, f.linesize[comp.plane], comp.step,
                       AV_CEIL_RSHIFT(f.width, sx), AV_CEIL_RSHIFT(f.height, sy), sx, sy, comp.depth > 8, comp.shift,
                       (1 << comp.depth) - 1, chroma, alpha});
    }
    return out;
}

// A box in the samples of a channel, clipped to it.
StoredBox in_channel(const StoredBox& b, const Channel& c) {
    const int x0 = b.x >> c.shift_x, y0 = b.y >> c.shift_y;
    const int x1 = -((-b.right()) >> c.shift_x), y1 = -((-b.bottom()) >> c.shift_y);
    return common(StoredBox{x0, y0, x1 - x0, y1 - y0}, StoredBox{0, 0, c.width, c.height});
}

// Boxes that touch, or lie within each other's surroundings, are filled together.
struct Cluster {
    StoredBox around;  // the boxes and kDepth samples beyond
    std::vector<StoredBox> boxes;
};

std::vector<Cluster> clusters_of(const std::vector<StoredBox>& boxes, const Channel& c) {
    const StoredBox whole{0, 0, c.width, c.height};
    std::vector<Cluster> out;
    for (const auto& b : boxes)
        out.push_back({common(StoredBox{b.x - kDepth, b.y - kDepth, b.w + 2 * kDepth, b.h + 2 * kDepth}, whole), {b}});
    for (bool joined = true; joined;) {
        joined = false;
        for (std::size_t i = 0; i < out.size() && !joined; ++i)
            for (std::size_t j = i + 1; j < out.size() && !joined; ++j)
                if (out[i].around.meets(out[j].around)) {
                    out[i].around = hull(out[i].around, out[j].around);
                    out[i].boxes.insert(out[i].boxes.end(), out[j].boxes.begin(), out[j].boxes.end());
                    out.erase(out.begin() + static_cast<std::ptrdiff_t>(j));
                    joined = true;
                }
    }
    return out;
}

// Which samples of one row of a cluster are covered; the row ends on a whole cell, and what is beyond the cluster counts as covered.
void mask_row(const Cluster& cluster, int y, std::vector<std::uint8_t>& mask) {
    const StoredBox& a = cluster.around;
    std::fill(mask.begin(), mask.end(), std::uint8_t{0});
    std::fill(mask.begin() + a.w, mask.end(), std::uint8_t{1});
    for (const auto& b : cluster.boxes)
        if (b.y <= y && y < b.bottom()) std::fill_n(mask.begin() + (b.x - a.x), b.w, std::uint8_t{1});
}

bool crosses(const Cluster& cluster, int y) {
    return std::any_of(cluster.boxes.begin(), cluster.boxes.end(), [&](const StoredBox& b) { return b.y == y || b.bottom() == y; });
}

// The cells that a row of samples shows: those it shows all of, as runs, and those it shows a part of (none, where covers lie on
// whole cells).
struct OpenCells {
    struct Run {
        std::size_t first, count;
    };
    std::vector<Run> whole;
    std::vector<std::size_t> part;

    void find(const std::vector<std::uint8_t>& mask) {
        whole.clear(), part.clear();
        for (std::size_t cell = 0; cell * kCell < mask.size(); ++cell) {
            const auto there = mask.begin() + static_cast<std::ptrdiff_t>(cell * kCell);
            const auto shown = std::count(there, there + kCell, std::uint8_t{0});
            if (shown == 0) continue;
            if (shown < kCell) part.push_back(cell);
            else if (!whole.empty() && whole.back().first + whole.back().count == cell) ++whole.back().count;
            else whole.push_back({cell, 1});
        }
    }
};

CANALOGUE_WIDE void add_cells(const std::uint8_t* __restrict samples, std::size_t cells, float* __restrict sum, float* __restrict count) {
    static_assert(kCell == 4);
    for (std::size_t i = 0; i < cells; ++i) {
        sum[i] += static_cast<float>(samples[4 * i] + samples[4 * i + 1] + samples[4 * i + 2] + samples[4 * i + 3]);
        count[i] += kCell;
    }
}

// The shown samples of a cell of row y, one by one.
void add_cell(const Channel& c, int x, int y, const std::uint8_t* mask, float& sum, float& count) {
    int here = 0, shown = 0;
    for (int i = 0; i < kCell; ++i)
        if (!mask[i]) here += c.get(x + i, y), ++shown;
    sum += static_cast<float>(here), count += static_cast<float>(shown);
}

// The means of the uncovered samples of each cell around a cluster. Most of a cluster is covered, so only the cells that show
// something are visited, and what they are is good for many rows.
Known surroundings(const Channel& c, const Cluster& cluster) {
    const StoredBox& a = cluster.around;
    Known k((a.w + kCell - 1) / kCell, (a.h + kCell - 1) / kCell);
    std::vector<std::uint8_t> mask(static_cast<std::size_t>(k.w) * kCell);
    OpenCells open;
    for (int y = a.y; y < a.bottom(); ++y) {
        if (y == a.y || crosses(cluster, y)) mask_row(cluster, y, mask), open.find(mask);
        float *sum = k.value.data() + k.at(0, (y - a.y) / kCell), *count = k.weight.data() + k.at(0, (y - a.y) / kCell);
        const auto one = [&](std::size_t cell) { add_cell(c, a.x + static_cast<int>(cell) * kCell, y, mask.data() + cell * kCell, sum[cell], count[cell]); };
        for (const auto& run : open.whole) {
            if (c.plain_bytes()) add_cells(c.row(y) + a.x + run.first * kCell, run.count, sum + run.first, count + run.first);
            else for (std::size_t i = 0; i < run.count; ++i) one(run.first + i);
        }
        std::for_each(open.part.begin(), open.part.end(), one);
    }
    for (std::size_t i = 0; i < k.value.size(); ++i)
        if (k.weight[i] > 0) k.value[i] /= k.weight[i], k.weight[i] = 1;
    return k;
}

// The same grain at the same place of the picture, always: hashes of positions (integer mixing with
// large odd constants), -1, 0 or 1.
constexpr int kTile = 64;
const std::array<std::int8_t, kTile * kTile>& grain() {
    static const auto tile = [] {
        std::array<std::int8_t, kTile * kTile> out{};
        for (std::uint32_t i = 0; i < out.size(); ++i) {
            std::uint32_t h = (i % kTile) * 0x9E3779B1u ^ (i / kTile) * 0x85EBCA77u;
            h ^= h >> 15;
            h *= 0xC2B2AE3Du;
            h ^= h >> 13;
            out[i] = static_cast<std::int8_t>(static_cast<int>(h % 3) - 1);
        }
        return out;
    }();
    return tile;
}

// Between two values of one row of cells (or one column), by whole numbers where a sample is a byte: sixteenths of a level, of which
// seven times the largest difference still fits.
constexpr float kUnits = 16;
using Units = std::int16_t;

CANALOGUE_WIDE void mix_rows(const float* __restrict up, const float* __restrict down, float part, float* __restrict out, std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) out[i] = up[i] + (down[i] - up[i]) * part;
}

CANALOGUE_WIDE void mix_rows(const float* __restrict up, const float* __restrict down, float part, Units* __restrict out, std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) out[i] = static_cast<Units>((up[i] + (down[i] - up[i]) * part) * kUnits + 0.5f);
}

CANALOGUE_WIDE void between_cells(const float* __restrict cells, std::size_t count, float* __restrict out) {
    for (std::size_t i = 0; i + 1 < count; ++i) {
        const float step = (cells[i + 1] - cells[i]) / (2 * kCell);
        for (int j = 0; j < kCell; ++j) out[i * kCell + static_cast<std::size_t>(j)] = cells[i] + step * static_cast<float>(2 * j + 1);
    }
}

CANALOGUE_WIDE void between_cells(const Units* __restrict cells, std::size_t count, Units* __restrict out) {
    static_assert(kCell == 4);
    for (std::size_t i = 0; i + 1 < count; ++i) {
        const Units step = static_cast<Units>(cells[i + 1] - cells[i]);
        for (int j = 0; j < kCell; ++j) {
            const Units eighths = static_cast<Units>(step * (2 * j + 1));
            out[i * kCell + static_cast<std::size_t>(j)] = static_cast<Units>(cells[i] + (eighths >> 3));
        }
    }
}

CANALOGUE_WIDE void write_grained(const Units* __restrict values, const std::int8_t* __restrict specks, Units strength, std::uint8_t* __restrict out, int count) {
    for (int i = 0; i < count; ++i) {
        const Units level = static_cast<Units>(((values[i] + 8) >> 4) + specks[i] * strength);
        out[i] = static_cast<std::uint8_t>(std::clamp<Units>(level, 0, 255));
    }
}

// Writes the boxes of a cluster: each sample between its four nearest cells, grained. Units for bytes, float for other samples.
template <typename Value>
class Writer {
  public:
    Writer(const Channel& c, const Cluster& cluster, const Known& k)
        : c_(c), around_(cluster.around), k_(k), cells_(static_cast<std::size_t>(k.w)), row_(cells_.size() * kCell), strength_(c.chroma ? 0 : std::max(1, c.top / 160)) {}

    void box(const StoredBox& b) {
        for (int y = b.y; y < b.bottom(); ++y) {
            lay_row(y);
            // From one edge of the grain's tile to the next.
            for (int x = b.x; x < b.right();) {
                const int until = std::min(b.right(), (x / kTile + 1) * kTile);
                write_part(x, until, y, row_.data() + (x - around_.x), grain().data() + y % kTile * kTile + x % kTile);
                x = until;
            }
        }
    }

  private:
    // A sample lies between the middles of two rows (or columns) of cells; a cell's middle lies between two samples.
    void lay_row(int y) {
        const float f = std::clamp((static_cast<float>(y - around_.y) + 0.5f) / kCell - 0.5f, 0.0f, static_cast<float>(k_.h - 1));
        const int first = static_cast<int>(f);
        mix_rows(k_.value.data() + k_.at(0, first), k_.value.data() + k_.at(0, std::min(first + 1, k_.h - 1)), f - static_cast<float>(first), cells_.data(), cells_.size());
        constexpr std::size_t kHalf = kCell / 2;
        std::fill_n(row_.begin(), kHalf, cells_.front());
        std::fill_n(row_.end() - kHalf, kHalf, cells_.back());
        between_cells(cells_.data(), cells_.size(), row_.data() + kHalf);
    }

    void write_part(int x, int until, int y, const Value* values, const std::int8_t* specks) const {
        const int count = until - x;
        if constexpr (std::is_same_v<Value, Units>) {
            write_grained(values, specks, static_cast<Units>(strength_), c_.row(y) + x, count);
        } else {
            for (int i = 0; i < count; ++i) c_.put(x + i, y, std::clamp(static_cast<int>(values[i] + 0.5f) + specks[i] * strength_, 0, c_.top));
        }
    }

    const Channel& c_;
    const StoredBox& around_;
    const Known& k_;
    std::vector<Value> cells_, row_;
    int strength_;
};

void write(const Channel& c, const Cluster& cluster, const Known& k, bool known) {
    const auto fill = [&](auto&& writer) {
        for (const auto& b : cluster.boxes) writer.box(b);
    };
    if (known) return c.plain_bytes() ? fill(Writer<Units>(c, cluster, k)) : fill(Writer<float>(c, cluster, k));
    const int value = c.alpha ? c.top : c.neutral();
    for (const auto& b : cluster.boxes)
        for (int y = b.y; y < b.bottom(); ++y) {
            if (c.plain_bytes()) std::fill_n(c.row(y) + b.x, b.w, static_cast<std::uint8_t>(value));
            else for (int x = b.x; x < b.right(); ++x) c.put(x, y, value);
        }
}

}  // namespace

Result<void> lay_covers(media::Picture& picture, const std::vector<StoredBox>& boxes, CoverLook look) {
    if (boxes.empty()) return {};
    const auto* d = av_pix_fmt_desc_get(static_cast<AVPixelFormat>(picture.frame->format));
    if (!reachable(d))
        return bad_media("The recording's pictures have a form that cannot be covered; convert the recording to H.264 first.");
    if (!picture.own()) return machine_trouble("There is not enough memory to cover a picture; close other programs.");
    for (const Channel& c : channels_of(*picture.frame, *d)) {
        std::vector<StoredBox> here;
        for (const auto& b : boxes)
            if (const StoredBox in = in_channel(b, c); !in.empty()) here.push_back(in);
        for (const auto& cluster : clusters_of(here, c)) {
            // A cover over everything has nothing to fill from; nor shall a plain one.
            const bool plain = look == CoverLook::plain || (cluster.boxes.size() == 1 && cluster.boxes[0] == cluster.around);
            Known k = plain ? Known(1, 1) : surroundings(c, cluster);
            write(c, cluster, k, !c.alpha && !plain && flow_in(k));
        }
    }
    return {};
}

}  // namespace canalogue::film
