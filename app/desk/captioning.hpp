// Captions in other languages that go with a film beside those of its own: files that a person names.
#pragma once

#include "app/core/plan.hpp"
#include "app/desk/desk.hpp"
#include "export/caption_files.hpp"

namespace canalogue::desk {

// Language (BCP 47) and a WebVTT or SubRip file, timed for the film.
using CaptionFiles = std::vector<std::pair<std::string, std::filesystem::path>>;

// Reads them for a film of this plan. Refuses what is no language, the film's own language or one that is named twice,
// and, naming the file, what cannot be read.
Result<std::vector<film::CaptionTrack>> read_captions_also(const CaptionFiles& files, const Plan& plan);

// Those that are kept with a session for its next film; adding one and taking one away, each as one undoable act.
Result<CaptionFiles> kept_captions(const Desk& desk, const std::string& session);
Result<void> add_captions(Desk& desk, const std::string& session, const Plan& plan, const std::string& language, const std::filesystem::path& file);
Result<void> drop_captions(Desk& desk, const std::string& session, const std::string& language);

}  // namespace canalogue::desk
