#include "export/case_page.hpp"

#include <algorithm>
#include <cstdlib>

#include "app/core/event_rules.hpp"

namespace canalogue::film {

namespace {

int nearest_event(const std::vector<PageEvent>& events, FilmTime at) {
    int best = -1;
    for (std::size_t i = 0; i < events.size(); ++i)
        if (best < 0 || std::llabs(events[i].span.start - at) < std::llabs(events[static_cast<std::size_t>(best)].span.start - at)) best = static_cast<int>(i);
    return best;
}

}  // namespace

CasePage case_page(const CasePageInput& in) {
    CasePage out;
    out.title = in.plan.title.empty() ? "A case" : in.plan.title;
    out.language = in.plan.language;
    out.notice = frame_notice(in.audience);
    out.film_file = in.film_file;
    out.size = in.plan.film.size;
    out.frames_per_second = in.schedule.frames_per_second;
    out.length = in.schedule.length();
    out.captions_burnt = in.plan.film.captions == CaptionStyle::burnt;
    out.about = in.plan.about;
    out.chapters = in.schedule.chapters;
    for (const auto& fe : in.schedule.events) {
        const Event& e = in.events[fe.event];
        if (const EventKind* kind = in.vocabulary.find(e.kind)) out.events.push_back({fe.span, e.ear, kind->symbol, described(e, *kind, FreeText::leave_out)});
    }
    if (!in.cues.empty()) out.tracks.push_back({in.plan.language, in.cues});
    for (const auto& placed : placed_questions(in.plan, in.schedule, in.room)) {
        const Question& q = std::get<Passage>(in.plan.items[placed.item]).questions[placed.number];
        out.questions.push_back({placed.at, q, placed.spot, nearest_event(out.events, placed.at)});
    }
    return out;
}

}  // namespace canalogue::film
