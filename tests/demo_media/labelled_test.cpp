// The truth of labelled sessions is what their pictures show.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <set>

#include "app/media/frame_reader.hpp"
#include "demo_media/labelled/design.hpp"
#include "demo_media/labelled/labelled.hpp"
#include "tests/support/media_files.hpp"

using namespace canalogue;
using namespace canalogue::test;
using demo::labelled::design_of;
using demo::labelled::make_labelled;
using nlohmann::json;

namespace {

std::vector<media::Picture> frames_of(const fs::path& file) {
    auto reader = media::FrameReader::open(file);
    REQUIRE(reader.ok());
    std::vector<media::Picture> out;
    for (;;) {
        auto picture = reader->next();
        REQUIRE(picture.ok());
        if (!*picture) return out;
        out.push_back(**picture);
    }
}

}  // namespace

TEST_CASE("The same seed draws the same session, each frame has its labels, and interlaced frames say so") {
    TempFolder folder;
    const auto first = make_labelled(folder / "a", {5, 3, false, false}, {}), again = make_labelled(folder / "b", {5, 3, false, false}, {});
    REQUIRE(first.ok());
    REQUIRE(again.ok());
    CHECK(read_file(first->truth) == read_file(again->truth));
    const auto recording = frames_of(first->recording), labels = frames_of(first->labels);
    CHECK(recording.size() == labels.size());
    CHECK(recording.size() == json::parse(read_file(first->truth))["frames"].get<std::size_t>());
    CHECK(recording[4].interlaced());
}

TEST_CASE("The box of a still text is tight around its labelled pixels, and an irregular recording has irregular times") {
    TempFolder folder;
    const auto made = make_labelled(folder / "a", {8, 3, false, false}, {});
    REQUIRE(made.ok());
    const json truth = json::parse(read_file(made->truth));
    const auto labels = frames_of(made->labels);
    // The last frame that each text shows in holds a mark on all four sides of its box.
    std::size_t looked = 0;
    for (const auto& text : truth["text"]) {
        if (text["way"] != "still" || text["boxes"].size() != 1) continue;
        const json b = text["boxes"][0];
        const auto& f = *labels.back().frame;
        const auto marked = [&](int x, int y) { return f.data[0][y * f.linesize[0] + x] == 1; };
        const int x0 = b["x"], y0 = b["y"], x1 = x0 + b["w"].get<int>(), y1 = y0 + b["h"].get<int>();
        bool left = false, right = false, top = false, bottom = false;
        for (int y = y0; y < y1; ++y) left = left || marked(x0, y), right = right || marked(x1 - 1, y);
        for (int x = x0; x < x1; ++x) top = top || marked(x, y0), bottom = bottom || marked(x, y1 - 1);
        CHECK((left && right && top && bottom));
        ++looked;
    }
    CHECK(looked > 0);
    // This one is irregular: its frames do not come evenly.
    std::set<Nanos> steps;
    const auto frames = frames_of(made->recording);
    for (std::size_t i = 1; i < frames.size(); ++i) steps.insert((frames[i].time - frames[i - 1].time) / kMillisecond / 3);
    CHECK(steps.size() > 1);
}

TEST_CASE("Forty seeds hold every size, container, rim, way of writing and kind of time") {
    std::set<std::string> seen;
    for (std::uint64_t seed = 101; seed <= 140; ++seed) {
        const auto d = design_of(seed, 20, seed > 130);
        seen.insert(d.container);
        seen.insert("lines " + std::to_string(d.size.height));
        if (d.interlaced) seen.insert("interlaced");
        if (d.irregular) seen.insert("irregular");
        if (!d.sound) seen.insert("silent");
        for (const auto& word : d.look.words()) seen.insert(word);
        for (const auto& w : d.writings) seen.insert(std::string(name_of(w.way))), seen.insert(std::string(name_of(w.ink)));
        for (const auto& a : d.away)
            if (a.span.end - a.span.start < 1.6) seen.insert("fast");
    }
    for (const char* wanted : {"mkv", "mp4", "mov", "avi", "lines 480", "lines 576", "lines 720", "lines 1080", "interlaced", "irregular", "silent", "no rim", "rim partly out of frame", "side vignette", "brown cast",
                               "blue cast", "over-exposed", "dark", "blood", "water", "bubbles", "soft", "sharpened", "clock", "fading", "sliding", "brief", "scrolling", "turned", "outlined", "shadowed", "boxed", "half transparent", "near-black", "fast"}) {
        INFO(wanted);
        CHECK(seen.count(wanted) == 1);
    }
}
