#include "export/cover_report.hpp"

#include <set>

namespace canalogue::film {

CoverReport report_covers(const Plan& plan, const Schedule& schedule, const std::vector<SourceRecording>& sources) {
    CoverReport out;
    out.original_sound = plan.film.original_sound;
    std::set<std::pair<std::string, Cover>> boxes;
    std::set<std::pair<std::string, RecordingSpan>> hushed;
    for (const auto& piece : schedule.pieces) {
        const auto* passage = std::get_if<Passage>(&plan.items[piece.item]);
        if (!passage) continue;
        const Nanos frame = kSecond / schedule.frames_per_second;
        for (const auto& s : sources) {
            if (s.recording.id != passage->recording) continue;
            for (long n = piece.first; n < piece.first + piece.count; ++n) {
                const RecordingSpan shown = s.index->shown(s.index->at(piece.source(n)));
                if (s.covers.whole_during(shown)) {
                    out.whole += frame;
                    continue;
                }
                bool any = false;
                for (const auto& c : s.covers.picture)
                    if (c.span.meets(shown)) any = true, boxes.insert({s.recording.id, c});
                if (any) out.boxed += frame;
            }
            const std::vector<RecordingSpan> heard = plan.film.original_sound ? std::vector{passage->span} : passage->heard;
            out.original_sound = out.original_sound || !heard.empty();
            for (const auto& h : s.covers.hushed)
                for (const auto& span : heard)
                    if (h.meets(span)) hushed.insert({s.recording.id, h});
        }
    }
    out.boxes = static_cast<int>(boxes.size());
    out.hushed = static_cast<int>(hushed.size());
    return out;
}

}  // namespace canalogue::film
