// The spotter for faces and people, and, where the scope is outside, for flat things that may be written on. It looks
// once a second while the view is of an ear's inside and hardly
// changes, and twice as often, and more closely, elsewhere.
#include <algorithm>
#include <optional>
#include <opencv2/imgproc.hpp>

#include "plugins/faces/finders.hpp"
#include "plugins/faces/following.hpp"
#include "plugins/faces/surfaces.hpp"
#include "plugins/sdk/plugin.hpp"
#include "plugins/shared/inside.hpp"

namespace canalogue::faces {

namespace {

constexpr std::int64_t kSecond = 1'000'000'000;
constexpr std::int64_t kInsideEvery = kSecond, kOutsideEvery = kSecond / 2, kJitter = kSecond / 20;
constexpr double kViewChange = 4;  // mean, of 255; below it the view is still the one judged
constexpr double kSurelyInside = .9, kSurelyOutside = .3;
constexpr float kHair = .5f, kEars = .35f;  // of a face's height and width, beyond its box
constexpr float kSurface = .7f;             // sureness of something that may be written on
constexpr float kAround = .08f;             // of a person's

class Faces : public plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FRAMES;
    static constexpr double samples_per_second = 4;
    static constexpr std::int32_t longest_side = 1280;
    static std::vector<std::string> files() {
        auto all = Finders::files();
        for (auto& f : view::Inside::files()) all.push_back(std::move(f));
        return all;
    }
    static std::string why_not(const std::string& models_dir) { return nets::why_no_nets(models_dir, files()); }

    explicit Faces(plugin::Host h) : Spotter(h), finders_(h.models_dir()), inside_(h.models_dir()) { cv::setNumThreads(1); }

    void begin_recording(const canalogue_facts&) override { looks_.clear(); }

    void span_begin(std::int64_t start_ns, std::int64_t end_ns) override {
        start_ns_ = start_ns;
        end_ns_ = end_ns;
        // The last look before this span still tells that nobody was there then.
        if (!looks_.empty() && looks_.back() < start_ns && start_ns - looks_.back() <= kInsideEvery) looks_ = {looks_.back()};
        else looks_.clear();
        nobody_.clear();
        judged_.release();
        last_.reset();
        quick_ = false;
        follower_.take(), surfaces_.take();
    }

    void frame(const canalogue_frame& f) override {
        const cv::Mat rgb(f.height, f.width, CV_8UC3, const_cast<std::uint8_t*>(f.rgb), static_cast<std::size_t>(f.stride));
        size_ = rgb.size();
        cv::Mat coarse;
        cv::resize(rgb, coarse, {40, 24}, 0, 0, cv::INTER_AREA);
        coarse.convertTo(coarse, CV_32F);
        if (judged_.empty() || cv::norm(coarse, judged_, cv::NORM_L1) > kViewChange * 3 * static_cast<double>(coarse.total())) {
            inside_now_ = inside_.of(rgb);
            judged_ = coarse;
        }
        const double p = inside_now_;
        const View view = p >= kSurelyInside ? View::inside : p < kSurelyOutside ? View::outside : View::unsure;
        if (view == View::inside) nobody_.push_back(f.time_ns);
        // What has just changed from inside to outside, or back, is looked at at once.
        const std::int64_t every = view == View::outside ? kOutsideEvery : kInsideEvery;
        if (last_ && f.time_ns - *last_ < every - kJitter && view == was_) return;
        // Outside, every other look is a quick one, unless the view has just changed.
        quick_ = view == View::outside && view == was_ && last_ && !quick_;
        was_ = view;
        last_ = f.time_ns;
        looks_.push_back(f.time_ns);
        follower_.see(f.time_ns, finders_.find(rgb, view, quick_));
        if (view == View::outside) surfaces_.see(f.time_ns, surfaces_in(rgb));
    }

    void span_end() override {
        for (const auto& f : follower_.take()) propose(f, CANALOGUE_FACE);
        for (const auto& f : surfaces_.take()) propose(f, CANALOGUE_TEXT);
    }

  private:
    canalogue_track_point point(std::int64_t t, const Sight& s, bool person) const {
        const float w = s.box.width, h = s.box.height;
        cv::Rect2f b = person ? cv::Rect2f(s.box.x - kAround * w, s.box.y - kAround * h, w * (1 + 2 * kAround), h * (1 + 2 * kAround))
                              : cv::Rect2f(s.box.x - kEars * w, s.box.y - kHair * h, w * (1 + 2 * kEars), h * (1 + kHair + kEars));
        b &= cv::Rect2f(0, 0, static_cast<float>(size_.width), static_cast<float>(size_.height));
        return {t, b.x, b.y, b.width, b.height};
    }

    static std::vector<Seen> surfaces_in(const cv::Mat& rgb) {
        std::vector<Seen> out;
        for (const auto& box : written_surfaces(rgb)) {
            Seen seen{};
            seen.box = box;
            seen.score = kSurface;
            seen.person = true;  // its box has its margin already
            out.push_back(seen);
        }
        return out;
    }

    void propose(const Followed& f, std::uint32_t kind) {
        plugin::Proposal p;
        p.kind = kind;
        // It may have come just after the look before, and gone just before the look after.
        const auto first = std::lower_bound(looks_.begin(), looks_.end(), f.sights.front().t_ns), after = std::upper_bound(looks_.begin(), looks_.end(), f.sights.back().t_ns);
        p.start_ns = first == looks_.begin() ? std::min(start_ns_, f.sights.front().t_ns) : *std::prev(first);
        p.end_ns = after == looks_.end() ? end_ns_ : *after;
        // Nor was it there while the view was surely of an ear's inside, unless it was seen there.
        const auto in = std::lower_bound(nobody_.begin(), nobody_.end(), f.sights.front().t_ns), out = std::lower_bound(nobody_.begin(), nobody_.end(), f.sights.back().t_ns);
        if (in != nobody_.begin()) p.start_ns = std::max(p.start_ns, *std::prev(in));
        if (out != nobody_.end() && *out > f.sights.back().t_ns) p.end_ns = std::min(p.end_ns, *out);
        p.track.push_back(point(p.start_ns, f.sights.front(), f.person));
        for (const auto& s : f.sights) p.track.push_back(point(s.t_ns, s, f.person));
        p.track.push_back(point(p.end_ns - 1, f.sights.back(), f.person));
        p.sureness = std::clamp(f.score, 0.f, 1.f);
        host().propose(p);
    }

    Finders finders_;
    view::Inside inside_;
    cv::Mat judged_;  // coarse, of the picture that the view was judged by
    double inside_now_ = 1;
    Follower follower_, surfaces_;
    cv::Size size_;
    std::int64_t start_ns_ = 0, end_ns_ = 0;
    std::vector<std::int64_t> looks_, nobody_;  // when it looked; when the view was surely of an ear's inside
    std::optional<std::int64_t> last_;
    View was_ = View::outside;
    bool quick_ = false;
};

}  // namespace

}  // namespace canalogue::faces

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::spotter_plugin<canalogue::faces::Faces>();
    return &plugin;
}
