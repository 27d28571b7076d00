// A session's recordings made ready for a render: found by hash, indexed, with the covers that an
// audience requires.
#pragma once

#include "app/core/audience.hpp"
#include "app/desk/desk.hpp"
#include "export/picture_source.hpp"

namespace canalogue::desk {

// The covers of each recording of a session for an audience, by the recording's id. Looks at no file.
Result<std::map<std::string, Covers>> covers_now(Desk& desk, const std::string& session, Audience audience);

// Refuses provisional recordings (their hash is not known yet) and files whose content has changed.
Result<std::vector<film::SourceRecording>> sources_for(Desk& desk, const std::string& session, Audience audience, const Progress& progress);

}  // namespace canalogue::desk
