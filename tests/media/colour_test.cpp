// Check values: YCbCr of RGB triples under BT.601 and BT.709, limited range, computed from the
// matrices of ITU-R BT.601 and BT.709; 8-bit limited levels as in ITU-T H.273.
#include <catch2/catch.hpp>

#include "app/media/frame_reader.hpp"
#include "tests/media/device_files.hpp"

using namespace canalogue;
using namespace canalogue::media;
using namespace canalogue::test;

namespace {

struct Row {
    int r, g, b;
    int y601, cb601, cr601, y709, cb709, cr709;
};

const std::vector<Row> kRows{{255, 0, 0, 81, 90, 240, 63, 102, 240},
                             {0, 255, 0, 145, 54, 34, 173, 42, 26},
                             {0, 0, 255, 41, 240, 110, 32, 240, 118},
                             {128, 128, 128, 126, 128, 128, 126, 128, 128},
                             {200, 120, 100, 138, 107, 165, 132, 111, 164}};

std::shared_ptr<AVFrame> flat(int y, int cb, int cr, AVColorSpace space, AVColorRange range, AVPixelFormat format = AV_PIX_FMT_YUV420P) {
    auto frame = std::shared_ptr<AVFrame>(make_frame(format, {64, 48}).release(), LibavDelete{});
    frame->colorspace = space;
    frame->color_range = range;
    const int value[3] = {y, cb, cr};
    const int rows[3] = {48, format == AV_PIX_FMT_YUV420P ? 24 : 48, format == AV_PIX_FMT_YUV420P ? 24 : 48};
    for (int p = 0; p < 3; ++p)
        for (int row = 0; row < rows[p]; ++row)
            std::fill_n(frame->data[p] + row * frame->linesize[p], frame->linesize[p], static_cast<std::uint8_t>(value[p]));
    return frame;
}

int channel(const RgbPicture& p, int c) { return p.pixels[static_cast<std::size_t>((20 * p.size.w + 20) * 3 + c)]; }

}  // namespace

TEST_CASE("Colour matrix and range are honoured when pictures become RGB") {
    for (const auto& row : kRows) {
        CAPTURE(row.r, row.g, row.b);
        RgbConverter converter;
        auto p601 = converter.convert({flat(row.y601, row.cb601, row.cr601, AVCOL_SPC_SMPTE170M, AVCOL_RANGE_MPEG), {}}, Rotation::none);
        auto p709 = converter.convert({flat(row.y709, row.cb709, row.cr709, AVCOL_SPC_BT709, AVCOL_RANGE_MPEG), {}}, Rotation::none);
        REQUIRE(p601.ok());
        REQUIRE(p709.ok());
        // One code of YCbCr is worth up to 1.164 * 2.13 codes of blue, hence 3.
        for (const auto* p : {&*p601, &*p709}) {
            CHECK(std::abs(channel(*p, 0) - row.r) <= 3);
            CHECK(std::abs(channel(*p, 1) - row.g) <= 3);
            CHECK(std::abs(channel(*p, 2) - row.b) <= 3);
        }
    }
}

TEST_CASE("A film picture is BT.709 limited whatever the source was") {
    for (const auto& row : kRows) {
        CAPTURE(row.r, row.g, row.b);
        FilmConverter converter;
        auto out = converter.convert(*flat(row.y601, row.cb601, row.cr601, AVCOL_SPC_SMPTE170M, AVCOL_RANGE_MPEG), Rotation::none, {64, 48});
        REQUIRE(out.ok());
        CHECK(std::abs((*out)->data[0][20 * (*out)->linesize[0] + 20] - row.y709) <= 1);
        CHECK(std::abs((*out)->data[1][10 * (*out)->linesize[1] + 10] - row.cb709) <= 1);
        CHECK(std::abs((*out)->data[2][10 * (*out)->linesize[2] + 10] - row.cr709) <= 1);
    }
}

TEST_CASE("Full-range sources are brought to limited range") {
    FilmConverter converter;
    auto black = converter.convert(*flat(0, 128, 128, AVCOL_SPC_BT709, AVCOL_RANGE_JPEG), Rotation::none, {64, 48});
    auto white = converter.convert(*flat(255, 128, 128, AVCOL_SPC_BT709, AVCOL_RANGE_JPEG), Rotation::none, {64, 48});
    REQUIRE(black.ok());
    REQUIRE(white.ok());
    CHECK((*black)->data[0][0] == 16);
    CHECK((*white)->data[0][0] == 235);
}

TEST_CASE("Unspecified colour is guessed by height, and the JPEG formats are full range") {
    auto small = flat(0, 128, 128, AVCOL_SPC_UNSPECIFIED, AVCOL_RANGE_UNSPECIFIED);
    CHECK(colour_of(*small) == Colour{Colour::Matrix::bt601, false});
    small->height = 720;
    CHECK(colour_of(*small) == Colour{Colour::Matrix::bt709, false});
    small->format = AV_PIX_FMT_YUVJ420P;
    CHECK(colour_of(*small) == Colour{Colour::Matrix::bt601, true});
}

TEST_CASE("A rotated recording is turned upright, and boxes follow") {
    // A film whose top left quarter is white, stored lying on its side.
    TempFolder folder;
    const auto path = make_turned(folder, "turned.mp4",
        "-f lavfi -i color=black:size=160x120:rate=5:duration=1 "
        "-vf drawbox=x=0:y=0:w=80:h=60:color=white:t=fill -c:v libx264 -preset fast");
    // Source: the ffmpeg program's own automatic rotation.
    make_media(folder / "upright.rgb", "-i '" + path.string() + "' -frames:v 1 -pix_fmt rgb24 -f rawvideo");
    const std::string outside = read_file(folder / "upright.rgb");
    auto reader = FrameReader::open(path);
    REQUIRE(reader.ok());
    REQUIRE(reader->facts().rotation != Rotation::none);
    auto picture = reader->next();
    REQUIRE((picture.ok() && *picture));
    RgbConverter converter;
    auto rgb = converter.convert(**picture, reader->facts().rotation);
    REQUIRE(rgb.ok());
    REQUIRE(rgb->size == Size{120, 160});
    REQUIRE(outside.size() == rgb->pixels.size());
    UprightBox white{};
    for (int y = 2; y < rgb->size.h; y += 8)
        for (int x = 2; x < rgb->size.w; x += 8) {
            const auto i = static_cast<std::size_t>(y * rgb->stride() + x * 3);
            const bool ours = rgb->pixels[i] > 128, theirs = static_cast<std::uint8_t>(outside[i]) > 128;
            CAPTURE(x, y);
            REQUIRE(ours == theirs);
            if (ours) white = hull(white, UprightBox{x, y, 1, 1});
        }
    const StoredBox stored = stored_from_upright(white, reader->facts().stored, reader->facts().rotation);
    CHECK(StoredBox{0, 0, 80, 60}.holds(stored));
    CHECK(stored.area() > 60 * 45);
}
