#include "export/flashes.hpp"

#include <cstdlib>

namespace canalogue::film {

namespace {

constexpr int kCell = 16;      // pixels
constexpr int kAppears = 9;    // of 255: letters change the mean of their cells by so much
constexpr int kAsBefore = 4;
constexpr int kBesideOneAnother = 3;  // cells: a word is longer than a glint

bool is_8_bit_luma(const AVFrame& f) {
    return f.format == AV_PIX_FMT_YUV420P || f.format == AV_PIX_FMT_YUVJ420P || f.format == AV_PIX_FMT_YUV422P || f.format == AV_PIX_FMT_YUVJ422P || f.format == AV_PIX_FMT_YUV444P || f.format == AV_PIX_FMT_NV12;
}

std::vector<std::uint8_t> cells_of(const AVFrame& f, int columns) {
    const int rows = f.height / kCell;
    std::vector<std::uint8_t> out(static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows));
    std::vector<int> sums(static_cast<std::size_t>(columns));
    for (int r = 0; r < rows; ++r) {
        std::fill(sums.begin(), sums.end(), 0);
        for (int y = 0; y < kCell; ++y) {
            const std::uint8_t* line = f.data[0] + static_cast<std::ptrdiff_t>(f.linesize[0]) * (r * kCell + y);
            for (int x = 0; x < columns * kCell; ++x) sums[static_cast<std::size_t>(x / kCell)] += line[x];
        }
        for (int c = 0; c < columns; ++c) out[static_cast<std::size_t>(r * columns + c)] = static_cast<std::uint8_t>(sums[static_cast<std::size_t>(c)] / (kCell * kCell));
    }
    return out;
}

}  // namespace

bool Flashes::flashed(std::size_t first, const std::vector<std::uint8_t>& now) const {
    const auto& before = last_[first - 1].cells;
    const auto& then = last_[first].cells;
    int run = 0;
    for (std::size_t i = 0; i < now.size(); ++i) {
        if (i % static_cast<std::size_t>(columns_) == 0) run = 0;
        const bool there = std::abs(then[i] - before[i]) >= kAppears && std::abs(now[i] - before[i]) <= kAsBefore;
        run = there ? run + 1 : 0;
        if (run >= kBesideOneAnother) return true;
    }
    return false;
}

std::optional<media::Picture> Flashes::see(const media::Picture& picture) {
    if (!is_8_bit_luma(*picture.frame)) return std::nullopt;
    const int columns = picture.frame->width / kCell;
    if (columns != columns_) last_.clear();
    columns_ = columns;
    auto cells = cells_of(*picture.frame, columns);
    std::optional<media::Picture> out;
    for (std::size_t i = 1; i < last_.size() && !out; ++i)
        if (!last_[i].told && last_[i].cells.size() == cells.size() && flashed(i, cells)) out = last_[i].picture, last_[i].told = true;
    last_.push_back({picture, std::move(cells), false});
    if (last_.size() > kLongest + 1) last_.pop_front();
    return out;
}

}  // namespace canalogue::film
