#include "plugins/burnt_text/text_reader.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

namespace canalogue::burnt_text {

namespace {

constexpr int kHeight = 48;  // what the net was trained on
constexpr int kStep = 8, kNarrowest = 16, kWidest = 2400;

nets::Tensor tensor_of(const cv::Mat& line) {
    const int wide = static_cast<int>(std::lround(static_cast<double>(kHeight) * line.cols / line.rows));
    const int w = std::clamp((wide + kStep - 1) / kStep * kStep, kNarrowest, kWidest);
    cv::Mat sized, scaled;
    cv::resize(line, sized, {w, kHeight}, 0, 0, line.rows > kHeight ? cv::INTER_AREA : cv::INTER_CUBIC);
    sized.convertTo(scaled, CV_32FC3, 2 / 255., -1);
    nets::Tensor input{std::vector<float>(scaled.total() * 3), {1, 3, kHeight, w}};
    std::vector<cv::Mat> planes;
    for (std::size_t c = 0; c < 3; ++c)
        planes.emplace_back(scaled.size(), CV_32F, input.values.data() + scaled.total() * c);
    cv::split(scaled, planes);
    return input;
}

}  // namespace

TextReader::TextReader(const std::string& models_dir) : net_(models_dir, kFile), letters_{""} {
    std::ifstream file(models_dir + "/" + kLetters);
    for (std::string letter; std::getline(file, letter);) {
        if (!letter.empty() && letter.back() == '\r') letter.pop_back();
        letters_.push_back(letter);
    }
    letters_.push_back(" ");
    if (letters_.size() < 3)
        throw std::runtime_error(std::string("The model file ") + kLetters +
                                 " cannot be used; fetch it with app/setup/models.sh.");
}

// Connectionist temporal classification, read greedily: the likeliest class of each step, repeats and
// "nothing" left out (Graves et al., 2006).
std::string TextReader::read(const cv::Mat& line) {
    if (line.rows < 2 || line.cols < 2) return {};
    cv::Mat level = line;
    if (line.rows > line.cols * 3 / 2) cv::rotate(line, level, cv::ROTATE_90_CLOCKWISE);
    auto input = tensor_of(level);
    const auto out = net_.run(input);
    if (out.shape.size() != 3 || out.shape[2] != static_cast<std::int64_t>(letters_.size()))
        throw std::runtime_error("The reading model does not fit its list of letters; fetch both again.");
    std::string text;
    std::ptrdiff_t before = 0;
    for (auto step = out.values.begin(); step != out.values.end(); step += out.shape[2]) {
        const auto best = std::max_element(step, step + out.shape[2]) - step;
        if (best != before) text += letters_[static_cast<std::size_t>(best)];
        before = best;
    }
    return text;
}

}  // namespace canalogue::burnt_text
