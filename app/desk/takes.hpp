// Recorded narration: takes of a session, kept sealed. A plan's line names the take that says it.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <vector>

#include "app/core/plan.hpp"
#include "app/desk/desk.hpp"
#include "export/voice.hpp"

namespace canalogue::desk {

inline constexpr Nanos kLongestTake = 5 * 60 * kSecond;

Result<std::vector<Take>> takes(const Desk& desk, const std::string& session);

// sound: mono, 16 bits, 48 kHz; silence at its ends is taken off. `says`: its words. Refuses a silent take, one
// that is too long, and one without words. One undoable act, together with the plan that names the take where
// there is one; the take's id.
using PlanWith = std::function<Plan(const std::string& take)>;
Result<std::string> keep_take(Desk& desk, const std::string& session, const std::vector<std::int16_t>& sound, const std::string& says, const PlanWith& plan = {});

// The same from any file with sound.
Result<std::string> keep_take_from(Desk& desk, const std::string& session, const std::filesystem::path& file, const std::string& says, const Progress& progress);

// The take goes from the list; its sound stays sealed until the act can no longer be undone.
Result<void> drop_take(Desk& desk, const std::string& session, const std::string& id);

// Ready for a film: level matched, words placed. `says`: the line's own words.
Result<film::Spoken> take_sound(const Desk& desk, const std::string& session, const std::string& id, const std::string& says);

// Refuses, naming the line, a plan that names a take the session does not have.
Result<void> takes_are_there(const Desk& desk, const std::string& session, const Plan& plan);

}  // namespace canalogue::desk
