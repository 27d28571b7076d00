// What the demo's case says about itself and asks: words for a drawn session, every name in them invented.
#pragma once

#include <optional>

#include "app/core/plan.hpp"

namespace canalogue::cli {

About demo_about();

// What is asked when this event is seen; most ask nothing.
std::optional<Question> demo_question(const Event& event);

}  // namespace canalogue::cli
