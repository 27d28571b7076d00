// Finds faces and people in one picture, with three nets that are blind to different things:
//   near and far faces      SSD MobileNet v1, trained on faces of the web (package @vladmandic/face-api, MIT)
//   soft and dark faces     full-range face detector (package @mediapipe/face_detection, Apache-2.0)
//   people                  CenterNet over COCO, its class "person" (package @vladmandic/human, MIT)
// The first and the last see faces where a picture has none but rarely; the second often takes an ear's
// inside for one, and is believed less there.
#pragma once

#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "plugins/shared/net.hpp"

namespace canalogue::faces {

enum class SeenBy { ssd, soft, people };

struct Seen {
    cv::Rect2f box;   // pixels of the picture
    float score = 0;  // 0..1, as the net gives it
    bool person = false;
    SeenBy net = SeenBy::ssd;
};

// What the view looks like decides how closely, and how credulously, one looks: where it may be an ear's inside the
// whole picture is either nobody's, or covered because nobody is sure.
enum class View { inside, unsure, outside };

class Finders {
  public:
    // Throws std::runtime_error with a sentence when a model cannot be used.
    explicit Finders(const std::string& models_dir);

    // rgb: 8 bits a channel. Boxes of one thing are joined. A quick look is for faces of some size alone. Throws
    // std::runtime_error.
    std::vector<Seen> find(const cv::Mat& rgb, View view, bool quick);

    static std::vector<std::string> files();

  private:
    void find_ssd(const cv::Mat& part, cv::Point at, std::vector<Seen>& out);
    void find_soft(const cv::Mat& part, cv::Point at, float least, std::vector<Seen>& out);
    void find_people(const cv::Mat& rgb, float least, std::vector<Seen>& out);
    void find_in_frame(const cv::Mat& rgb, float least, bool quick, std::vector<Seen>& out);

    nets::Net ssd_, soft_, people_;
};

// Those that show the same thing as one box around them, with the highest score.
std::vector<Seen> joined(std::vector<Seen> seen);

// Squares of `side` pixels over a picture, overlapping by a quarter; the last ones end at the picture's edge.
std::vector<cv::Rect> tiles(cv::Size picture, int side);

}  // namespace canalogue::faces
