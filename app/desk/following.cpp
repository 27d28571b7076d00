#include "app/desk/following.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <opencv2/video/tracking.hpp>

#include "app/media/frame_reader.hpp"

namespace canalogue::desk {

namespace {

constexpr int kWorkingWidth = 720;      // pixels; more tells little more and costs much
constexpr int kGrid = 12;               // points across and down
constexpr float kMostReturnError = 1.5f;  // pixels between a point and itself after going forth and back
constexpr std::size_t kFewestPoints = 10;
constexpr double kMostScaleStep = 1.15;  // from frame to frame

float median(std::vector<float>& v) {
    const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
    std::nth_element(v.begin(), middle, v.end());
    return *middle;
}

struct Moved {
    cv::Rect2f box;
    bool found = false;
};

Moved moved(const cv::Mat& before, const cv::Mat& after, const cv::Rect2f& box) {
    std::vector<cv::Point2f> from, to, back;
    for (int y = 0; y < kGrid; ++y)
        for (int x = 0; x < kGrid; ++x)
            from.emplace_back(box.x + box.width * (static_cast<float>(x) + 0.5f) / kGrid, box.y + box.height * (static_cast<float>(y) + 0.5f) / kGrid);
    std::vector<unsigned char> there, returned;
    std::vector<float> error;
    const cv::Size window(15, 15);
    cv::calcOpticalFlowPyrLK(before, after, from, to, there, error, window, 3);
    cv::calcOpticalFlowPyrLK(after, before, to, back, returned, error, window, 3);
    std::vector<std::size_t> good;
    for (std::size_t i = 0; i < from.size(); ++i)
        if (there[i] && returned[i] && std::hypot(from[i].x - back[i].x, from[i].y - back[i].y) < kMostReturnError) good.push_back(i);
    if (good.size() < kFewestPoints) return {};
    std::vector<float> dx, dy, ratio;
    for (const auto i : good) dx.push_back(to[i].x - from[i].x), dy.push_back(to[i].y - from[i].y);
    for (std::size_t a = 0; a < good.size(); a += 2)
        for (std::size_t b = a + 1; b < good.size(); b += 3) {
            const float was = std::hypot(from[good[a]].x - from[good[b]].x, from[good[a]].y - from[good[b]].y);
            if (was > 2) ratio.push_back(std::hypot(to[good[a]].x - to[good[b]].x, to[good[a]].y - to[good[b]].y) / was);
        }
    const auto scale = static_cast<float>(ratio.empty() ? 1.0 : std::clamp<double>(median(ratio), 1 / kMostScaleStep, kMostScaleStep));
    const cv::Point2f middle{box.x + box.width / 2 + median(dx), box.y + box.height / 2 + median(dy)};
    return {{middle.x - box.width * scale / 2, middle.y - box.height * scale / 2, box.width * scale, box.height * scale}, true};
}

class Follower {
  public:
    Follower(const Recording& r, UprightBox box) : recording_(r), whole_(upright_size(r.stored, r.rotation)) {
        box_ = {static_cast<float>(box.x), static_cast<float>(box.y), static_cast<float>(box.w), static_cast<float>(box.h)};
    }

    // False when it is lost.
    Result<bool> see(const media::Picture& picture) {
        auto rgb = converter_.convert(picture, recording_.rotation, kWorkingWidth);
        if (!rgb) return rgb.failure();
        cv::Mat colour(rgb->size.h, rgb->size.w, CV_8UC3, rgb->pixels.data()), grey;
        cv::cvtColor(colour, grey, cv::COLOR_RGB2GRAY);
        const float scale = static_cast<float>(rgb->size.w) / static_cast<float>(whole_.w);
        if (!before_.empty()) {
            const cv::Rect2f small{box_.x * scale, box_.y * scale, box_.width * scale, box_.height * scale};
            const Moved m = moved(before_, grey, small);
            if (!m.found) return false;
            box_ = {m.box.x / scale, m.box.y / scale, m.box.width / scale, m.box.height / scale};
            const bool inside = box_.x + box_.width > 0 && box_.y + box_.height > 0 && box_.x < static_cast<float>(whole_.w) && box_.y < static_cast<float>(whole_.h);
            if (!inside) return false;
        }
        before_ = grey;
        return true;
    }

