#include "app/desk/adjusting.hpp"

#include <algorithm>

namespace canalogue::desk {

namespace {

struct Found {
    Suspect suspect;
    Recording recording;
};

Result<Found> find(Desk& desk, const std::string& session, const std::string& id) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto suspect = desk.library.find<Suspect>(session, id);
    if (!suspect) return suspect.failure();
    if (!*suspect) return wrong_use("There is no suspect '" + id + "' in this session; 'canalogue suspects' lists them.");
    auto recording = desk.library.find<Recording>(session, (*suspect)->recording);
    if (!recording) return recording.failure();
    if (!*recording) return machine_trouble("The suspect's recording is missing from the library; run 'canalogue selfcheck'.");
    return Found{std::move(**suspect), std::move(**recording)};
}

bool by_hand(const Suspect& s) { return s.spotter == "by hand"; }

Result<void> keep(Desk& desk, const std::string& session, const std::string& verb, std::vector<store::Change> changes) {
    auto done = desk.library.commit({session, verb, desk.person, std::move(changes)});
    if (!done) return done.failure();
    return {};
}

}  // namespace

Result<void> widen(Desk& desk, const std::string& session, const std::string& id, int pixels) {
    auto found = find(desk, session, id);
    if (!found) return found.failure();
    Suspect& s = found->suspect;
    if (s.track.empty()) return wrong_use("'" + id + "' has no box to widen.");
    if (pixels < 0 && !by_hand(s)) return refused("What a spotter found is not made smaller: judge it harmless, or cover a part of it by hand.");
    const Size picture = upright_size(found->recording.stored, found->recording.rotation);
    for (auto& p : s.track) {
        const UprightBox grown{p.box.x - pixels, p.box.y - pixels, p.box.w + 2 * pixels, p.box.h + 2 * pixels};
        p.box = common(grown, UprightBox{0, 0, picture.w, picture.h});
        if (p.box.w < 4 || p.box.h < 4) return wrong_use("The box would be too small to cover anything.");
    }
    return keep(desk, session, "widen suspect " + id, {store::put(s)});
}

Result<std::string> split(Desk& desk, const std::string& session, const std::string& id, RecordingTime at) {
    auto found = find(desk, session, id);
    if (!found) return found.failure();
    Suspect first = found->suspect, second = found->suspect;
    if (at <= first.span.start || at >= first.span.end) return wrong_use("'" + id + "' is not there at that time: go to a frame in the middle of it.");
    first.span.end = second.span.start = at;
    if (!first.track.empty()) {
        UprightBox box = first.track.front().box;
        for (const auto& p : first.track)
            if (p.t <= at) box = p.box;
        std::erase_if(first.track, [&](const TrackPoint& p) { return p.t >= at; });
        std::erase_if(second.track, [&](const TrackPoint& p) { return p.t <= at; });
        if (first.track.empty()) first.track.push_back({first.span.start, box});
        second.track.insert(second.track.begin(), {at, box});
    }
    auto fresh = desk.library.next_id(session, "x");
    if (!fresh) return fresh.failure();
    second.id = *fresh;
    if (auto done = keep(desk, session, "split suspect " + id, {store::put(first), store::put(second)}); !done) return done.failure();
    return *fresh;
}

Result<void> set_span(Desk& desk, const std::string& session, const std::string& id, RecordingSpan span) {
    auto found = find(desk, session, id);
    if (!found) return found.failure();
    Suspect& s = found->suspect;
    const RecordingSpan within{std::max(span.start, found->recording.only.start), std::min(span.end, found->recording.only.end)};
    if (within.empty()) return wrong_use("The span would be empty; choose a later end.");
    if (!by_hand(s) && (within.start > s.span.start || within.end < s.span.end)) return refused("What a spotter found is not cut short: judge it harmless, or split it and judge a part.");
    // A judgement of what a film's check found holds for the time that was judged, and for no more.
    if (s.spotter == kSpottedInFilm && s.decision.verdict == Verdict::harmless && within != s.span) s.decision = {};
    s.span = within;
    return keep(desk, session, "change the span of suspect " + id, {store::put(s)});
}

}  // namespace canalogue::desk
