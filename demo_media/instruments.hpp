// Rods: the suction tube, the forceps, the lost cotton tip. Millimetres, world of canal_shape.hpp.
#pragma once

#include "demo_media/canal_shape.hpp"

namespace canalogue::demo {

// A straight rod from a to b with a radius at each end; round ends or cut ones.
struct Rod {
    V3 a, b;
    float radius_a = 1, radius_b = 1;
    bool round_ends = false;
};

struct RodHit {
    float t = 0;
    V3 at, normal;
    float part = 0;  // 0 at a, 1 at b
    float turn = 0;  // 0..1 round the rod
};

// First meeting of the ray with the rod; dir is a unit vector. A tapering rod is met as a straight
// one and its radius corrected once, which is close enough for the slight tapers used here.
bool meet(const Rod& rod, V3 from, V3 dir, RodHit& hit);

// Where the cotton tip lies, relative to the canal's axis at the grip's depth: near end, far end.
inline constexpr V3 kCottonGrip{0.5f, 0.9f, 8.2f}, kCottonEnd{-0.7f, 1.6f, 13.5f};

struct Instrument {
    bool shown = false;
    V3 tip;
    int rods = 0;
    Rod rod[2];
};

// reach 0: out of the picture; 1: at its object. Forceps close when they hold.
Instrument tool_in_hand(Tool tool, const Eye& eye, V3 object, float reach, bool held);
bool meet_tool(const Instrument& tool, V3 from, V3 dir, RodHit& hit);
// Brushed steel under a lamp in a pink tunnel.
V3 metal_light(const RodHit& hit, V3 dir, V3 eye, V3 lamp);

}  // namespace canalogue::demo
