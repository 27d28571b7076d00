// What whoever publishes a film needs beside it, in a folder of its own: title, description with chapters, tags,
// thumbnail, credits, and how much of what a good film of a procedure shows is there.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/core/assessment.hpp"
#include "app/core/result.hpp"
#include "export/case_page.hpp"

namespace canalogue::film {

inline constexpr const char* kPublishingFolder = "publishing";
inline constexpr Nanos kShortestPublishedChapter = 10 * kSecond;  // what hosts of films ask for (common practice)
inline constexpr Size kThumbnail{1280, 720};

// The chapters as hosts of films read them: the first at 0:00, each at least ten seconds long (common practice). What
// is shorter is told together with the one before it.
std::vector<Chapter> published_chapters(const std::vector<Chapter>& chapters, Nanos length);

std::string description_text(const CasePage& page);
std::string checklist_text(const Assessment& assessment);

// Writes publishing/ into an export folder that has its poster.
Result<void> write_publishing(const std::filesystem::path& folder, const CasePage& page, const Assessment& assessment);

}  // namespace canalogue::film
