#include "plugins/faces/following.hpp"

#include <cmath>
#include <utility>

namespace canalogue::faces {

namespace {

constexpr float kMostStep = 1.2f;   // of its size, from sight to sight
constexpr float kMostGrowth = 2.2f;

cv::Point2f middle(const cv::Rect2f& b) { return (b.tl() + b.br()) * .5f; }

bool may_be_the_same(const Followed& f, const Seen& s) {
    const auto& last = f.sights.back().box;
    if (f.person != s.person) return false;
    const float size = std::sqrt(last.area()), now = std::sqrt(s.box.area());
    const auto step = middle(last) - middle(s.box);
    return std::hypot(step.x, step.y) <= kMostStep * std::max(size, now) && now <= kMostGrowth * size && size <= kMostGrowth * now;
}

}  // namespace

void Follower::see(std::int64_t t_ns, const std::vector<Seen>& seen) {
    for (const auto& s : seen) {
        Followed* nearest = nullptr;
        double distance = 0;
        for (auto& f : all_) {
            const auto& last = f.sights.back();
            if (last.t_ns >= t_ns || t_ns - last.t_ns > kPatience || !may_be_the_same(f, s)) continue;
            const double d = cv::norm(middle(last.box) - middle(s.box));
            if (!nearest || d < distance) nearest = &f, distance = d;
        }
        if (!nearest) nearest = &all_.emplace_back(Followed{{}, 0, s.person});
        nearest->sights.push_back({t_ns, s.box});
        nearest->score = std::max(nearest->score, s.score);
    }
}

std::vector<Followed> Follower::take() { return std::exchange(all_, {}); }

}  // namespace canalogue::faces
