// What lies over what in a frame.
#include <catch2/catch.hpp>
#include <cstring>

#include "export/composer.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

struct Scene {
    explicit Scene(StripStyle strip) {
        recording.id = "r1";
        recording.only = span(0, 10);
        recording.stored = {1280, 720};
        plan.film.captions = CaptionStyle::burnt;
        plan.film.strip = strip;
        Passage p;
        p.recording = "r1", p.span = span(0, 4), p.ear = Ear::right;
        p.labels = {{at(0), at(4), "Drum visible"}};
        plan.items.emplace_back(p);
        schedule = film::schedule(plan, {}, {{}});
        cue.span = {{0}, {4 * kSecond}};
        cue.lines = {"The drum of the right ear", "can be seen."};
    }
    media::FramePtr frame(const std::vector<Cue>& cues) {
        const std::vector<Recording> recordings{recording};
        const std::vector<Event> events;
        Composer composer(plan, schedule, events, recordings, vocabulary, cues, Audience::learners);
        const Size room = composer.picture_room();
        std::shared_ptr<AVFrame> picture(media::make_frame(AV_PIX_FMT_YUV420P, room).release(), media::LibavDelete{});
        fill_frame(*picture, {200, 160, 120});
        ShownPictures shown{{picture, {0}, false}, {}, std::nullopt};
        return composer.compose(10, &shown);
    }
    Recording recording;
    Plan plan;
    Schedule schedule;
    Vocabulary vocabulary = ear_care();
    Cue cue;
};

// The first and last row in which two frames differ; {-1, -1} when they are the same.
std::pair<int, int> rows_that_differ(const AVFrame& a, const AVFrame& b) {
    std::pair<int, int> rows{-1, -1};
    for (int y = 0; y < a.height; ++y) {
        if (std::memcmp(a.data[0] + y * a.linesize[0], b.data[0] + y * b.linesize[0], static_cast<std::size_t>(a.width)) == 0) continue;
        if (rows.first < 0) rows.first = y;
        rows.second = y;
    }
    return rows;
}

}  // namespace

TEST_CASE("Captions are readable above the strip, wherever the strip lies") {
    for (const StripStyle strip : {StripStyle::below, StripStyle::over, StripStyle::off}) {
        Scene scene(strip);
        const auto with = scene.frame({scene.cue}), without = scene.frame({});
        REQUIRE((with && without));
        const auto rows = rows_that_differ(*with, *without);
        const int foot = strip == StripStyle::off ? 720 : 720 - Strip::height_for({1280, 720});
        INFO("rows " << rows.first << " to " << rows.second);
        CHECK(rows.first > 360);
        CHECK(rows.second < foot);
        CHECK(rows.second - rows.first > 60);  // both lines
    }
}

TEST_CASE("A caption leaves a label of one line alone") {
    Scene scene(StripStyle::below), unlabelled(StripStyle::below);
    std::get<Passage>(unlabelled.plan.items[0]).labels.clear();
    const auto label = rows_that_differ(*scene.frame({}), *unlabelled.frame({}));
    const auto caption = rows_that_differ(*unlabelled.frame({scene.cue}), *unlabelled.frame({}));
    INFO("label from row " << label.first << ", caption to row " << caption.second);
    CHECK(caption.second < label.first);
}

TEST_CASE("A caption stands above a label of three lines") {
    Scene scene(StripStyle::below), unlabelled(StripStyle::below);
    std::string text;
    for (int i = 0; i < 22; ++i) text += "words of it ";
    std::get<Passage>(scene.plan.items[0]).labels[0].text = text;
    std::get<Passage>(unlabelled.plan.items[0]).labels.clear();
    const auto label = rows_that_differ(*scene.frame({}), *unlabelled.frame({}));
    const auto caption = rows_that_differ(*scene.frame({scene.cue}), *scene.frame({}));
    INFO("label from row " << label.first << " to " << label.second << ", caption to row " << caption.second);
    REQUIRE(label.second - label.first > 100);
    CHECK(caption.second < label.first);
}

TEST_CASE("A card with many lines shows all of them above the strip, smaller") {
    for (const Size size : {Size{1280, 720}, Size{720, 1280}}) {
        Scene scene(StripStyle::below);
        scene.plan.film.size = size;
        Card card;
        card.title = "What was done";
        for (int i = 0; i < 24; ++i) card.lines.push_back("Line " + std::to_string(i));
        const auto drawn = [&](const std::string& last) {
            card.lines.back() = last;
            scene.plan.items = {card};
            scene.schedule = film::schedule(scene.plan, {}, {{}});
            const std::vector<Event> events;
            Composer composer(scene.plan, scene.schedule, events, {}, scene.vocabulary, {}, Audience::learners);
            return std::pair(composer.compose(0, nullptr), composer.picture_room().h);
        };
        const auto [one, room] = drawn("The last of them");
        const auto [other, same_room] = drawn("Another last");
        const auto rows = rows_that_differ(*one, *other);
        INFO(size.w << "x" << size.h << ": " << rows.first << " to " << rows.second << " of " << room);
        CHECK(rows.first > 0);
        CHECK(rows.second < room - 20);
    }
}

