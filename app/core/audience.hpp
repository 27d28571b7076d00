// Who an export is for. Care team and patient may see identifiable film, and every frame says so;
// learners and the public never do.
#pragma once

#include <string>
#include <string_view>

#include "app/core/result.hpp"

namespace canalogue {

enum class Audience { care, patient, learners, public_ };

std::string_view name_of(Audience audience);
Result<Audience> audience_named(std::string_view name);

inline bool may_identify(Audience a) { return a == Audience::care || a == Audience::patient; }

// What every frame says for an audience that may see identifiable film; empty for the others.
std::string_view frame_notice(Audience audience);

// The caution that teaching material of this program carries.
std::string_view teaching_caution();

}  // namespace canalogue
