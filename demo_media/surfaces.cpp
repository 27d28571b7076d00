#include "demo_media/surfaces.hpp"

namespace canalogue::demo {

namespace {

Texel blend(const Texel& a, const Texel& b, const Texel& c, const Texel& d, float fx, float fy) {
    Texel out;
    const float wa = (1 - fx) * (1 - fy), wb = fx * (1 - fy), wc = (1 - fx) * fy, wd = fx * fy;
    const float *pa = &a.r, *pb = &b.r, *pc = &c.r, *pd = &d.r;
    float* po = &out.r;
    for (int i = 0; i < 8; ++i) po[i] = wa * pa[i] + wb * pb[i] + wc * pc[i] + wd * pd[i];
    return out;
}

}  // namespace

Surface::Corner Surface::corner(float u, float v) const {
    float x = u * flt(w_), y = v * flt(h_) - 0.5f;
    if (wraps_)
        x -= std::floor(u) * flt(w_);
    else
        x = std::clamp(x - 0.5f, 0.0f, flt(w_) - 1.001f);
    y = std::clamp(y, 0.0f, flt(h_) - 1.001f);
    const int xi = std::min(int(x), w_ - 1), yi = int(y);
    const int next = wraps_ ? (xi + 1 == w_ ? 0 : xi + 1) : std::min(xi + 1, w_ - 1);
    const Texel *row = &texels_[std::size_t(yi) * w_], *below = row + w_;
    return {row + xi, row + next, below + xi, below + next, x - flt(xi), y - flt(yi)};
}

Texel Surface::at(float u, float v) const {
    const Corner c = corner(u, v);
    return blend(*c.a, *c.b, *c.c, *c.d, c.fx, c.fy);
}

float Surface::height_at(float u, float v) const {
    const Corner c = corner(u, v);
    return mix(mix(c.a->height, c.b->height, c.fx), mix(c.c->height, c.d->height, c.fx), c.fy);
}

void Surface::set_relief(const cv::Mat1f& height_mm, float mm_u, float mm_v) {
    for (int y = 0; y < h_; ++y)
        for (int x = 0; x < w_; ++x) {
            const int left = x > 0 ? x - 1 : (wraps_ ? w_ - 1 : 0);
            const int right = x + 1 < w_ ? x + 1 : (wraps_ ? 0 : x);
            const int up = std::max(y - 1, 0), down = std::min(y + 1, h_ - 1);
            Texel& t = texel(x, y);
            t.height = height_mm(y, x);
            t.slope_u = (height_mm(y, right) - height_mm(y, left)) / (2 * mm_u);
            t.slope_v = (height_mm(down, x) - height_mm(up, x)) / (2 * mm_v);
        }
}

}  // namespace canalogue::demo