TEST_CASE("Two pictures stand side by side in a wide film, and one over the other in one that is not") {
    const Size wide = room_beside({1280, 624}), square = room_beside({720, 624}), upright = room_beside({720, 1184});
    CHECK((wide.w == 640 && wide.h == 624));
    CHECK((square.w == 720 && 2 * square.h < 624));
    CHECK((upright.w == 720 && 2 * upright.h < 1184));
    for (const Size size : {Size{1280, 720}, Size{720, 720}, Size{720, 1280}}) {
        Scene scene(StripStyle::below);
        scene.plan.film.size = size;
        auto& passage = std::get<Passage>(scene.plan.items[0]);
        passage.labels.clear();
        passage.beside = Beside{"", "r1", Ear::left, at(0), at(0), "Before", "After"};
        const std::vector<Recording> recordings{scene.recording};
        const std::vector<Event> events;
        const std::vector<Cue> cues;
        Composer composer(scene.plan, scene.schedule, events, recordings, scene.vocabulary, cues, Audience::learners);
        const Size room = room_beside(composer.picture_room());
        const int high = std::min(room.h, room.w * 9 / 16) & ~1, across = std::min(room.w, room.h * 16 / 9) & ~1;
        const auto grey = [&](Rgb c) {
            std::shared_ptr<AVFrame> picture(media::make_frame(AV_PIX_FMT_YUV420P, {across, high}).release(), media::LibavDelete{});
            fill_frame(*picture, c);
            return CoveredPicture{picture, {0}, false};
        };
        ShownPictures shown{grey({200, 160, 120}), {}, grey({60, 160, 220})};
        const auto frame = composer.compose(10, &shown);
        // All of both pictures is in the frame but for the names of their sides and words: count what has their colours.
        long first = 0, second = 0;
        for (int y = 0; y < frame->height; ++y)
            for (int x = 0; x < frame->width; ++x) {
                const auto same = [&](const CoveredPicture& p) {
                    return frame->data[0][y * frame->linesize[0] + x] == p.frame->data[0][0] && frame->data[1][y / 2 * frame->linesize[1] + x / 2] == p.frame->data[1][0];
                };
                first += same(shown.picture), second += same(*shown.beside);
            }
        const double all = static_cast<double>(across) * high;
        INFO(size.w << "x" << size.h << ": " << static_cast<double>(first) / all << ", " << static_cast<double>(second) / all);
        CHECK(static_cast<double>(first) > 0.85 * all);
        CHECK(static_cast<double>(second) > 0.85 * all);
    }
}

TEST_CASE("A film says where it shows a close-up, in words beside the side, and not where it shows all") {
    const auto with = [](const CloseUp& close_up) {
        Scene scene(StripStyle::below);
        std::get<Passage>(scene.plan.items[0]).close_up = close_up;
        return scene.frame({});
    };
    const auto plain = Scene(StripStyle::below).frame({});
    const auto marked = with({{0.3, 0.3, 0.4, 0.4}, {}, {}});
    const auto rows = rows_that_differ(*plain, *marked);
    INFO("rows " << rows.first << " to " << rows.second);
    CHECK(rows.first >= 20);
    CHECK(rows.second < 80);
    CHECK(rows.second - rows.first > 20);
    CHECK(rows_that_differ(*plain, *with({{0, 0, 1, 1}, {}, {}})).first == -1);
    // Frame 10 is 0.4 s into the passage: the window has not left the whole picture yet.
    CHECK(rows_that_differ(*plain, *with({{0, 0, 1, 1}, ShareBox{0.3, 0.3, 0.4, 0.4}, span(1, 3)})).first == -1);
}

TEST_CASE("Nothing of the picture shines through the strip that lies over it") {
    Scene scene(StripStyle::over);
    const auto strip_rows = [](const AVFrame& f) {
        std::vector<std::uint8_t> out;
        for (int y = 720 - Strip::height_for({1280, 720}); y < 720; ++y) out.insert(out.end(), f.data[0] + y * f.linesize[0], f.data[0] + y * f.linesize[0] + 1280);
        return out;
    };
    Scene other(StripStyle::below);  // there no picture lies under it
    CHECK(strip_rows(*scene.frame({})) == strip_rows(*other.frame({})));
}

