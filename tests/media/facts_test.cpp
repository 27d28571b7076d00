#include <catch2/catch.hpp>

#include "app/media/deinterlace.hpp"
#include "app/media/fields.hpp"
#include "app/media/file_hash.hpp"
#include "app/media/frame_reader.hpp"
#include "tests/media/device_files.hpp"

using namespace canalogue;
using namespace canalogue::media;
using namespace canalogue::test;

TEST_CASE("Facts tell size, rotation, rate, interlacing and sound") {
    TempFolder folder;
    auto facts = [&](std::size_t i) {
        auto reader = FrameReader::open(make_device_file(folder, device_files()[i]));
        REQUIRE(reader.ok());
        return reader->facts();
    };
    const auto mp4 = facts(0);
    CHECK(mp4.codec == "h264");
    CHECK(mp4.stored == Size{320, 240});
    CHECK(mp4.frames_per_second == Approx(25));
    REQUIRE(mp4.sound);
    CHECK(mp4.sound->rate == 48000);
    const auto turned = facts(7);
    CHECK(turned.rotation != Rotation::none);
    CHECK(turned.upright() == Size{240, 320});
    CHECK(turned.pixel_format == "yuv420p10le");
    CHECK_FALSE(turned.sound);
    CHECK(facts(10).interlaced);
}

TEST_CASE("Every tag, chapter and name a file carries is listed") {
    TempFolder folder;
    write_file(folder / "chapters.txt", ";FFMETADATA1\ntitle=Brackwater A\ncomment=TEST 0048213\n[CHAPTER]\nTIMEBASE=1/1000\nSTART=0\nEND=1000\ntitle=Mr Brackwater comes in\n");
    const auto path = make_media(folder / "Brackwater right.mkv",
        "-f lavfi -i testsrc2=size=64x48:duration=1 -i '" + (folder / "chapters.txt").string() +
        "' -map_metadata 1 -metadata:s:v:0 title='Harbour scope 3' -c:v ffv1");
    auto fields = fields_of(path);
    REQUIRE(fields.ok());
    auto has = [&](const std::string& part, const std::string& value) {
        for (const auto& f : *fields)
            if (f.name.find(part) != std::string::npos && f.value.find(value) != std::string::npos) return true;
        return false;
    };
    CHECK(has("file: name", "Brackwater right.mkv"));
    CHECK(has("container: ", "Brackwater A"));
    CHECK(has("container: ", "TEST 0048213"));
    CHECK(has("stream 0: ", "Harbour scope 3"));
    CHECK(has("chapter 1: ", "Mr Brackwater comes in"));
}

TEST_CASE("The hash of a file is its SHA-256") {
    TempFolder folder;
    write_file(folder / "abc", "abc");
    auto hash = hash_file(folder / "abc", {});
    REQUIRE(hash.ok());
    // Source: FIPS 180-4 example "abc".
    CHECK(*hash == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(hash_bytes("abc") == *hash);
}

TEST_CASE("Deinterlacing gives one progressive picture for each interlaced one, at its time") {
    TempFolder folder;
    auto reader = FrameReader::open(make_device_file(folder, device_files()[10]));
    REQUIRE(reader.ok());
    Deinterlacer deinterlacer;
    std::vector<RecordingTime> in, out;
    auto keep = [&](Result<std::vector<Picture>> pictures) {
        REQUIRE(pictures.ok());
        for (const auto& p : *pictures) {
            CHECK_FALSE(p.interlaced());
            out.push_back(p.time);
        }
    };
    for (int i = 0; i < 20; ++i) {
        auto next = reader->next();
        REQUIRE((next.ok() && *next));
        in.push_back((*next)->time);
        keep(deinterlacer.push(**next));
    }
    keep(deinterlacer.drain());
    CHECK(in == out);
}
