#include "app/desk/recalibrating.hpp"

#include <algorithm>

#include "app/core/text.hpp"
#include "app/desk/gauging.hpp"

namespace canalogue::desk {

namespace {

constexpr const char* kOutside = "outside";  // the spotter
constexpr const char* kInside = "inside";    // the gauge's channel

Result<std::vector<Trace>> inside_of(Desk& desk, const std::string& session, const std::string& recording) {
    auto all = traces(desk, session);
    if (!all) return all;
    std::erase_if(*all, [&](const Trace& t) { return t.recording != recording || t.channel != kInside; });
    return all;
}

Result<Recording> marked(Desk& desk, const RecalibrateWish& wish) {
    auto recordings = desk.recordings(wish.session);
    if (!recordings) return recordings.failure();
    const bool forget = wish.inside.empty() && wish.outside.empty();
    for (auto& r : *recordings) {
        const auto whole = r.session_span();
        const auto holds = [&](const SessionSpan& s) { return whole.start <= s.start && s.end <= whole.end && !s.empty(); };
        const bool all = std::all_of(wish.inside.begin(), wish.inside.end(), holds) && std::all_of(wish.outside.begin(), wish.outside.end(), holds);
        if (forget ? r.id != wish.recording : !all) continue;
        r.view_marks.clear();
        const auto add = [&](const std::vector<SessionSpan>& spans, bool inside) {
            for (const auto& s : spans) r.view_marks.push_back({{r.recording_time(s.start), r.recording_time(s.end)}, inside});
        };
        add(wish.inside, true), add(wish.outside, false);
        return r;
    }
    return forget ? wrong_use("There is no recording '" + legible(wish.recording) + "' in this session.")
                  : wrong_use("The marks do not lie in one recording of this session, or one ends before it begins; 'canalogue show SESSION' tells where recordings begin and end.");
}

}  // namespace

Result<ViewReads> view_reads(Desk& desk, const std::string& session, const Recording& recording) {
    if (recording.view_marks.empty()) return ViewReads{};
    auto inside = inside_of(desk, session, recording.id);
    if (!inside) return inside.failure();
    const auto reads = reads_at(recording.view_marks, *inside);
    return reads && apart(*reads) ? *reads : ViewReads{};
}

Result<Recalibrated> recalibrate(Desk& desk, const RecalibrateWish& wish, const Progress& progress) {
    if (auto s = desk.session(wish.session); !s) return s.failure();
    const bool forget = wish.inside.empty() && wish.outside.empty();
    if (!forget && (wish.inside.size() < kMarksOfEach || wish.outside.size() < kMarksOfEach))
        return wrong_use("Mark at least two spans inside the ear and two outside, each of a second or more.");
    auto r = marked(desk, wish);
    if (!r) return r.failure();
    Recalibrated out{r->id, {}, 0};
    if (!forget) {
        if (auto ok = measure(desk, wish.session, progress); !ok) return ok.failure();
        auto inside = inside_of(desk, wish.session, r->id);
        if (!inside) return inside.failure();
        const auto reads = reads_at(r->view_marks, *inside);
        if (!reads) return refused("Nothing was measured at these marks, so nothing was changed: mark longer spans, and see that the gauge 'View' is installed ('canalogue plugins').");
        if (!apart(*reads)) return refused("The view reads alike in what you marked as inside and as outside, so nothing was changed: cover by hand what is outside.");
        out.reads = *reads;
    }
    std::vector<store::Change> changes{store::put(*r)};
    auto suspects = desk.library.all<Suspect>(wish.session);
    if (!suspects) return suspects.failure();
    for (const auto& s : *suspects) {
        const bool own = s.recording == r->id && s.kind == SuspectKind::outside && s.field.empty() && s.spotter.rfind(std::string(kOutside) + " ", 0) == 0;
        if (!own || s.decision.verdict != Verdict::open) continue;
        changes.push_back({store::Stored<Suspect>::kind, s.id, std::nullopt});
        ++out.withdrawn;
    }
    auto looked = desk.library.each(wish.session, store::Stored<Scanned>::kind, [&](const std::string& id, const std::string&, const std::function<store::json()>& open) {
        const Scanned mark = open().get<Scanned>();
        if (mark.recording == r->id && mark.spotter == kOutside && mark.version != "watched") changes.push_back({store::Stored<Scanned>::kind, id, std::nullopt});
    });
    if (!looked) return looked.failure();
    auto done = desk.library.commit({wish.session, forget ? "forget the marks of the view" : "mark what is inside and outside", desk.person, std::move(changes)});
    if (!done) return done.failure();
    return out;
}

}  // namespace canalogue::desk
