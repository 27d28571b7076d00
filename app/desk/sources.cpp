#include "app/desk/sources.hpp"

#include "app/core/cover.hpp"
#include "app/media/file_hash.hpp"

namespace canalogue::desk {

namespace {

Result<void> is_what_it_was(const Recording& r, const Progress& progress) {
    if (r.hash.empty())
        return refused("Recording " + r.id + " is still being read, so it cannot be shown yet: run 'canalogue import --finish' for the session.");
    std::error_code ec;
    if (!std::filesystem::exists(r.path, ec))
        return bad_media("Recording " + r.id + " is not where it was: tell where it is now with 'canalogue import --session ... --find FILE'.");
    auto hash = media::hash_file(r.path, progress);
    if (!hash) return hash.failure();
    if (*hash != r.hash)
        return bad_media("The file of recording " + r.id + " has changed since it was imported: find the original with 'canalogue import --session ... --find FILE'.");
    return {};
}

}  // namespace

Result<std::map<std::string, Covers>> covers_now(Desk& desk, const std::string& session, Audience audience) {
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto suspects = desk.library.all<Suspect>(session);
    if (!suspects) return suspects.failure();
    auto scanned = desk.library.all<Scanned>(session);
    if (!scanned) return scanned.failure();
    // For an audience that may see who it is, only what was decided to be covered is.
    if (may_identify(audience)) std::erase_if(*suspects, [](const Suspect& s) { return s.decision.verdict != Verdict::cover; });
    std::map<std::string, Covers> out;
    for (const auto& r : *recordings) {
        std::vector<Unscanned> gaps;
        if (!may_identify(audience)) gaps = unscanned(r, *scanned, desk.spotter_versions());
        out.emplace(r.id, covers_for(r, *suspects, gaps));
    }
    return out;
}

Result<std::vector<film::SourceRecording>> sources_for(Desk& desk, const std::string& session, Audience audience, const Progress& progress) {
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    if (recordings->empty()) return wrong_use("The session has no recording; import one first.");
    auto covers = covers_now(desk, session, audience);
    if (!covers) return covers.failure();
    std::vector<film::SourceRecording> out;
    for (const auto& r : *recordings) {
        if (auto ok = is_what_it_was(r, progress); !ok) return ok.failure();
        auto index = desk.index(r, progress);
        if (!index) return index.failure();
        out.push_back({r, *index, covers->at(r.id)});
    }
    return out;
}

}  // namespace canalogue::desk
