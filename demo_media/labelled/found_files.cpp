#include "demo_media/labelled/found_files.hpp"

#include <cstdint>
#include <cstring>
#include <fstream>
#include <iterator>
#include <opencv2/imgcodecs.hpp>

namespace canalogue::demo::labelled {

namespace {

constexpr const char* kPictures = "/usr/share/doc/opencv-doc/examples/data/";
constexpr const char* kScience = "/usr/lib/python3/dist-packages/skimage/data/";  // python3-skimage
constexpr const char* kSpeech = "/usr/share/pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0";

struct ClipRow {
    const char *number, *words;
};
// The words are those of the package's own transcription file.
constexpr ClipRow kClipRows[kClips] = {
    {"870", "and mister john dashwood had then leisure to consider how much there might be prudently in his power to do for them"},
    {"880", "he was not an ill disposed young man"},
    {"890", "unless to be rather cold hearted and rather selfish is to be ill disposed"},
    {"920", "had he married a more amiable woman he might have been made still more respectable than he was"},
    {"930", "he might even have been made amiable himself"}};

Region oval(const char* what, double x, double y, double half_w, double half_h) {
    return {what, "", true, {{x, y}, {half_w, half_h}}};
}
Region shape(const char* what, std::vector<cv::Point2d> corners) {
    return {what, "", false, std::move(corners)};
}
Region block(const char* what, double x, double y, double x2, double y2) {
    return shape(what, {{x, y}, {x2, y}, {x2, y2}, {x, y2}});
}

}  // namespace

const std::vector<Photograph>& photographs() {
    // Outlined by hand on the pictures themselves.
    static const std::vector<Photograph> list{
        {std::string(kScience) + "astronaut.png",
         {shape("person", {{.05, 1}, {.05, .6}, {.15, .42}, {.24, .30}, {.60, .30}, {.70, .55}, {.72, 1}}),
          oval("face", .444, .205, .148, .175), block("text", .26, .68, .41, .83), block("text", .545, .655, .645, .745)}},
        {std::string(kPictures) + "messi5.jpg",
         {block("person", 0, 0, 1, .68),
          shape("person", {{.125, .26}, {.29, .34}, {.375, .35}, {.485, .33}, {.556, .38}, {.684, .46}, {.662, .52},
                           {.54, .46},  {.55, .62}, {.66, .69},  {.826, .78}, {.805, .84}, {.60, .78},  {.484, .82},
                           {.563, .94}, {.456, .98}, {.406, .83}, {.42, .74}, {.356, .48}, {.285, .41}, {.142, .30}}),
          oval("face", .429, .287, .055, .110), block("text", .375, .41, .49, .47), block("text", .80, .87, .985, .98)}},
        {std::string(kPictures) + "basketball1.png",
         {shape("person", {{.06, .30}, {.17, .29}, {.256, .27}, {.25, .45}, {.19, .5}, {.22, .98}, {.10, .98}, {.07, .6}, {.05, .4}}),
          shape("person", {{.80, .26}, {1, .26}, {1, 1}, {.75, 1}, {.80, .65}, {.68, .52}, {.69, .46}, {.78, .48}}),
          oval("face", .131, .22, .045, .070), oval("face", .875, .155, .085, .120)}}};
    return list;
}

cv::Mat3b read_photograph(const Photograph& photograph) {
    std::error_code ignored;
    if (!std::filesystem::exists(photograph.file, ignored)) return {};
    return cv::imread(photograph.file.string(), cv::IMREAD_COLOR);
}

std::string clip_words(int clip) {
    return kClipRows[clip].words;
}

std::optional<Clip> read_clip(int clip) {
    std::ifstream in(std::string(kSpeech) + kClipRows[clip].number + ".wav", std::ios::binary);
    if (!in) return std::nullopt;
    const std::string bytes{std::istreambuf_iterator<char>(in), {}};
    const std::size_t data = bytes.find("data");
    if (bytes.size() < 48 || data == std::string::npos) return std::nullopt;
    Clip out;
    std::uint32_t rate = 0;
    std::memcpy(&rate, bytes.data() + 24, sizeof rate);
    out.rate = int(rate);
    for (std::size_t i = data + 8; i + 1 < bytes.size(); i += 2) {
        std::int16_t s = 0;
        std::memcpy(&s, bytes.data() + i, sizeof s);
        out.samples.push_back(float(s) / 32768.0f);
    }
    return out;
}

}  // namespace canalogue::demo::labelled
