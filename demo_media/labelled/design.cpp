#include "demo_media/labelled/design.hpp"

#include <algorithm>
#include <cmath>

#include "demo_media/chance.hpp"

namespace canalogue::demo::labelled {

namespace {

struct Size {
    int w, h;
};
constexpr Size kSizes[] = {{854, 480}, {640, 480}, {1280, 720}, {1280, 720}, {1920, 1080}, {720, 576}};
constexpr const char* kContainers[] = {"mkv", "mp4", "mov", "avi"};
constexpr const char* kFonts[] = {"DejaVu Sans", "DejaVu Serif", "DejaVu Sans Mono", "Liberation Sans", "Liberation Serif", "Liberation Mono", "FreeSans", "Hack"};
constexpr const char* kFontsApart[] = {"FreeSerif", "FreeMono", "DejaVu Sans Condensed", "Inter Black", "DejaVu Serif Condensed"};

struct Words {
    const char *what, *text;
};
// Invented, all of them; numbers are test values.
constexpr Words kWords[] = {{"name", "BRACKWATER, ALDOUS"}, {"name", "Tidewell Mara"}, {"name", "Quayle, O."}, {"born", "DOB 14-MAR-1951"}, {"born", "02.11.1947"}, {"number", "NHS 999 000 0018"},
                            {"number", "HOSP TEST 0048213"}, {"number", "ID TEST-5571840"}, {"clinic", "HARBOUR EAR CLINIC  ROOM 2"}, {"clinic", "Harbour Ear Clinic"}, {"serial", "S/N TEST-77-0191"},
                            {"settings", "WB AUTO  GAIN 4  LED 70"}, {"date", "04.03.2031"}};

class Maker {
  public:
    Maker(std::uint64_t seed, double seconds, bool apart) : chance_(seed * 31 + 7) {
        d_.seed = seed, d_.seconds = seconds, d_.apart = apart;
    }

    Design make() {
        // Sizes and containers go round, so that any forty seeds hold all of them.
        const auto n = static_cast<std::size_t>(d_.seed);
        const Size size = kSizes[n % std::size(kSizes)];
        d_.size = {size.w, size.h};
        d_.interlaced = size.h == 576;
        d_.irregular = !d_.interlaced && n % 5 == 3;
        static constexpr int kRates[] = {25, 30, 50, 60, 25};
        d_.rate = d_.interlaced || size.h == 1080 ? 25 : kRates[n / 2 % std::size(kRates)];
        d_.container = kContainers[n / 3 % std::size(kContainers)];
        if (d_.irregular) d_.container = "mkv";
        d_.script = n % 2 ? left_ear(d_.seconds) : right_ear(d_.seconds);
        d_.script.drops_frames = false;
        look();
        away();
        writings();
        d_.sound = n % 13 != 5;
        d_.suction = chance_.between(.3f, 2.5f);
        d_.read_at = n % 3 == 0 ? d_.seconds * .45 : -1;
        return d_;
    }

  private:
    bool one_in(int n) { return chance_.unit() * static_cast<float>(n) < 1; }
    std::size_t any(std::size_t of) { return std::min(of - 1, static_cast<std::size_t>(chance_.unit() * static_cast<float>(of))); }

    void look() {
        auto& l = d_.look;
        l.seed = d_.seed;
        l.rim = static_cast<ScopeLook::Rim>(d_.seed % 4);
        if (one_in(4)) l.cast = {.72f, .95f, 1.05f};
        else if (one_in(4)) l.cast = {1.22f, 1.02f, .88f};
        l.exposure = one_in(5) ? 1.45 : one_in(5) ? .7 : chance_.between(.9f, 1.1f);
        l.blood = one_in(5) ? chance_.between(.3f, .7f) : 0;
        l.water = one_in(5);
        l.bubbles = one_in(5);
        l.softness = one_in(3) ? -chance_.between(.6f, 1.4f) : chance_.between(0, 2.6f);
        l.noise = chance_.between(1, 6);
    }

    // Beside the script's own two stays outside: quick or long ones, where the script is inside.
    void away() {
        for (const auto& s : d_.script.outside)
            if (!one_in(3)) d_.away.push_back({s, any(1000), one_in(2), .25});
        for (const auto& s : d_.script.inside()) {
            if (s.end - s.start < 5 || one_in(2)) continue;
            const bool quick = one_in(2);
            const double length = quick ? chance_.between(.6f, 1.5f) : chance_.between(2, 4), at = s.start + 1.2 + chance_.unit() * (s.end - s.start - length - 2.4);
            if (at > s.start && at + length < s.end - .5) d_.away.push_back({{at, at + length}, any(1000), one_in(2), quick ? .12 : .3});
        }
    }

