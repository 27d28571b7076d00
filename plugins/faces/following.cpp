#include "plugins/faces/following.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace canalogue::faces {

namespace {

constexpr float kMostStep = 1.2f;   // of its size, from sight to sight
constexpr float kMostGrowth = 2.2f;
constexpr float kAgree = .3f;  // share that boxes of two nets have in common

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

// Where the view is of an ear's inside, wet skin and glints pass for faces with one net or another: it takes two nets,
// or the one that never saw any there.
std::vector<Seen> agreed(std::vector<Seen> seen) {
    std::vector<Seen> out;
    for (std::size_t i = 0; i < seen.size(); ++i) {
        const bool backed = std::any_of(seen.begin(), seen.end(), [&](const Seen& o) {
            return o.net != seen[i].net && (o.box & seen[i].box).area() >= kAgree * std::min(o.box.area(), seen[i].box.area());
        });
        if (seen[i].net == SeenBy::ssd || backed) out.push_back(seen[i]);
    }
    return out;
}

}  // namespace canalogue::faces
