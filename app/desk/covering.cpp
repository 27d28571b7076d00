#include "app/desk/covering.hpp"

#include <algorithm>

#include "app/core/text.hpp"

namespace canalogue::desk {

Result<std::vector<Suspect>> cover(Desk& desk, const CoverWish& wish) {
    if (auto s = desk.session(wish.session); !s) return s.failure();
    if (wish.span.empty()) return wrong_use("--until must be later than --from.");
    auto reason = one_line(wish.reason, "The reason");
    if (!reason) return reason.failure();
    auto recordings = desk.recordings(wish.session);
    if (!recordings) return recordings.failure();
    std::vector<store::Change> changes;
    std::vector<Suspect> made;
    for (const auto& r : *recordings) {
        const RecordingSpan part{std::max(r.recording_time(wish.span.start), r.only.start), std::min(r.recording_time(wish.span.end), r.only.end)};
        if (part.empty()) continue;
        Suspect s;
        s.recording = r.id;
        s.span = part;
        s.sureness = 1;
        s.spotter = "by hand";
        s.decision = {Verdict::cover, *reason, desk.person};
        s.kind = wish.what == CoverWish::What::sound ? SuspectKind::speech : wish.what == CoverWish::What::whole ? SuspectKind::outside : SuspectKind::text;
        if (wish.what == CoverWish::What::box) {
            const Size picture = upright_size(r.stored, r.rotation);
            const UprightBox inside = common(wish.box, UprightBox{0, 0, picture.w, picture.h});
            if (inside.empty())
                return wrong_use("The box lies outside the picture, which is " + std::to_string(picture.w) + " by " + std::to_string(picture.h) + " pixels.");
            s.track = {{part.start, inside}};
        }
        auto id = desk.library.next_id(wish.session, "x");
        if (!id) return id.failure();
        s.id = *id;
        made.push_back(s);
        changes.push_back(store::put(s));
    }
    if (changes.empty()) return wrong_use("No recording of the session lies in that span; nothing was covered.");
    auto done = desk.library.commit({wish.session, "cover by hand", desk.person, std::move(changes)});
    if (!done) return done.failure();
    return made;
}

}  // namespace canalogue::desk
