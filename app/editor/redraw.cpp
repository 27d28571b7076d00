#include "app/editor/redraw.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <unordered_map>

namespace canalogue::editor {

namespace {

constexpr std::size_t kMostParts = 6;

std::unordered_map<std::uintptr_t, std::uint64_t>& contents() {
    static std::unordered_map<std::uintptr_t, std::uint64_t> the;
    return the;
}

std::uint64_t mixed(std::uint64_t h, std::uint64_t v) {
    h = (h ^ v) * 0x9E3779B97F4A7C15u;
    return h ^ (h >> 29);
}

std::uint64_t mixed(std::uint64_t h, const ImDrawVert& v) {
    std::uint64_t words[3] = {0, 0, 0};
    static_assert(sizeof v <= sizeof words);
    std::memcpy(words, &v, sizeof v);
    return mixed(mixed(mixed(h, words[0]), words[1]), words[2]);
}

// All that a command's triangles share.
std::uint64_t key_of(const ImDrawCmd& c) {
    const auto texture = reinterpret_cast<std::uintptr_t>(c.GetTexID());
    const auto it = contents().find(texture);
    std::uint64_t h = mixed(mixed(1, texture), it == contents().end() ? 0 : it->second);
    std::uint64_t clip[2];
    std::memcpy(clip, &c.ClipRect, sizeof clip);
    return mixed(mixed(h, clip[0]), clip[1]);
}

struct Squares {
    std::vector<std::uint64_t>& of;
    int columns, rows;

    void add(float x0, float y0, float x1, float y1, std::uint64_t what) {
        constexpr float kSize = Redraw::kSquare;
        const int c0 = std::max(0, static_cast<int>(std::floor(x0 / kSize))), c1 = std::min(columns - 1, static_cast<int>(std::floor(x1 / kSize)));
        const int r0 = std::max(0, static_cast<int>(std::floor(y0 / kSize))), r1 = std::min(rows - 1, static_cast<int>(std::floor(y1 / kSize)));
        for (int r = r0; r <= r1; ++r)
            for (int c = c0; c <= c1; ++c) {
                auto& square = of[static_cast<std::size_t>(r * columns + c)];
                square = mixed(square, what);
            }
    }
};

void add_command(const ImDrawList& list, const ImDrawCmd& c, Squares squares) {
    const std::uint64_t key = key_of(c);
    const ImDrawIdx* index = list.IdxBuffer.Data + c.IdxOffset;
    const ImDrawVert* vertex = list.VtxBuffer.Data + c.VtxOffset;
    for (unsigned i = 0; i + 2 < c.ElemCount; i += 3) {
        const ImDrawVert &p = vertex[index[i]], &q = vertex[index[i + 1]], &r = vertex[index[i + 2]];
        const float x0 = std::max(c.ClipRect.x, std::min({p.pos.x, q.pos.x, r.pos.x})), x1 = std::min(c.ClipRect.z, std::max({p.pos.x, q.pos.x, r.pos.x}));
        const float y0 = std::max(c.ClipRect.y, std::min({p.pos.y, q.pos.y, r.pos.y})), y1 = std::min(c.ClipRect.w, std::max({p.pos.y, q.pos.y, r.pos.y}));
        if (x0 > x1 || y0 > y1) continue;
        squares.add(x0, y0, x1, y1, mixed(mixed(mixed(key, p), q), r));
    }
}

float area(const Part& p) { return (p.b.x - p.a.x) * (p.b.y - p.a.y); }
Part around(const Part& p, const Part& q) { return {{std::min(p.a.x, q.a.x), std::min(p.a.y, q.a.y)}, {std::max(p.b.x, q.b.x), std::max(p.b.y, q.b.y)}}; }
bool overlap(const Part& p, const Part& q) { return p.a.x < q.b.x && q.a.x < p.b.x && p.a.y < q.b.y && q.a.y < p.b.y; }

// Runs of a row, each grown downwards as long as the row below has the same run.
std::vector<Part> parts_of(const std::vector<char>& different, int columns, int rows) {
    constexpr float kSize = Redraw::kSquare;
    std::vector<Part> out;
    for (int r = 0; r < rows; ++r)
        for (int c = 0; c < columns; ++c) {
            if (!different[static_cast<std::size_t>(r * columns + c)]) continue;
            const int from = c;
            while (c + 1 < columns && different[static_cast<std::size_t>(r * columns + c + 1)]) ++c;
            const Part run{{static_cast<float>(from) * kSize, static_cast<float>(r) * kSize}, {static_cast<float>(c + 1) * kSize, static_cast<float>(r + 1) * kSize}};
            const auto above = std::find_if(out.begin(), out.end(), [&](const Part& p) { return p.b.y == run.a.y && p.a.x == run.a.x && p.b.x == run.b.x; });
            if (above == out.end()) out.push_back(run);
            else above->b.y = run.b.y;
        }
    return out;
}

// Joins those that overlap, and the ones nearest to another while there are too many: each costs a pass over the frame's commands.
void join(std::vector<Part>& parts) {
    for (;;) {
        std::size_t best_i = 0, best_j = 0;
        float least = INFINITY;
        for (std::size_t i = 0; i < parts.size(); ++i)
            for (std::size_t j = i + 1; j < parts.size(); ++j) {
                const float grown = overlap(parts[i], parts[j]) ? -1 : area(around(parts[i], parts[j])) - area(parts[i]) - area(parts[j]);
                if (grown < least) least = grown, best_i = i, best_j = j;
            }
        if (least > 0 && parts.size() <= kMostParts) return;
        parts[best_i] = around(parts[best_i], parts[best_j]);
        parts.erase(parts.begin() + static_cast<long>(best_j));
    }
}

}  // namespace

void contents_changed(unsigned texture) {
    static std::uint64_t images = 0;
    contents()[texture] = ++images;
}

std::vector<Part> Redraw::changed(const ImDrawData& frame) {
    const Part all{{0, 0}, frame.DisplaySize};
    const int columns = static_cast<int>(std::ceil(all.b.x / kSquare)), rows = static_cast<int>(std::ceil(all.b.y / kSquare));
    std::vector<std::uint64_t> now(static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows), 0);
    for (int l = 0; l < frame.CmdListsCount; ++l)
        for (const ImDrawCmd& c : frame.CmdLists[l]->CmdBuffer) add_command(*frame.CmdLists[l], c, {now, columns, rows});
    const bool known = columns == columns_ && rows == rows_ && size_.x == all.b.x && size_.y == all.b.y && squares_.size() == now.size();
    std::vector<char> different(now.size());
    for (std::size_t i = 0; known && i < now.size(); ++i) different[i] = now[i] != squares_[i];
    squares_ = std::move(now), columns_ = columns, rows_ = rows, size_ = all.b;
    if (!known) return {all};
    auto parts = parts_of(different, columns, rows);
    join(parts);
    for (auto& p : parts) p.b = {std::min(p.b.x, all.b.x), std::min(p.b.y, all.b.y)};
    return parts;
}

}  // namespace canalogue::editor