    UprightBox box() const {
        const int x = static_cast<int>(std::floor(box_.x)), y = static_cast<int>(std::floor(box_.y));
        const UprightBox b{x, y, static_cast<int>(std::ceil(box_.x + box_.width)) - x, static_cast<int>(std::ceil(box_.y + box_.height)) - y};
        return common(b, UprightBox{0, 0, whole_.w, whole_.h});
    }

  private:
    const Recording& recording_;
    Size whole_;
    cv::Rect2f box_;
    cv::Mat before_;
    media::RgbConverter converter_;
};

}  // namespace

Result<Followed> follow_box(const Desk& desk, const Recording& r, UprightBox box, RecordingSpan span, const Progress& progress) {
    auto index = desk.index(r, progress);
    if (!index) return index.failure();
    auto reader = media::FrameReader::open(r.path);
    if (!reader) return reader.failure();
    reader->use_index(*index);
    if (auto ok = reader->seek(span.start); !ok) return ok.failure();
    Follower follower(r, box);
    Followed out;
    out.end = span.start;
    while (true) {
        if (progress.stopped()) return cancelled();
        auto picture = reader->next();
        if (!picture) return picture.failure();
        if (!*picture || (*picture)->time >= span.end) break;
        auto seen = follower.see(**picture);
        if (!seen) return seen.failure();
        if (!*seen) {
            out.lost = true;
            return out;
        }
        const RecordingTime t = std::max((*picture)->time, span.start);
        out.track.push_back({t, follower.box()});
        out.end = t;
        progress.report("Following the box", static_cast<double>((t - span.start)) / static_cast<double>(span.length()));
    }
    out.end = span.end;
    return out;
}

Result<std::string> follow_suspect(Desk& desk, const std::string& session, const std::string& id, RecordingTime from, const Progress& progress) {
    auto found = desk.library.find<Suspect>(session, id);
    if (!found) return found.failure();
    if (!*found) return wrong_use("There is no suspect '" + id + "' in this session.");
    Suspect s = std::move(**found);
    if (s.track.empty()) return wrong_use("'" + id + "' covers the whole picture or sound: there is no box to follow.");
    auto r = desk.library.find<Recording>(session, s.recording);
    if (!r) return r.failure();
    if (!*r) return machine_trouble("The suspect's recording is missing from the library; run 'canalogue selfcheck'.");
    if (!s.span.holds(from)) return wrong_use("'" + id + "' is not there at that time: go to a frame that shows it.");
    UprightBox box = s.track.front().box;
    for (const auto& p : s.track)
        if (p.t <= from) box = p.box;
    auto followed = follow_box(desk, **r, box, {from, s.span.end}, progress);
    if (!followed) return followed.failure();
    std::erase_if(s.track, [&](const TrackPoint& p) { return p.t >= from; });
    if (s.track.empty() && from > s.span.start) s.track.push_back({s.span.start, box});
    s.track.insert(s.track.end(), followed->track.begin(), followed->track.end());
    if (followed->track.empty()) s.track.push_back({from, box});
    auto done = desk.library.commit({session, "follow suspect " + id, desk.person, {store::put(s)}});
    if (!done) return done.failure();
    if (followed->lost) return "Followed to " + format_time(followed->end.ns / kMillisecond * kMillisecond) + ", where it was lost: from there the box stays where it was.";
    return "Followed to its end at " + format_time(s.span.end.ns / kMillisecond * kMillisecond) + ".";
}

}  // namespace canalogue::desk
