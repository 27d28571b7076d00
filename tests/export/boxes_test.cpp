#include <catch2/catch.hpp>

#include <functional>

#include "export/encoder.hpp"
#include "export/mp4_boxes.hpp"
#include "tests/export/clean_film.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

std::string number(std::uint32_t v) {
    std::string out;
    for (int shift = 24; shift >= 0; shift -= 8) out += static_cast<char>(v >> shift & 255);
    return out;
}

std::string box(const std::string& type, const std::string& body) { return number(static_cast<std::uint32_t>(8 + body.size())) + type + body; }

std::vector<std::string> findings(const fs::path& film) {
    auto found = walk_boxes(film);
    REQUIRE(found.ok());
    std::vector<std::string> out;
    for (const auto& f : *found) out.push_back(f.what + " (" + f.where + ")");
    return out;
}

std::string listed(const std::vector<std::string>& all) {
    std::string out;
    for (const auto& a : all) out += a + "\n";
    return out;
}

// A clean film with its bytes edited.
std::vector<std::string> after(const std::function<void(std::string&)>& edit) {
    TempFolder folder;
    std::string bytes = read_file(clean_film(folder));
    edit(bytes);
    write_file(folder / "edited.mp4", bytes);
    return findings(folder / "edited.mp4");
}

bool names(const std::vector<std::string>& all, const std::string& words) {
    return std::any_of(all.begin(), all.end(), [&](const std::string& a) { return a.find(words) != std::string::npos; });
}

// Where the body of the first box of this type begins.
std::size_t body_of(const std::string& bytes, const std::string& type) {
    const auto at = bytes.find(type);
    REQUIRE(at != std::string::npos);
    return at + 4;
}

void set(std::string& bytes, std::size_t at, const std::string& value) { bytes.replace(at, value.size(), value); }

}  // namespace

TEST_CASE("A film of our own encoder has nothing that could leak") {
    TempFolder folder;
    const auto found = findings(clean_film(folder));
    INFO(listed(found));
    CHECK(found.empty());
    CHECK(is_mp4(clean_film(folder)));
}

TEST_CASE("A date set in any header is found") {
    for (const char* header : {"mvhd", "tkhd", "mdhd"})
        for (std::size_t field : {4u, 8u}) {
            const auto found = after([&](std::string& b) { set(b, body_of(b, header) + field, number(3'850'000'000u)); });
            INFO(header << ": " << listed(found));
            CHECK(names(found, std::string("date")));
            CHECK(names(found, header));
        }
}

TEST_CASE("A handler that bears a name is found") {
    const auto found = after([](std::string& b) { set(b, b.find("VideoHandler"), "BrackwaterCm"); });
    CHECK(names(found, "handler name"));
}

TEST_CASE("User data, foreign boxes and bytes after the end are found") {
    CHECK(names(after([](std::string& b) { b += box("uuid", "0123456789abcdef<x:xmpmeta>Brackwater</x:xmpmeta>"); }), "uuid"));
    CHECK(names(after([](std::string& b) { b += "Brackwater"; }), "bytes that are no box"));
    CHECK(names(after([](std::string& b) { b += "abc"; }), "bytes after the last box"));
    CHECK(names(after([](std::string& b) { b += box("free", "Brackwater"); }), "free space"));
    CHECK(after([](std::string& b) { b += box("free", std::string(100, '\0')); }).empty());
    CHECK(names(after([](std::string& b) { b += box("mdat", "a thumbnail of what was covered"); }), "no track uses"));
    CHECK(names(after([](std::string& b) { b += box("emsg", "x"); }), "emsg"));
    // Inside the movie, where a title would be written.
    const auto titled = after([](std::string& b) {
        const auto moov = b.find("moov") - 4;
        const auto udta = box("udta", box("\xA9nam", std::string("\0\x0A\0\0", 4) + "Brackwater"));
        std::uint32_t size = 0;
        for (std::size_t i = 0; i < 4; ++i) size = size << 8 | static_cast<unsigned char>(b[moov + i]);
        b.insert(moov + size, udta);
        set(b, moov, number(size + static_cast<std::uint32_t>(udta.size())));
    });
    INFO(listed(titled));
    CHECK_FALSE(titled.empty());
}

TEST_CASE("What the ffmpeg program writes into a film by itself or when told is found") {
    TempFolder folder;
    const fs::path clean = clean_film(folder);
    const auto made = [&](const std::string& args, const std::string& name) { return findings(make_media(folder / name, "-i '" + clean.string() + "' -c copy " + args)); };
    CHECK_FALSE(made("-metadata title=Brackwater", "title.mp4").empty());
    CHECK(names(made("-metadata creation_time=2026-03-04T09:15:00Z", "date.mp4"), "date"));
    CHECK_FALSE(made("-metadata comment=x -movflags use_metadata_tags", "tags.mov").empty());
    CHECK_FALSE(made("-metadata location='+51.5-000.1/'", "place.mp4").empty());
    CHECK(names(made("-metadata:s:v handler_name=Brackwater", "handler.mp4"), "handler name"));
    CHECK_FALSE(made("-write_tmcd on -timecode 09:15:00:00", "clock.mov").empty());
    CHECK_FALSE(made("-movflags +frag_keyframe+empty_moov", "fragments.mp4").empty());
}

TEST_CASE("An edit list that hides pictures is found: they are still in the file") {
    TempFolder folder;
    const fs::path clean = clean_film(folder);
    // Cut at a place that is no key frame, without encoding again: the head stays, hidden.
    const auto cut = make_media(folder / "cut.mp4", "-ss 0.9 -i '" + clean.string() + "' -c copy -fflags +bitexact");
    const auto found = findings(cut);
    INFO(listed(found));
    CHECK(names(found, "edit list"));
}

TEST_CASE("An edit list is found by what it leaves unseen at the end as well") {
    // The track lasts two seconds, the list shows a tenth of a second of it.
    const auto found = after([](std::string& b) {
        const auto body = body_of(b, "elst");
        set(b, body + 8, number(100));
    });
    INFO(listed(found));
    CHECK(names(found, "edit list"));
}

TEST_CASE("Broken trees of boxes end in a finding, never in a crash or an endless walk") {
    TempFolder folder;
    const std::string bytes = read_file(clean_film(folder));
    for (std::size_t at = 0; at + 4 < std::min<std::size_t>(bytes.size(), 4000); at += 3) {
        std::string broken = bytes;
        set(broken, at, at % 2 ? number(0xFFFFFFFF) : number(0));
        write_file(folder / "broken.mp4", broken);
        CHECK(walk_boxes(folder / "broken.mp4").ok());
    }
    for (std::size_t size : {0u, 1u, 7u, 8u, 9u, 40u, 1000u}) {
        write_file(folder / "cut.mp4", bytes.substr(0, size));
        CHECK(walk_boxes(folder / "cut.mp4").ok());
    }
    CHECK_FALSE(walk_boxes(folder / "nothing.mp4").ok());
}
