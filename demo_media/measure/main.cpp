// canalogue-demo-measure: says how much pictures look like the inside of an ear, in numbers.
//   canalogue-demo-measure STILLS...                 statistics and 5..95 % ranges of these pictures
//   canalogue-demo-measure --drawn [--keep FOLDER] [STILLS...]
//                                                    measures drawn frames, against STILLS when given
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <opencv2/imgcodecs.hpp>

#include "demo_media/measure/drawn_samples.hpp"
#include "demo_media/measure/picture_statistics.hpp"

namespace {

using namespace canalogue::demo;
namespace fs = std::filesystem;

std::vector<fs::path> pictures_in(const std::vector<fs::path>& given) {
    std::vector<fs::path> out;
    for (const fs::path& path : given) {
        if (!fs::is_directory(path)) {
            out.push_back(path);
            continue;
        }
        for (const auto& entry : fs::directory_iterator(path))
            if (const auto ext = entry.path().extension(); ext == ".jpg" || ext == ".jpeg" || ext == ".png")
                out.push_back(entry.path());
    }
    std::sort(out.begin(), out.end());
    return out;
}

void print_row(const std::string& name, const std::array<double, 7>& values) {
    std::printf("%-34s", name.c_str());
    for (double v : values) std::printf(" %10.4f", v);
    std::printf("\n");
}

void print_head() {
    std::printf("%-34s", "");
    for (auto name : kStatisticNames) std::printf(" %10s", std::string(name).c_str());
    std::printf("\n");
}

std::array<Range, 7> print_pictures(const std::string& title,
                                    const std::vector<std::pair<std::string, PictureStatistics>>& rows) {
    std::vector<PictureStatistics> all;
    for (const auto& [name, s] : rows) print_row(name, listed(s)), all.push_back(s);
    const auto ranges = usual_ranges(all);
    std::array<double, 7> low{}, high{};
    for (std::size_t i = 0; i < 7; ++i) low[i] = ranges[i].low, high[i] = ranges[i].high;
    print_row(title + ", 5 %", low);
    print_row(title + ", 95 %", high);
    return ranges;
}

}  // namespace

int main(int argc, char** argv) {
    bool drawn = false;
    fs::path keep;
    std::vector<fs::path> given;
    for (int i = 1; i < argc; ++i) {
        const std::string word = argv[i];
        if (word == "--drawn")
            drawn = true;
        else if (word == "--keep" && i + 1 < argc)
            keep = argv[++i];
        else
            given.emplace_back(word);
    }
    if (!drawn && given.empty()) {
        std::fprintf(stderr, "Give pictures or a folder of pictures, or --drawn to measure drawn frames.\n");
        return 2;
    }
    print_head();
    std::vector<std::pair<std::string, PictureStatistics>> stills, frames;
    for (const fs::path& path : pictures_in(given)) {
        const cv::Mat3b picture = cv::imread(path.string(), cv::IMREAD_COLOR);
        if (picture.empty()) {
            std::fprintf(stderr, "%s cannot be read as a picture; give JPEG or PNG files.\n", path.c_str());
            return 3;
        }
        stills.emplace_back(path.filename().string(), measure(picture));
    }
    std::array<Range, 7> usual{};
    if (!stills.empty()) usual = print_pictures("given", stills);
    if (!drawn) return 0;
    if (!keep.empty()) fs::create_directories(keep);
    for (const DrawnSample& sample : drawn_samples({1280, 720}, 7, 24)) {
        frames.emplace_back(sample.name, measure(sample.picture));
        if (!keep.empty()) cv::imwrite((keep / (sample.name + ".png")).string(), sample.picture);
    }
    print_pictures("drawn", frames);
    if (stills.empty()) return 0;
    std::array<double, 7> inside{};
    for (const auto& [name, s] : frames)
        for (std::size_t i = 0; i < 7; ++i)
            inside[i] += listed(s)[i] >= usual[i].low && listed(s)[i] <= usual[i].high;
    for (double& n : inside) n /= double(frames.size());
    print_row("share of drawn within given", inside);
    return 0;
}
