#include "export/schedule.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::film {

namespace {

// An event that is an instant is called present in the film for this long (for tracks that need an end).
constexpr Nanos kInstant = kSecond;

Nanos speech_length(const std::vector<Nanos>& lines) {
    if (lines.empty()) return 0;
    Nanos total = kBeforeSpeech + kAfterSpeech;
    for (std::size_t i = 0; i < lines.size(); ++i) total += lines[i] + (i ? kBetweenLines : 0);
    return total;
}

class Layout {
  public:
    Layout(const Plan& plan, const std::vector<Event>& events) : plan_(plan), events_(events) {
        out_.frames_per_second = plan.film.frames_per_second;
    }

    Schedule run(const NarrationLengths& narration) {
        for (std::size_t i = 0; i < plan_.items.size(); ++i) {
            const std::vector<Nanos> lines = i < narration.size() ? narration[i] : std::vector<Nanos>{};
            const long first = out_.frames;
            if (const auto* card = std::get_if<Card>(&plan_.items[i])) {
                lay_card(i, *card, lines);
                open_chapter(card->chapter, first);
            } else {
                const auto& passage = std::get<Passage>(plan_.items[i]);
                lay_passage(i, passage, lines);
                open_chapter(passage.chapter, first);
                place_events(passage, first);
            }
            place_lines(i, lines, first);
        }
        return std::move(out_);
    }

  private:
    long frames_for(Nanos t) const {
        return std::max(1L, static_cast<long>((t * out_.frames_per_second + kSecond - 1) / kSecond));
    }

    void add(Piece piece) {
        piece.first = out_.frames;
        out_.frames += piece.count;
        out_.pieces.push_back(piece);
    }

    void open_chapter(const std::string& title, long first) {
        if (!title.empty()) out_.chapters.push_back({out_.time_of(first), title});
    }

    void lay_card(std::size_t item, const Card& card, const std::vector<Nanos>& lines) {
        out_.paces.push_back(1.0);
        add({item, 0, frames_for(std::max(card.length, speech_length(lines))), {0}, 0, true});
    }

    void lay_passage(std::size_t item, const Passage& p, const std::vector<Nanos>& lines) {
        Nanos held = 0;
        for (const auto& h : p.holds) held += h.length;
        const Nanos wanted = speech_length(lines);
        double pace = p.pace;
        const auto run = static_cast<double>(p.span.length());
        if (run / pace + static_cast<double>(held) < static_cast<double>(wanted)) {
            const Nanos room = std::max<Nanos>(1, wanted - held);
            pace = std::clamp(run / static_cast<double>(room), std::min(p.pace, kSlowestToFit), p.pace);
        }
        out_.paces.push_back(pace);
        const long begun = out_.frames;
        RecordingTime at = p.span.start;
        for (const auto& h : p.holds) {
            at = lay_run(item, at, h.at, pace);
            add({item, 0, frames_for(h.length), h.at, 0, true});
        }
        at = lay_run(item, at, p.span.end, pace);
        const long missing = frames_for(wanted) - (out_.frames - begun);
        // What slowing could not fit, a hold on the last picture does.
        if (wanted > 0 && missing > 0) add({item, 0, missing, {std::max(p.span.start.ns, p.span.end.ns - 1)}, 0, true});
    }

    RecordingTime lay_run(std::size_t item, RecordingTime from, RecordingTime until, double pace) {
        if (until <= from) return from;
        const double step = pace * static_cast<double>(kSecond) / out_.frames_per_second;
        const long count = std::max(1L, std::lround(static_cast<double>(until - from) / step));
        add({item, 0, count, from, step, false});
        return until;
    }

    void place_lines(std::size_t item, const std::vector<Nanos>& lines, long first) {
        FilmTime at = out_.time_of(first) + kBeforeSpeech;
        for (std::size_t i = 0; i < lines.size(); ++i) {
            out_.lines.push_back({item, i, at, lines[i]});
            at = at + lines[i] + kBetweenLines;
        }
    }

    // The film time at which the recording's instant t is shown for the first time since frame `first`.
    FilmTime film_time(RecordingTime t, long first) const {
        for (const auto& piece : out_.pieces) {
            if (piece.first < first) continue;
            if (piece.held && piece.from == t) return out_.time_of(piece.first);
            if (piece.step <= 0) continue;
            const double k = static_cast<double>(t - piece.from) / piece.step;
            if (k >= 0 && k < static_cast<double>(piece.count)) return out_.time_of(piece.first + static_cast<long>(k));
        }
        return out_.time_of(out_.frames - 1);
    }

    void place_events(const Passage& p, long first) {
        const FilmTime end = out_.time_of(out_.frames);
        for (std::size_t i = 0; i < events_.size(); ++i) {
            const Event& e = events_[i];
            if (e.recording != p.recording || e.ear != p.ear) continue;
            const RecordingTime until = e.until.value_or(e.at);
            const bool shown = p.span.holds(e.at) || (e.until && e.at < p.span.end && until > p.span.start);
            if (!shown) continue;
            const FilmTime from = film_time(std::max(e.at, p.span.start), first);
            FilmTime to = e.until ? film_time(std::min(until, p.span.end - 1), first) : from + kInstant;
            to = std::min(std::max(to, from + kMillisecond), end);
            out_.events.push_back({i, {from, to}});
        }
    }

    const Plan& plan_;
    const std::vector<Event>& events_;
    Schedule out_;
};

}  // namespace

const Piece& Schedule::piece_at(long frame) const {
    const auto after = std::upper_bound(pieces.begin(), pieces.end(), frame, [](long f, const Piece& p) { return f < p.first; });
    return *(after - 1);
}

VoiceFit voice_fit(const Plan& plan, const Schedule& schedule, const NarrationLengths& narration, std::size_t item) {
    VoiceFit fit;
    fit.needed = item < narration.size() ? speech_length(narration[item]) : 0;
    fit.pace = schedule.paces[item];
    if (fit.needed == 0) return fit;
    if (const auto* card = std::get_if<Card>(&plan.items[item])) {
        fit.stands = std::max<Nanos>(0, fit.needed - card->length);
        return fit;
    }
    const auto& passage = std::get<Passage>(plan.items[item]);
    fit.slowed = fit.pace < passage.pace - 0.005;
    // Each hold of the plan is one piece; what is held after them is held for the voice.
    std::size_t holds = passage.holds.size();
    for (const auto& piece : schedule.pieces) {
        if (piece.item != item || !piece.held) continue;
        if (holds > 0) --holds;
        else fit.stands += schedule.time_of(piece.count).ns;
    }
    fit.too_long = std::max<Nanos>(0, fit.stands - kLongestStand);
    return fit;
}

Schedule schedule(const Plan& plan, const std::vector<Event>& events, const NarrationLengths& narration) {
    Schedule out = Layout(plan, events).run(narration);
    std::stable_sort(out.events.begin(), out.events.end(), [](const FilmEvent& a, const FilmEvent& b) { return a.span < b.span; });
    return out;
}

}  // namespace canalogue::film
