#include <catch2/catch.hpp>

#include "demo_media/measure/drawn_samples.hpp"
#include "demo_media/measure/picture_statistics.hpp"

using namespace canalogue::demo;

namespace {

// 5 % and 95 % points over 60 otoscope stills (15 each of earwax plug, normal drum, myringosclerosis,
// chronic otitis media) of M. Viscaino et al., PLoS ONE 15 (2020) e0229226, 420x380 pixels, measured
// with canalogue-demo-measure. Only these numbers are kept. Order: kStatisticNames.
constexpr std::array<Range, 7> kRealStills{{{-10.51, 44.62},
                                            {0.0164, 0.2621},
                                            {0.1642, 0.3576},
                                            {0.5465, 0.7292},
                                            {0.0057, 0.1819},
                                            {0.0011, 0.1263},
                                            {0.0000, 0.0840}}};

}  // namespace

TEST_CASE("Drawn frames of the inside lie where real stills lie", "[demo_media]") {
    // A tenth of the real stills lie outside each range themselves; drawn ones get the same measure,
    // a little wider for the moments when a tool or a piece passes close before the lens.
    constexpr double kEnough = 0.85;
    const auto samples = drawn_samples({960, 540}, 7, 20);
    std::vector<PictureStatistics> all;
    for (const auto& sample : samples) all.push_back(measure(sample.picture));
    for (std::size_t i = 0; i < kStatisticNames.size(); ++i) {
        int within = 0;
        std::string strays;
        for (std::size_t k = 0; k < all.size(); ++k) {
            const double v = listed(all[k])[i];
            const bool in = v >= kRealStills[i].low && v <= kRealStills[i].high;
            within += in;
            if (!in) strays += samples[k].name + " " + std::to_string(v) + "; ";
        }
        INFO(std::string(kStatisticNames[i]) << ", outside: " << strays);
        CHECK(double(within) >= kEnough * double(all.size()));
        // and the middle of the drawn ones lies within
        std::vector<double> sorted;
        for (const auto& s : all) sorted.push_back(listed(s)[i]);
        std::sort(sorted.begin(), sorted.end());
        CHECK(sorted[sorted.size() / 2] >= kRealStills[i].low);
        CHECK(sorted[sorted.size() / 2] <= kRealStills[i].high);
    }
}

TEST_CASE("Statistics of plain pictures are what they must be", "[demo_media]") {
    const cv::Size size(320, 240);
    const auto white = measure(cv::Mat3b(size, cv::Vec3b(255, 255, 255)));
    CHECK(white.glare == Approx(1));
    CHECK(white.saturation == Approx(0));
    CHECK(white.edges == Approx(0));
    const auto amber = measure(cv::Mat3b(size, cv::Vec3b(0, 128, 255)));
    CHECK(amber.hue == Approx(30).margin(0.2));  // 128/255 of the way from red to yellow
    CHECK(amber.hue_spread == Approx(0).margin(1e-9));
    CHECK(measure(cv::Mat3b(size, cv::Vec3b(255, 0, 255))).hue == Approx(-60));
    CHECK(measure(cv::Mat3b(size, cv::Vec3b(20, 20, 20))).dark == Approx(1));
    cv::Mat3b stripes(size);
    for (int y = 0; y < size.height; ++y)
        for (int x = 0; x < size.width; ++x)
            stripes(y, x) = x / 4 % 2 ? cv::Vec3b(255, 255, 255) : cv::Vec3b(0, 0, 0);
    CHECK(measure(stripes).edges > 0.4);
}
