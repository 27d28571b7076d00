#include "export/shown_in_film.hpp"

#include <algorithm>
#include <tuple>

#include "export/passage_pictures.hpp"

namespace canalogue::film {

namespace {

constexpr Nanos kAround = kSecond / 2;      // a face is looked for twice a second
constexpr Nanos kCloseTogether = kSecond;   // then it is one thing to judge

// Sound comes from the passage's own recording alone.
std::vector<ShownInstant> shown_of_kind(SuspectKind kind, const Plan& plan, const Schedule& schedule, FilmTime t) {
    auto out = shown_in_film(plan, schedule, t);
    if (kind == SuspectKind::speech && out.size() > 1) out.resize(1);
    return out;
}

void join(std::vector<FoundInRecording>& found) {
    std::sort(found.begin(), found.end(), [](const FoundInRecording& a, const FoundInRecording& b) { return std::tie(a.recording, a.kind, a.span) < std::tie(b.recording, b.kind, b.span); });
    std::vector<FoundInRecording> out;
    for (const auto& f : found) {
        if (out.empty() || out.back().recording != f.recording || out.back().kind != f.kind || f.span.start - out.back().span.end > kCloseTogether) {
            out.push_back(f);
            continue;
        }
        out.back().span.end = std::max(out.back().span.end, f.span.end);
        out.back().sureness = std::max(out.back().sureness, f.sureness);
    }
    found = std::move(out);
}

}  // namespace

std::vector<ShownInstant> shown_in_film(const Plan& plan, const Schedule& schedule, FilmTime t) {
    const long frame = t.ns * schedule.frames_per_second / kSecond;
    if (t.ns < 0 || frame >= schedule.frames) return {};
    const Piece& piece = schedule.piece_at(frame);
    const auto* passage = std::get_if<Passage>(&plan.items[piece.item]);
    if (!passage) return {};
    const RecordingTime at = piece.source(frame);
    const double pace = static_cast<double>(piece.step_at(frame) * schedule.frames_per_second) / static_cast<double>(kSecond);
    std::vector<ShownInstant> out{{passage->recording, at, pace}};
    if (passage->beside) out.push_back({source_name(*passage->beside), passage->beside->meets + (at - passage->beside->with), pace});
    return out;
}

MadeHow made_how(const Plan& plan, const Schedule& schedule, FilmTime t) {
    const auto shown = shown_in_film(plan, schedule, t);
    if (shown.empty()) return {};
    const long frame = t.ns * schedule.frames_per_second / kSecond;
    return {shown.front().pace, std::get<Passage>(plan.items[schedule.piece_at(frame).item]).view};
}

std::vector<FoundInRecording> found_in_recordings(const CheckReport& report, const Plan& plan, const Schedule& schedule,
                                                  const std::function<std::optional<ShownInstant>(const std::string& still)>& origin) {
    std::vector<FoundInRecording> out;
    for (const auto& look : report.looks)
        for (const auto& place : look.places) {
            if (!place.kind) continue;
            if (const auto from = origin && !place.still.empty() ? origin(place.still) : std::nullopt)
                out.push_back({from->recording, *place.kind, {from->at - kAround, from->at + kAround}, place.sureness});
            for (const FilmTime t : place.seen)
                for (const auto& shown : shown_of_kind(*place.kind, plan, schedule, t)) {
                    const auto around = static_cast<Nanos>(static_cast<double>(kAround) * std::max(1.0, shown.pace));
                    out.push_back({shown.recording, *place.kind, {shown.at - around, shown.at + around}, place.sureness});
                }
        }
    join(out);
    return out;
}

bool judged_at(const std::vector<Suspect>& judged, SuspectKind kind, FilmTime t, const Plan& plan, const Schedule& schedule) {
    const auto shown = shown_of_kind(kind, plan, schedule, t);
    return !shown.empty() && std::all_of(shown.begin(), shown.end(), [&](const ShownInstant& s) {
        return std::any_of(judged.begin(), judged.end(), [&](const Suspect& j) { return j.recording == s.recording && j.kind == kind && j.span.holds(s.at); });
    });
}

}  // namespace canalogue::film
