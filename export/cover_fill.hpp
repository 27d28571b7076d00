// Lays covers on a decoded picture, before anything else touches it. No pixel under a cover has any
// influence on the result: what is filled in comes from the pixels just outside the covers, smoothed,
// carried inwards and slightly grained, so that it reads as a blur that cannot be undone.
#pragma once

#include <vector>

#include "app/core/cover.hpp"
#include "app/core/geometry.hpp"
#include "app/core/result.hpp"
#include "app/media/picture.hpp"

namespace canalogue::film {

// Soft fills from what surrounds the boxes; plain is one grey. Boxes may overlap. Refuses pixel formats whose samples cannot be reached one by one (palettes,
// hardware pictures): such a picture must not be shown.
Result<void> lay_covers(media::Picture& picture, const std::vector<StoredBox>& boxes, CoverLook look = CoverLook::soft);

}  // namespace canalogue::film
