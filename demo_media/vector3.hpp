// Small vector arithmetic for the picture maker. Millimetres, unless said otherwise.
#pragma once

#include <algorithm>
#include <cmath>

namespace canalogue::demo {

struct V3 {
    float x = 0, y = 0, z = 0;
    V3 operator+(V3 o) const { return {x + o.x, y + o.y, z + o.z}; }
    V3 operator-(V3 o) const { return {x - o.x, y - o.y, z - o.z}; }
    V3 operator*(float s) const { return {x * s, y * s, z * s}; }
    V3 operator*(V3 o) const { return {x * o.x, y * o.y, z * o.z}; }
    V3 operator-() const { return {-x, -y, -z}; }
};

inline float dot(V3 a, V3 b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}
inline float length(V3 a) {
    return std::sqrt(dot(a, a));
}
inline V3 unit(V3 a) {
    return a * (1.0f / std::max(length(a), 1e-9f));
}
inline V3 cross(V3 a, V3 b) {
    return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline float mix(float a, float b, float t) {
    return a + (b - a) * t;
}
inline V3 mix(V3 a, V3 b, float t) {
    return a + (b - a) * t;
}
inline float clamp01(float v) {
    return v < 0 ? 0 : (v > 1 ? 1 : v);
}
inline float smooth(float low, float high, float v) {
    const float t = clamp01((v - low) / (high - low));
    return t * t * (3 - 2 * t);
}

template <class T>
constexpr float flt(T v) {
    return static_cast<float>(v);
}

}  // namespace canalogue::demo
