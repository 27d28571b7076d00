// Two pictures in one frame: what of each is shown, and how large.
#include "export/passage_pictures.hpp"
#include "tests/export/small_clip.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

constexpr Size kRoom{1280, 624};

// A white disc as high as the picture in its middle, on black.
std::string disc(int w, int h) {
    const std::string side = std::to_string(std::min(w, h) / 2);
    return "-f lavfi -i \"color=black:s=" + std::to_string(w) + "x" + std::to_string(h) + ":r=25:d=1,format=gray,geq=lum='if(lt(hypot(X-W/2,Y-H/2)," + side + "),235,16)',format=yuv420p\" -c:v ffv1 -g 1";
}

ShownPictures shown(const SmallClip& clip) {
    const Schedule laid = clip.schedule();
    PassagePictures pictures(clip.sources, kRoom);
    auto got = pictures.at(std::get<Passage>(clip.plan.items[0]), laid.piece_at(3), 3);
    REQUIRE(got.ok());
    REQUIRE(got->beside);
    return *got;
}

bool white(const AVFrame& f, int x, int y) { return f.data[0][y * f.linesize[0] + x] > 200; }

// Width and height of what is white along the lines through the middle.
Size white_size(const AVFrame& f) {
    Size out;
    for (int x = 0; x < f.width; ++x) out.w += white(f, x, f.height / 2);
    for (int y = 0; y < f.height; ++y) out.h += white(f, f.width / 2, y);
    return out;
}

}  // namespace

TEST_CASE("Two pictures that fill their rooms are larger, round things stay round, and what they show of the recording is told") {
    TempFolder folder;
    struct Case {
        Size size;
        double larger;  // at least so many times
    };
    for (const auto& [size, larger] : {Case{{640, 360}, 1.4}, Case{{320, 240}, 1.08}, Case{{360, 640}, 1.4}}) {
        INFO(size.w << "x" << size.h);
        SmallClip clip(folder, disc(size.w, size.h));
        auto& passage = clip.passage(0, 0.8);
        passage.beside = Beside{"", "r1", Ear::left, at(0), at(0), "Before", "After"};
        const ShownPictures fitted = shown(clip);
        clip.passage_of(0).beside->fill = true;
        const ShownPictures filled = shown(clip);
        const Size room = cut_beside(room_beside(kRoom));
        for (const auto* frame : {filled.picture.frame.get(), filled.beside->frame.get()}) {
            CHECK(frame->width <= room.w);
            CHECK(frame->height <= room.h);
        }
        const Size before = white_size(*fitted.picture.frame), now = white_size(*filled.picture.frame);
        CHECK(std::max(now.w, now.h) > larger * before.h);
        if (size.w > size.h) CHECK(std::abs(now.w - now.h) <= 4);  // of a tall picture the disc itself is cut
        // Square pixels: the part that is shown has the shape of what shows it.
        const double share = filled.window.w * size.w / (filled.window.h * size.h), frame = static_cast<double>(filled.picture.frame->width) / filled.picture.frame->height;
        CHECK(share == Approx(frame).epsilon(0.01));
        CHECK(filled.window.x + filled.window.w / 2 == Approx(0.5));
        CHECK(filled.window.y + filled.window.h / 2 == Approx(0.5));
        CHECK(filled.window.w >= 0.49);
        CHECK(filled.window.h >= 0.49);
        CHECK(fitted.window == ShareBox{});
    }
}
