#include "app/desk/rendering.hpp"

#include "app/core/cover.hpp"
#include "app/desk/checking.hpp"
#include "app/desk/deciding.hpp"
#include "app/desk/knowing.hpp"
#include "app/desk/sources.hpp"
#include "app/media/file_hash.hpp"

namespace canalogue::desk {

namespace {

// The tie between an export and its source stays here, in the library.
Result<void> keep_tie(Desk& desk, const RenderWish& wish, const film::RenderReport& report, const std::vector<film::SourceRecording>& sources) {
    auto id = desk.library.next_id(wish.session, "o");
    if (!id) return id.failure();
    nlohmann::json recordings = nlohmann::json::array();
    for (const auto& s : sources) recordings.push_back(s.recording.hash);
    const nlohmann::json body = {{"manifest", report.manifest_hash},
                                 {"audience", name_of(wish.audience)},
                                 {"recordings", recordings},
                                 {"plan", media::hash_bytes(plan_to_json(wish.plan))},
                                 {"held", report.held},
                                 {"private", {{"folder", std::filesystem::absolute(report.folder).string()}, {"reason", wish.reason}}}};
    const std::string verb = std::string(report.held ? "hold export for " : "render for ") + std::string(name_of(wish.audience));
    auto done = desk.library.commit({wish.session, verb, desk.person, {{"export", *id, body}}, false});
    if (!done) return done.failure();
    return {};
}

}  // namespace

Result<Rendered> render(Desk& desk, const RenderWish& wish, const Progress& progress) {
    if (auto s = desk.session(wish.session); !s) return s.failure();
    if (may_identify(wish.audience) && wish.reason.empty())
        return refused("A film for the " + std::string(name_of(wish.audience)) + " audience may identify the patient: give the reason with --reason \"...\", it is recorded.");
    auto vocabulary = desk.vocabulary_of(wish.session);
    if (!vocabulary) return vocabulary.failure();
    auto events = desk.accepted_events(wish.session);
    if (!events) return events.failure();
    auto sources = sources_for(desk, wish.session, wish.audience, progress);
    if (!sources) return sources.failure();
    auto options = check_options(desk, wish.session, wish.passphrase);
    if (!options) return options.failure();
    auto lines = suspects(desk, wish.session);
    if (!lines) return lines.failure();

    film::RenderJob job;
    job.plan = wish.plan;
    job.sources = std::move(*sources);
    job.events = std::move(*events);
    job.vocabulary = &*vocabulary;
    job.audience = wish.audience;
    job.out = wish.out;
    job.replace = wish.replace;
    job.held = desk.library.folder() / "exports" / "held";
    job.check = std::move(*options);
    const auto versions = desk.spotter_versions();
    for (const auto& id : required_spotters()) job.spotters.emplace_back(id, versions.count(id) ? versions.at(id) : "");

    auto report = film::render(job, progress);
    if (!report) return report.failure();
    Rendered out;
    out.report = std::move(*report);
    for (const auto& line : *lines) out.open_suspects += line.suspect.decision.verdict == Verdict::open;
    if (!job.check.known_identifiers)
        if (auto known = count_known(desk, wish.session)) out.known_sealed = *known;
    if (auto kept = keep_tie(desk, wish, out.report, job.sources); !kept) return kept.failure();
    return out;
}

}  // namespace canalogue::desk