    void writings() {
        const int w = d_.size.width, h = d_.size.height, margin = h / 36;
        const std::size_t first = any(std::size(kWords));
        const int lines = 3 + static_cast<int>(any(4));
        int left = margin, right = margin, bottom = h - margin;
        for (int i = 0; i < lines; ++i) {
            Writing t = styled();
            const auto& words = kWords[(first + static_cast<std::size_t>(i) * 5) % std::size(kWords)];
            t.what = words.what, t.text = words.text;
            t.end = d_.seconds;
            const int wide = static_cast<int>(t.height * .62 * static_cast<double>(t.text.size()));
            if (i % 3 == 0) t.place = {margin, left}, left += t.height * 3 / 2;
            else if (i % 3 == 1) t.place = {std::max(margin, w - margin - wide), right}, right += t.height * 3 / 2;
            else bottom -= t.height * 3 / 2, t.place = {one_in(2) ? margin : w / 3, bottom};
            d_.writings.push_back(t);
        }
        Writing clock = styled();
        clock.what = "clock", clock.text = "2031-03-04 09:41:07", clock.way = Way::clock;
        clock.place = {std::max(margin, w - margin - static_cast<int>(clock.height * 12.5)), h - margin - clock.height * 2};
        clock.end = d_.seconds;
        if (!one_in(4)) d_.writings.push_back(clock);
        passing();
    }

    // What comes and goes: a menu that slides in, a number for a second, a line that runs, one that fades, one
    // turned by a quarter.
    void passing() {
        static constexpr Way kWays[] = {Way::sliding, Way::brief, Way::scrolling, Way::fading, Way::upright};
        const int n = 1 + static_cast<int>(any(2));
        for (int i = 0; i < n; ++i) {
            Writing t = styled();
            t.way = kWays[(d_.seed + static_cast<std::uint64_t>(i) * 2) % std::size(kWays)];
            const auto& words = kWords[any(std::size(kWords))];
            t.what = words.what, t.text = words.text;
            const double length = t.way == Way::brief ? 1 : t.way == Way::upright ? d_.seconds : chance_.between(2.5f, 4.5f);
            t.start = t.way == Way::upright ? 0 : chance_.between(.5f, static_cast<float>(std::max(1.0, d_.seconds - length - .5)));
            t.end = std::min(d_.seconds, t.start + length);
            t.place = {part(d_.size.width, chance_.between(.08f, .5f)), part(d_.size.height, chance_.between(.3f, .7f))};
            if (t.way == Way::upright) t.place = {d_.size.width / 30, d_.size.height / 4};
            d_.writings.push_back(t);
        }
    }

    static int part(int of, float share) { return static_cast<int>(std::lround(static_cast<float>(of) * share)); }

    Writing styled() {
        Writing t;
        t.font = d_.apart ? kFontsApart[any(std::size(kFontsApart))] : kFonts[any(std::size(kFonts))];
        t.height = 12 + static_cast<int>(any(29));
        t.ink = static_cast<Ink>(any(6));
        static const cv::Scalar kColours[] = {{255, 255, 255}, {255, 255, 255}, {80, 240, 250}, {90, 230, 120}};
        static const cv::Scalar kColoursApart[] = {{250, 190, 90}, {200, 120, 250}, {60, 140, 255}};
        t.colour = d_.apart ? kColoursApart[any(3)] : kColours[any(4)];
        if (t.ink == Ink::faint) t.opacity = .5;
        if (t.ink == Ink::dark) t.colour = {38, 38, 38}, t.opacity = 1;
        return t;
    }

    Chance chance_;
    Design d_;
};

}  // namespace

double Away::share(double t) const {
    if (t < span.start || t >= span.end) return 0;
    const double x = std::clamp(std::min((t - span.start) / ease, (span.end - t) / ease), 0.0, 1.0);
    return x * x * (3 - 2 * x);
}

Design design_of(std::uint64_t seed, double seconds, bool apart) { return Maker(seed, seconds, apart).make(); }

}  // namespace canalogue::demo::labelled
