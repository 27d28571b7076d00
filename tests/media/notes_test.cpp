// Notes inside streams, written by the ffmpeg program.
#include <catch2/catch.hpp>

#include <algorithm>

#include "app/media/fields.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

bool told(const fs::path& file, const std::string& name, const std::string& words) {
    auto fields = media::fields_of(file);
    REQUIRE(fields.ok());
    return std::any_of(fields->begin(), fields->end(), [&](const media::FileField& f) { return f.name == name && f.value.find(words) != std::string::npos; });
}

const std::string kPicture = "-f lavfi -i testsrc2=s=320x240:r=25:d=1 ";

}  // namespace

TEST_CASE("A note that a device wrote into the pictures is a field of the file: an encoder's settings are not") {
    TempFolder folder;
    const std::string sei = "-c:v libx264 -pix_fmt yuv420p -bsf:v h264_metadata=sei_user_data=086f3693-b7b3-4f2c-9653-21492feee5b8+Tidewell-TEST ";
    CHECK(told(make_media(folder / "note.mp4", kPicture + sei), "stream 0: note in pictures", "Tidewell-TEST"));
    CHECK(told(make_media(folder / "note.ts", kPicture + sei), "stream 0: note in pictures", "Tidewell-TEST"));
    auto plain = media::fields_of(make_media(folder / "plain.mp4", kPicture + "-c:v libx264 "));
    REQUIRE(plain.ok());
    for (const auto& f : *plain) CHECK(f.name.find("note in pictures") == std::string::npos);
}

TEST_CASE("Comments of JPEG pictures and words of subtitles are fields of the file") {
    TempFolder folder;
    const fs::path film = make_media(folder / "film.avi", kPicture + "-frames:v 3 -c:v mjpeg -pix_fmt yuvj420p ");
    // A comment of the same length as the one the encoder wrote, so that the file stays sound.
    std::string bytes = read_file(film);
    const std::size_t at = bytes.find("\xFF\xFE");
    REQUIRE(at != std::string::npos);
    const std::size_t room = static_cast<std::uint8_t>(bytes[at + 2]) * 256u + static_cast<std::uint8_t>(bytes[at + 3]) - 2;
    std::string words = "TEST Tidewell G 0048213";
    words.resize(room, '.');
    write_file(film, bytes.replace(at + 4, room, words));
    CHECK(told(film, "stream 0: comment in pictures", words.substr(0, std::min<std::size_t>(room, 10))));
    write_file(folder / "s.srt", "1\n00:00:00,000 --> 00:00:01,000\nGreta Tidewell-TEST\n");
    CHECK(told(make_media(folder / "film.mkv", kPicture + "-i '" + (folder / "s.srt").string() + "' -c:v libx264 -c:s srt "), "extra stream 1: words", "Tidewell-TEST"));
}
