#include "app/core/plan.hpp"

#include <algorithm>

#include "app/core/text.hpp"

namespace canalogue {

const std::vector<NarrationLine>& narration_of(const PlanItem& item) {
    return std::visit([](const auto& i) -> const std::vector<NarrationLine>& { return i.narration; }, item);
}

void trim(Passage& p, RecordingSpan span) {
    p.span = span;
    std::erase_if(p.holds, [&](const Hold& h) { return !span.holds(h.at); });
    std::erase_if(p.labels, [&](const Label& l) { return l.from >= span.end || l.until < span.start; });
    const auto outside = [&](const auto& each) { return each.from >= span.end || each.until < span.start; };
    std::erase_if(p.pointers, outside);
    std::erase_if(p.places, outside);
    std::erase_if(p.heard, [&](const RecordingSpan& s) { return !s.meets(span); });
    std::erase_if(p.questions, [&](const Question& q) { return !span.holds(q.at); });
    p.ramp = std::min(p.ramp, span.length() / 2);
    if (p.close_up) p.close_up = trimmed(*p.close_up, span);
}

std::size_t move_item(Plan& plan, std::size_t item, std::size_t before) {
    const auto at = [&](std::size_t i) { return plan.items.begin() + static_cast<std::ptrdiff_t>(i); };
    before = std::min(before, plan.items.size());
    if (before > item) {
        std::rotate(at(item), at(item + 1), at(before));
        return before - 1;
    }
    std::rotate(at(before), at(item), at(item + 1));
    return before;
}

Result<void> plan_fits(const Plan& plan, const std::vector<Recording>& recordings) {
    int number = 0;
    for (const auto& item : plan.items) {
        ++number;
        const auto* p = std::get_if<Passage>(&item);
        if (!p) continue;
        const std::string where = "Item " + std::to_string(number) + " of the plan ";
        const auto it = std::find_if(recordings.begin(), recordings.end(), [&](const Recording& each) { return each.id == p->recording; });
        if (it == recordings.end()) return wrong_use(where + "names recording '" + legible(p->recording) + "', which this session does not have.");
        const Recording& r = *it;
        if (p->span.start < r.only.start || p->span.end > r.only.end)
            return wrong_use(where + "reaches beyond its recording, which ends at " + format_time(r.only.end.ns) + ".");
        if (const auto& w = p->view.white; w && (w->over ? w->over->start < r.only.start || w->over->end > r.only.end : !r.only.holds(w->at)))
            return wrong_use(where + "takes its white from an instant that its recording does not have.");
        if (p->close_up)
            if (auto fault = fault_of(*p->close_up, p->span); !fault.empty()) return wrong_use(where + "cannot be shown: " + fault + ".");
        if (p->beside && p->beside->session.empty() && std::none_of(recordings.begin(), recordings.end(), [&](const Recording& each) { return each.id == p->beside->recording; }))
            return wrong_use(where + "shows recording '" + legible(p->beside->recording) + "' beside its own, which this session does not have.");
        if (p->beside)
            for (const auto& other : recordings) {
                const std::string of = p->beside->session.empty() ? p->beside->recording : p->beside->session + "/" + p->beside->recording;
                const auto ear = other.id == of ? other.ear_at(p->beside->meets) : std::nullopt;
                if (other.id == of && (p->beside->meets < other.only.start || p->beside->meets >= other.only.end)) return wrong_use(where + "shows beside it " + format_time(p->beside->meets.ns) + " of '" + legible(of) + "', which goes from " + format_time(other.only.start.ns) + " to " + format_time(other.only.end.ns) + " only.");
                if (ear && *ear != p->beside->ear) return wrong_use(where + "says " + std::string(name_of(p->beside->ear)) + " ear of what stands beside it, but that recording shows the other ear there.");
            }
        for (const auto& e : r.ears)
            if (e.span.meets(p->span) && e.ear != p->ear)
                return wrong_use(where + "says " + std::string(name_of(p->ear)) + " ear, but the recording shows the " + std::string(name_of(e.ear)) + " ear there.");
    }
    return {};
}

}  // namespace canalogue
