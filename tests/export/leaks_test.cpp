// Leaks planted one at a time: each is caught, and the film without it passes. See check_test.cpp for those in tags,
// streams and texts.
#include <catch2/catch.hpp>

#include "export/canvas.hpp"
#include "export/check.hpp"
#include "export/flashes.hpp"
#include "tests/export/clean_film.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

const char* const kFont = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf";

bool caught(const fs::path& place) {
    CheckOptions options;
    options.known_identifiers = {"Greta Tidewell"};
    auto report = check_export(place, options, {});
    REQUIRE(report.ok());
    INFO(report_table(*report));
    return !report->passed();
}

// The clean film with words drawn into it; `when`: an ffmpeg expression of the frame's number.
fs::path film_saying(const TempFolder& folder, const std::string& name, const std::string& words, const std::string& place, const std::string& look, const std::string& when = "1") {
    const std::string plain = "-i '" + clean_film(folder).string() + "' -vf \"drawtext=fontfile=" + kFont + ":text='" + words + "':" + place + ":" + look + ":enable='" + when + "'\" ";
    return make_media(folder / name, plain + "-c:v libx264 -preset ultrafast -bsf:v filter_units=remove_types=6 -c:a copy -map_metadata -1 -map_chapters -1 -fflags +bitexact -flags:v +bitexact");
}

bool name_read(const fs::path& film) {
    CheckOptions options;
    options.known_identifiers = {"Greta Tidewell"};
    auto report = check_export(film, options, {});
    REQUIRE(report.ok());
    for (const auto& look : report->looks)
        for (const auto& p : look.places)
            if (look.name.find("Text in pictures") == 0 && p.what.find("known identifier") != std::string::npos) return true;
    return false;
}

// An export folder with one clean film, to plant something beside it.
struct Folder {
    Folder() {
        fs::create_directories(place);
        fs::copy_file(clean_film(folder), place / "clip.mp4");
    }
    TempFolder folder;
    fs::path place = folder / "export";
};

}  // namespace

TEST_CASE("A name that flashes for two frames is read") {
    TempFolder folder;
    CHECK(name_read(film_saying(folder, "flash.mp4", "Greta Tidewell", "x=400:y=300", "fontsize=48:fontcolor=white", "between(n,31,32)")));
    CHECK_FALSE(name_read(film_saying(folder, "none.mp4", "no words of note", "x=400:y=300", "fontsize=48:fontcolor=white", "between(n,31,32)")));
}

TEST_CASE("A name that moves through the picture is read") {
    TempFolder folder;
    CHECK(name_read(film_saying(folder, "moving.mp4", "Greta Tidewell", "x=100+8*n:y=300", "fontsize=44:fontcolor=white")));
}

namespace {
// How often something is told of 40 frames of stripes that move by so many pixels a frame, with a bright block in two of them.
int flashes_told(double moves, bool block) {
    Flashes flashes;
    int told = 0;
    for (int i = 0; i < 40; ++i) {
        media::FramePtr frame = media::make_frame(AV_PIX_FMT_YUV420P, {640, 360});
        fill_frame(*frame, {100, 100, 100});
        for (int y = 0; y < 360; ++y)
            for (int x = 0; x < 640; ++x) frame->data[0][y * frame->linesize[0] + x] = static_cast<std::uint8_t>(100 + (x + static_cast<int>(moves * i)) % 64);
        if (block && (i == 20 || i == 21))
            for (int y = 100; y < 132; ++y) std::fill_n(frame->data[0] + y * frame->linesize[0] + 200, 160, std::uint8_t{235});
        const auto flash = flashes.see({std::shared_ptr<AVFrame>(frame.release(), media::LibavDelete{}), {i * 40 * kMillisecond}});
        if (!flash) continue;
        ++told;
        CHECK((flash->time.ns == 20 * 40 * kMillisecond || flash->time.ns == 21 * 40 * kMillisecond));
    }
    return told;
}
}  // namespace

TEST_CASE("What only moves or stays is no flash, what stands for a few frames is one") {
    CHECK(flashes_told(0, false) == 0);
    CHECK(flashes_told(3, false) == 0);
    CHECK(flashes_told(0, true) >= 1);
    CHECK(flashes_told(0.25, true) >= 1);
}

TEST_CASE("A still or a poster with a name in it is caught, and so is what its file says") {
    Folder f;
    CHECK_FALSE(caught(f.place));
    const std::string paint = "-f lavfi -i color=0x806050:s=1280x720 -frames:v 1 ";
    make_media(f.place / "poster.jpg", paint + "-vf \"drawtext=fontfile=" + kFont + ":text='Greta Tidewell':x=300:y=300:fontsize=60:fontcolor=white\"");
    CHECK(caught(f.place));
    // A comment, as ffmpeg writes one by itself, in a still that shows nothing.
    make_media(f.place / "poster.jpg", paint + "-metadata comment=x");
    CHECK(caught(f.place));
    const std::string jpeg = read_file(f.place / "poster.jpg");
    const std::size_t at = jpeg.find("\xFF\xFE");
    REQUIRE(at != std::string::npos);
    const std::size_t length = static_cast<std::uint8_t>(jpeg[at + 2]) * 256u + static_cast<std::uint8_t>(jpeg[at + 3]);
    const std::string clean = jpeg.substr(0, at) + jpeg.substr(at + 2 + length);
    write_file(f.place / "poster.jpg", clean);
    CHECK_FALSE(caught(f.place));
    write_file(f.place / "poster.jpg", clean + "scope 0815");
    CHECK(caught(f.place));
    fs::remove(f.place / "poster.jpg");
    write_file(f.place / "page.pdf", "%PDF-1.4\n1 0 obj << /Author (R. Quayle-Test) >> endobj\n%%EOF\n");
    CHECK(caught(f.place));
}
