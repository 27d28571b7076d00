// Reads what canalogue-labelled wrote with libav and OpenCV, not with the code under test.
#pragma once

#include <filesystem>
#include <map>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

struct ReadVideo {
    std::vector<double> times;   // seconds, of the decoded frames
    std::vector<cv::Mat1b> grey;  // first plane, as stored
    bool interlaced_stream = false, top_first = false;
    int interlaced_frames = 0;
    int turn = 0;  // degrees counter-clockwise that bring it upright, 0 when there is no matrix
    bool sound = false;
    std::map<std::string, std::string> about;
};

ReadVideo read_video(const std::filesystem::path& file);