TEST_CASE("In films of every size captions, labels, side and strip are whole and do not lie over one another") {
    for (const Size size : kFilmSizes) {
        INFO(size.w << "x" << size.h);
        const auto scene_of = [&](const std::string& label) {
            Scene scene(StripStyle::below);
            scene.plan.film.size = size;
            auto& labels = std::get<Passage>(scene.plan.items[0]).labels;
            if (label.empty()) labels.clear();
            else labels[0].text = label;
            return scene;
        };
        const auto bare = scene_of("").frame({});
        REQUIRE(bare);
        CHECK(bare->width == size.w);
        CHECK(bare->height == size.h);
        const Cue cue{{{0}, {4 * kSecond}}, {"Thirty-seven letters make up one line", "and as many may stand in the second"}};
        const auto caption = scene_of("").frame({cue}), label = scene_of("Drum visible, all of it, at five o'clock").frame({});
        const int foot = size.h - Strip::height_for(size);
        const auto captioned = rows_that_differ(*caption, *bare), labelled = rows_that_differ(*label, *bare);
        CHECK(captioned.second < labelled.first);
        CHECK(labelled.second < foot);
        // Two lines, not more: narrow films have room for as many letters.
        CHECK(captioned.second - captioned.first < 130 * std::min(size.w, size.h) / 720);
        // Nothing is cut at the sides.
        const auto column = [&](const AVFrame& f, int x) {
            std::vector<std::uint8_t> out;
            for (int y = 0; y < foot; ++y) out.push_back(f.data[0][y * f.linesize[0] + x]);
            return out;
        };
        for (const AVFrame* f : {caption.get(), label.get()})
            for (const int x : {0, size.w - 1}) CHECK(column(*f, x) == column(*bare, x));
    }
}

TEST_CASE("Signs that no font has are noticed") {
    CHECK(Canvas::can_draw("The drum can be seen: 5 o\u2019clock, \u00d73, Geh\u00f6rgang"));
    CHECK_FALSE(Canvas::can_draw("A sign of nobody's: \U000F1234"));  // of a private use area
}

TEST_CASE("A picture that lies on a film frame already is drawn around, and gives the same frame as one that is copied onto it") {
    for (const StripStyle strip : {StripStyle::below, StripStyle::over, StripStyle::off}) {
        Scene scene(strip);
        const std::vector<Recording> recordings{scene.recording};
        const std::vector<Event> events;
        const std::vector<Cue> cues{scene.cue};
        Composer composer(scene.plan, scene.schedule, events, recordings, scene.vocabulary, cues, Audience::learners);
        const Size film = scene.plan.film.size, room = composer.picture_room(), size{room.w * 3 / 4 & ~1, room.h};
        const film::Place there = middle_of(room, size);
        const media::Sheet sheet{film, there.x, there.y};
        const auto picture = [&](media::FramePtr frame) {
            for (int p = 0; p < 3; ++p)
                for (int y = 0; y < frame->height >> (p ? 1 : 0); ++y)
                    for (int x = 0; x < frame->width >> (p ? 1 : 0); ++x) frame->data[p][y * frame->linesize[p] + x] = static_cast<std::uint8_t>(x * 3 + y * 5 + p);
            return std::shared_ptr<AVFrame>(frame.release(), media::LibavDelete{});
        };
        ShownPictures copied{{picture(media::make_frame(AV_PIX_FMT_YUV420P, size)), {0}, false}, {}, std::nullopt};
        ShownPictures lying{{picture(media::pooled_window(sheet, size)), {0}, false, sheet}, {}, std::nullopt};
        const auto a = composer.compose(10, &copied), b = composer.compose(10, &lying);
        CHECK(b->buf[0]->buffer == lying.picture.frame->buf[0]->buffer);
        const auto same = [](const AVFrame& one, const AVFrame& other) {
            for (int p = 0; p < 3; ++p)
                for (int y = 0; y < one.height >> (p ? 1 : 0); ++y)
                    if (std::memcmp(one.data[p] + y * one.linesize[p], other.data[p] + y * other.linesize[p], static_cast<std::size_t>(one.width >> (p ? 1 : 0))) != 0) return false;
            return true;
        };
        CHECK((b->width == film.w && b->height == film.h));
        CHECK(same(*a, *b));
        // Somebody else still looks at it: it must stay what it is.
        ShownPictures shared{{picture(media::pooled_window(sheet, size)), {0}, false, sheet}, {}, std::nullopt};
        const auto looker = shared.picture.frame;
        const auto c = composer.compose(10, &shared);
        CHECK(c->buf[0]->buffer != looker->buf[0]->buffer);
        CHECK(same(*looker, *copied.picture.frame));
        CHECK(same(*a, *c));
    }
}
