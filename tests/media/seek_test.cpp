#include <catch2/catch.hpp>

#include <cstring>
#include <random>
#include <sstream>

#include "app/media/file_hash.hpp"
#include "app/media/frame_reader.hpp"
#include "tests/media/device_files.hpp"

extern "C" {
#include <libavutil/imgutils.h>
#include <libavutil/md5.h>
}

using namespace canalogue;
using namespace canalogue::media;
using namespace canalogue::test;

namespace {

// The planes without padding, as ffmpeg's framemd5 sees them.
std::string planes(const Picture& p) {
    const auto format = static_cast<AVPixelFormat>(p.frame->format);
    const int size = av_image_get_buffer_size(format, p.frame->width, p.frame->height, 1);
    std::string bytes(static_cast<std::size_t>(size), '\0');
    av_image_copy_to_buffer(reinterpret_cast<std::uint8_t*>(bytes.data()), size, p.frame->data,
                            p.frame->linesize, format, p.frame->width, p.frame->height, 1);
    return bytes;
}

std::string md5(const std::string& bytes) {
    std::uint8_t digest[16];
    av_md5_sum(digest, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
    std::string hex;
    for (std::uint8_t b : digest) {
        char two[3];
        std::snprintf(two, sizeof two, "%02x", b);
        hex += two;
    }
    return hex;
}

struct Decoded {
    RecordingTime time;
    std::string md5;
};

std::vector<Decoded> decode_straight(const fs::path& file) {
    auto reader = FrameReader::open(file);
    REQUIRE(reader.ok());
    std::vector<Decoded> all;
    for (;;) {
        auto next = reader->next();
        REQUIRE(next.ok());
        if (!*next) return all;
        all.push_back({(*next)->time, md5(planes(**next))});
    }
}

std::vector<std::string> framemd5(const fs::path& file) {
    const std::string out = run("ffmpeg -nostdin -v error -noautorotate -i '" + file.string() +
                                "' -map 0:v:0 -fps_mode passthrough -f framemd5 -");
    std::vector<std::string> sums;
    std::istringstream lines(out);
    for (std::string line; std::getline(lines, line);)
        if (!line.empty() && line[0] != '#') sums.push_back(line.substr(line.rfind(',') + 2));
    return sums;
}

}  // namespace

TEST_CASE("Every frame reached by seeking equals the frame of straight decoding, which equals ffmpeg's own") {
    TempFolder folder;
    const auto file = GENERATE(from_range(device_files()));
    CAPTURE(file.name, file.what);
    const fs::path path = make_device_file(folder, file);

    const auto straight = decode_straight(path);
    const auto outside = framemd5(path);  // source: the ffmpeg program, framemd5 muxer
    REQUIRE(straight.size() == outside.size());
    for (std::size_t i = 0; i < straight.size(); ++i) {
        CAPTURE(i);
        REQUIRE(straight[i].md5 == outside[i]);
    }

    auto index = FrameIndex::build(path, {});
    REQUIRE(index.ok());
    REQUIRE(index->size() == straight.size());
    auto reader = FrameReader::open(path);
    REQUIRE(reader.ok());
    reader->use_index(std::make_shared<FrameIndex>(*index));

    constexpr unsigned kSeed = 20260304;
    std::mt19937 random(kSeed);
    for (int n = 0; n < 200; ++n) {
        const std::size_t i = random() % straight.size();
        // Any instant while the frame is shown finds it.
        const RecordingTime from = index->time(i);
        const RecordingTime until = i + 1 < index->size() ? index->time(i + 1) : index->end();
        const RecordingTime t{from.ns + static_cast<Nanos>(random() % static_cast<std::uint64_t>(until - from))};
        CAPTURE(n, i, t.ns, kSeed);
        auto picture = reader->at(t);
        REQUIRE(picture.ok());
        REQUIRE(picture->time == from);
        REQUIRE(md5(planes(*picture)) == straight[i].md5);
    }
}

TEST_CASE("Straight decoding and the index agree on when frames are shown") {
    TempFolder folder;
    for (const auto& file : device_files()) {
        if (file.name == "asp.avi") continue;  // labels there are made while decoding; see the index's own rule
        const fs::path path = make_device_file(folder, file);
        CAPTURE(file.name);
        const auto straight = decode_straight(path);
        auto index = FrameIndex::build(path, {});
        REQUIRE(index.ok());
        REQUIRE(index->size() == straight.size());
        for (std::size_t i = 0; i < straight.size(); ++i) REQUIRE(index->time(i) == straight[i].time);
    }
}

TEST_CASE("What is cut where a span's pictures cease to be shown shows none of them, however unevenly they follow each other") {
    TempFolder folder;
    for (const auto& file : device_files()) {
        if (file.name != "vfr.mp4" && file.name != "odd.mkv" && file.name != "cut.mp4") continue;
        CAPTURE(file.name);
        auto index = FrameIndex::build(make_device_file(folder, file), {});
        REQUIRE(index.ok());
        std::mt19937 random(20261127);
        for (int n = 0; n < 200; ++n) {
            const RecordingTime start{static_cast<Nanos>(random() % static_cast<std::uint64_t>(index->end().ns))};
            const RecordingSpan part{start, start + static_cast<Nanos>(1 + random() % (2 * kSecond))};
            const RecordingSpan out = index->shown_within(part);
            CAPTURE(n, part.start.ns, part.end.ns, out.start.ns, out.end.ns);
            REQUIRE((out.start <= part.start && out.end >= part.end));
            for (std::size_t i = 0; i < index->size(); ++i) REQUIRE(index->shown(i).meets(part) == index->shown(i).meets(out));
            // No moment outside shows a picture of the span, and nothing more was taken than those pictures.
            if (out.end < index->end()) REQUIRE(index->time(index->at(out.end)) == out.end);
            REQUIRE((out.start == part.start || out.start == index->time(index->at(part.start))));
        }
    }
}

TEST_CASE("An index comes back from its cache file unchanged, and a damaged cache file is not believed") {
    TempFolder folder;
    const auto path = make_device_file(folder, device_files()[0]);
    auto index = FrameIndex::build(path, {});
    REQUIRE(index.ok());
    const fs::path cache = folder / "a.index";
    REQUIRE(index->save(cache).ok());
    auto back = FrameIndex::load(cache);
    REQUIRE(back);
    REQUIRE(back->size() == index->size());
    for (std::size_t i = 0; i < back->size(); ++i) {
        REQUIRE((*back)[i] == (*index)[i]);
        REQUIRE(back->time(i) == index->time(i));
    }
    CHECK(back->end() == index->end());

    std::string bytes = read_file(cache);
    write_file(cache, bytes.substr(0, bytes.size() - 1));
    CHECK_FALSE(FrameIndex::load(cache));
    bytes[0] ^= 1;
    write_file(cache, bytes);
    CHECK_FALSE(FrameIndex::load(cache));
}

TEST_CASE("A file cut off in the middle is used up to its last frame, and the loss is stated") {
    TempFolder folder;
    const auto whole = make_media(folder / "whole.mkv",
        "-f lavfi -i testsrc2=size=320x240:rate=25:duration=10 -c:v libx264 -preset fast -g 25");
    std::string bytes = read_file(whole);
    write_file(folder / "cut.mkv", bytes.substr(0, bytes.size() * 6 / 10));
    auto index = FrameIndex::build(folder / "cut.mkv", {});
    REQUIRE(index.ok());
    const double end = index->end().seconds(), lost = static_cast<double>(index->lost()) / kSecond;
    CHECK(end > 3);
    CHECK(end < 9);
    CHECK(end + lost == Approx(10).margin(0.1));

    auto reader = FrameReader::open(folder / "cut.mkv");
    REQUIRE(reader.ok());
    reader->use_index(std::make_shared<FrameIndex>(*index));
    CHECK(reader->frame(index->size() - 1).ok());
}

TEST_CASE("What cannot be used is refused with a sentence that does not quote the file's name") {
    TempFolder folder;
    write_file(folder / "Brackwater.mp4", "");
    write_file(folder / "Brackwater2.mp4", std::string(5000, 'x'));
    make_media(folder / "Brackwater3.wav", "-f lavfi -i sine=duration=1");
    const auto whole = make_device_file(folder, device_files()[0]);
    // A plain MP4 has its table of frames at the end: cut off, nothing can be found in it.
    write_file(folder / "Brackwater4.mp4", read_file(whole).substr(0, 20000));
    for (const char* name : {"Brackwater.mp4", "Brackwater2.mp4", "Brackwater3.wav", "Brackwater4.mp4", "Brackwater5.mp4"}) {
        auto reader = FrameReader::open(folder / name);
        CAPTURE(name);
        REQUIRE_FALSE(reader.ok());
        CHECK(reader.failure().trouble == Trouble::bad_media);
        CHECK(reader.failure().sentence.find("Brackwater") == std::string::npos);
        CHECK(reader.failure().sentence.back() == '.');
    }
}

TEST_CASE("Indexing stops when asked") {
    TempFolder folder;
    const auto path = make_device_file(folder, device_files()[0]);
    std::atomic<bool> stop{true};
    Progress progress;
    progress.stop = &stop;
    auto index = FrameIndex::build(path, progress);
    REQUIRE_FALSE(index.ok());
    CHECK(index.failure().trouble == Trouble::cancelled);
}
