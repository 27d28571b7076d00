// Prints the features of pictures, one line each, for train.py: raw RGB pictures of one size come in.
//     features MODELS WIDTH HEIGHT VARIANTS SEED [round]  < raw
// VARIANTS: how many changed versions follow each picture: nearer (the rim leaves the picture), darker
// or brighter, another cast, softer, noisier. "round": they also get a scope's round rim.
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <opencv2/imgproc.hpp>
#include <random>
#include <vector>

#include "plugins/shared/view_features.hpp"
#include "plugins/shared/view_net.hpp"

namespace {

using namespace canalogue::view;

class Variation {
  public:
    explicit Variation(unsigned seed) : random_(seed) {}

    cv::Mat of(const cv::Mat& rgb, bool round) {
        cv::Mat out = chance() < .6 ? nearer(rgb) : rgb.clone();
        if (round && chance() < .7) rim(out);
        std::vector<cv::Mat> planes;
        cv::split(out, planes);
        const double gain = std::exp(.35 * normal_(random_));
        for (auto& p : planes) p.convertTo(p, -1, gain * (1 + .18 * normal_(random_)), 0);
        cv::merge(planes, out);
        if (chance() < .5) cv::GaussianBlur(out, out, {}, .3 + 2.5 * chance() * out.cols / 240.);
        cv::Mat noise(out.size(), CV_16SC3);
        cv::RNG rng(random_());
        rng.fill(noise, cv::RNG::NORMAL, cv::Scalar::all(0), cv::Scalar::all(1 + 5 * chance()));
        cv::Mat wide;
        out.convertTo(wide, CV_16SC3);
        cv::add(wide, noise, wide);
        wide.convertTo(out, CV_8UC3);
        return out;
    }

  private:
    double chance() { return uniform_(random_); }

    cv::Mat nearer(const cv::Mat& rgb) {
        const double part = .42 + .5 * chance();
        const int w = static_cast<int>(rgb.cols * part), h = static_cast<int>(rgb.rows * part);
        return rgb(cv::Rect((rgb.cols - w) / 2, (rgb.rows - h) / 2, w, h)).clone();
    }

    void rim(cv::Mat& rgb) {
        cv::Mat mask = cv::Mat::zeros(rgb.size(), CV_8U), kept;
        cv::circle(mask, {rgb.cols / 2, rgb.rows / 2}, static_cast<int>(std::min(rgb.cols, rgb.rows) * (.42 + .15 * chance())), 255, -1);
        rgb.copyTo(kept, mask);
        rgb = kept;
    }

    std::mt19937 random_;
    std::normal_distribution<double> normal_;
    std::uniform_real_distribution<double> uniform_;
};

void print_line(const cv::Mat& rgb, ViewNet& net) {
    for (const double value : features(small_view(rgb))) std::printf("%.6g ", value);
    for (const float value : net.look(rgb)) std::printf("%.5g ", static_cast<double>(value));
    std::puts("");
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 6) return 2;
    ViewNet net(argv[1]);
    ++argv;
    const int width = std::atoi(argv[1]), height = std::atoi(argv[2]), variants = std::atoi(argv[3]);
    const bool round = argc > 6 && std::strcmp(argv[5], "round") == 0;
    Variation variation(static_cast<unsigned>(std::atoi(argv[4])));
    cv::Mat rgb(height, width, CV_8UC3);
    while (std::fread(rgb.data, 1, rgb.total() * 3, stdin) == rgb.total() * 3) {
        print_line(rgb, net);
        for (int i = 0; i < variants; ++i) print_line(variation.of(rgb, round), net);
    }
}
