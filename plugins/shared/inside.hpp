// Whether the scope is in an ear: a small net over the features of one picture. Its weights are made
// by recipe/train.py.
#pragma once

#include "plugins/shared/view_features.hpp"

namespace canalogue::view {

// 0 outside .. 1 inside. Below a half: outside, or unsure, which counts as outside.
double inside(const Features& features);

}  // namespace canalogue::view
