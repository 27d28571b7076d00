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
        const auto needed = static_cast<double>(wanted - held);
        if (run_time(p, pace) < needed) {
            // The pace at which the picture lasts as long as the voice; slowing is monotone, so halving finds it.
            double slow = std::min(p.pace, kSlowestToFit), quick = p.pace;
            for (int i = 0; i < 40 && run_time(p, slow) > needed; ++i) {
                const double middle = (slow + quick) / 2;
                (run_time(p, middle) < needed ? quick : slow) = middle;
            }
            pace = slow;
        }
        out_.paces.push_back(pace);
        const long begun = out_.frames;
        RecordingTime at = p.span.start;
        const Nanos ramp = ramp_of(p, pace);
        for (const auto& h : p.holds) {
            at = lay_with_ramps(item, p, at, h.at, pace, ramp);
            add({item, 0, frames_for(h.length), h.at, 0, true});
        }
        at = lay_with_ramps(item, p, at, p.span.end, pace, ramp);
        const long missing = frames_for(wanted) - (out_.frames - begun);
        // What slowing could not fit, a hold on the last picture does.
        if (wanted > 0 && missing > 0) add({item, 0, missing, {std::max(p.span.start.ns, p.span.end.ns - 1)}, 0, true});
    }

    // A ramp only where there is another pace to ramp to.
    static Nanos ramp_of(const Passage& p, double pace) { return std::abs(pace - 1) < 0.01 ? 0 : std::min(p.ramp, p.span.length() / 2); }

    // How long the passage runs without its holds. Over a ramp, the mean pace is half way between 1 and the passage's own.
    static double run_time(const Passage& p, double pace) {
        const auto ramps = static_cast<double>(2 * ramp_of(p, pace)), whole = static_cast<double>(p.span.length());
        return (whole - ramps) / pace + ramps / ((1 + pace) / 2);
    }

    // From `from` to `until`, with what of the ramps at the passage's ends lies in between.
    RecordingTime lay_with_ramps(std::size_t item, const Passage& p, RecordingTime from, RecordingTime until, double pace, Nanos ramp) {
        const RecordingTime up = p.span.start + ramp, down = p.span.end - ramp;
        const auto pace_at = [&](RecordingTime t) {
            if (ramp == 0) return pace;
            const double u = std::min({1.0, static_cast<double>(t - p.span.start) / static_cast<double>(ramp), static_cast<double>(p.span.end - t) / static_cast<double>(ramp)});
            // In film time the pace grows evenly; over the recording, its square does.
            return std::sqrt(1 + (pace * pace - 1) * std::max(0.0, u));
        };
        const auto lay = [&](RecordingTime to) {
            to = std::clamp(to, from, until);
            lay_run(item, from, to, pace_at(from), pace_at(to));
            from = to;
        };
        lay(up), lay(down), lay(until);
        return until;
    }

    void lay_run(std::size_t item, RecordingTime from, RecordingTime until, double first, double last) {
        if (until <= from) return;
        const double natural = static_cast<double>(kSecond) / out_.frames_per_second, length = static_cast<double>(until - from);
        const long count = std::max(1L, std::lround(length / ((first + last) / 2 * natural)));
        // Ramps are fitted to whole frames so that none is shown twice or left out; an even pace is exact, and its last frame
        // is shorter or longer.
        if (first == last) return add({item, 0, count, from, first * natural, false});
        const auto n = static_cast<double>(count);
        const double scale = length / (n * (first + last) / 2);
        add({item, 0, count, from, first * scale, false, (last - first) * scale / n});
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
            if (piece.held || t < piece.from || t >= piece.source(piece.first + piece.count)) continue;
            const double k = frames_until(piece, t);
            if (k < static_cast<double>(piece.count)) return out_.time_of(piece.first + static_cast<long>(k));
        }
        return out_.time_of(out_.frames - 1);
    }

    // n * step + n * n / 2 * gain = t, solved for n in the form that keeps its digits for a small gain.
    static double frames_until(const Piece& piece, RecordingTime t) {
        const auto d = static_cast<double>(t - piece.from);
        return 2 * d / (piece.step + std::sqrt(std::max(0.0, piece.step * piece.step + 2 * piece.gain * d)));
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
