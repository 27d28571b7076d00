#include "export/passage_key.hpp"

#include <pango/pangocairo.h>

#include <nlohmann/json.hpp>

#include "app/media/file_hash.hpp"
#include "export/passage_pictures.hpp"

namespace canalogue::film {

namespace {

using json = nlohmann::ordered_json;

// To be raised when the same input makes other pictures or packets.
constexpr int kPictures = 5;

// What words look like here: another font or another way of drawing it makes other frames.
std::string words_drawn() {
    Canvas canvas({640, 80});
    canvas.fill(kInk);
    canvas.text(4, 4, "RIGHT EAR Left 0123456789 abcdefgh \u00d7\u2019", {24, true, kMist});
    canvas.text(4, 40, "Session ijklmnopqrstuvwxyz", {24, false, kAmber});
    return media::hash_bytes({reinterpret_cast<const char*>(canvas.pixels()), static_cast<std::size_t>(canvas.stride()) * 80});
}

json program() {
    return {CANALOGUE_VERSION, kPictures, avcodec_version(), avutil_version(), swscale_version(), pango_version_string(), cairo_version_string(), words_drawn()};
}

json span_json(const RecordingSpan& s) { return {s.start.ns, s.end.ns}; }

// Covers that may touch these pictures: a picture stands until the next one, and deinterlacing looks at its neighbours.
constexpr Nanos kAround = 10 * kSecond;

json source_json(const SourceRecording& s, const std::vector<RecordingSpan>& shown, bool all) {
    const Recording& r = s.recording;
    json covers = json::array();
    for (const auto& c : s.covers.picture) {
        bool touches = all;
        for (const auto& span : shown) touches = touches || c.span.meets(RecordingSpan{span.start - kAround, span.end + kAround});
        if (touches) covers.push_back({span_json(c.span), c.whole, c.box.x, c.box.y, c.box.w, c.box.h});
    }
    return {r.hash, r.offset.ns, span_json(r.only), r.stored.w, r.stored.h, static_cast<int>(r.rotation), r.interlaced, r.zero, static_cast<int>(s.look), covers};
}

class Keys {
  public:
    explicit Keys(const KeyInput& in) : in_(in), events_(strip_events({in.plan, in.schedule, in.events, in.vocabulary, in.plan.film.size})) {
        const FilmSettings& f = in.plan.film;
        film_ = {program(), described(f, {in.preset, 0, nullptr, 0}), f.size.w, f.size.h, f.frames_per_second, static_cast<int>(f.captions), static_cast<int>(f.strip),
                 static_cast<int>(f.covers), name_of(in.audience), frame_notice(in.audience)};
    }

    std::string of(std::size_t item) const {
        json key = {film_, words(item), steps(item), events(item)};
        const auto* p = std::get_if<Passage>(&in_.plan.items[item]);
        key.push_back(frames(item));
        if (in_.plan.film.captions == CaptionStyle::burnt) key.push_back(cues(item));
        if (!p) {
            // The last card tells what is changed in the passages' pictures.
            if (item + 1 == in_.plan.items.size()) key.push_back(changes());
            return media::hash_bytes(key.dump());
        }
        // What is reckoned from a whole recording's covered pictures depends on all of its covers.
        const bool all = p->view != ViewChange{} || p->beside;
        for (const auto& s : in_.sources) {
            if (s.recording.id != p->recording && !(p->beside && s.recording.id == source_name(*p->beside))) continue;
            if (s.recording.hash.empty()) return "";
            key.push_back(source_json(s, {p->span}, all));
        }
        return media::hash_bytes(key.dump());
    }

  private:
    json changes() const {
        json out = json::array();
        for (const auto& each : in_.plan.items)
            if (const auto* p = std::get_if<Passage>(&each)) out.push_back({p->view.shape_changed(), p->view.light_changed()});
        return out;
    }

    // The item without what is only heard or asked.
    json words(std::size_t item) const {
        Plan alone;
        alone.items = {in_.plan.items[item]};
        if (auto* card = std::get_if<Card>(&alone.items[0])) card->narration.clear(), card->chapter.clear();
        else {
            auto& p = std::get<Passage>(alone.items[0]);
            p.narration.clear(), p.heard.clear(), p.chapter.clear(), p.questions.clear();
        }
        return plan_to_json(alone);
    }

    // What the strip tells of the other passages: their order and ears.
    json steps(std::size_t item) const {
        json out = json::array();
        if (in_.plan.film.strip == StripStyle::off) return out;
        for (std::size_t i = 0; i < in_.plan.items.size(); ++i)
            if (const auto* p = std::get_if<Passage>(&in_.plan.items[i])) out.push_back({letter_of(p->ear), i < item ? "before" : i == item ? "shown" : "after"});
        return out;
    }

    json events(std::size_t item) const {
        json out = json::array();
        for (const auto& e : events_[item])
            out.push_back({e.kind->name, e.kind->symbol.shape, e.kind->symbol.letter, e.kind->symbol.colour, e.kind->weight, e.at.ns, e.frame - first(item)});
        return out;
    }

    long first(std::size_t item) const {
        for (const auto& piece : in_.schedule.pieces)
            if (piece.item == item) return piece.first;
        return 0;
    }

    // The instant that each frame shows, and whether it is held.
    json frames(std::size_t item) const {
        std::string bytes;
        for (const auto& piece : in_.schedule.pieces) {
            if (piece.item != item) continue;
            for (long n = piece.first; n < piece.first + piece.count; ++n) bytes += std::to_string(piece.source(n).ns) + (piece.held ? "h " : "+" + std::to_string(piece.step_at(n)) + " ");
        }
        return media::hash_bytes(bytes);
    }

    json cues(std::size_t item) const {
        long begin = first(item), count = 0;
        for (const auto& piece : in_.schedule.pieces)
            if (piece.item == item) count += piece.count;
        json out = json::array();
        for (const auto& cue : in_.cues) {
            const long from = std::max(begin, in_.schedule.frame_from(cue.span.start)), until = std::min(begin + count, in_.schedule.frame_from(cue.span.end));
            if (from < until) out.push_back({from - begin, until - begin, cue.lines});
        }
        return out;
    }

    const KeyInput& in_;
    std::vector<std::vector<StripEvent>> events_;
    json film_;
};

}  // namespace

std::vector<std::string> passage_keys(const KeyInput& in) {
    const Keys keys(in);
    std::vector<std::string> out;
    for (std::size_t i = 0; i < in.plan.items.size(); ++i) out.push_back(keys.of(i));
    return out;
}

std::vector<std::string> still_keys(const KeyInput& in, const std::vector<StillWanted>& wanted) {
    std::vector<std::string> out;
    for (const auto& w : wanted) {
        json key = {"still", program(), in.plan.film.size.w, in.plan.film.size.h, frame_notice(in.audience), w.at.ns, letter_of(w.ear), w.words};
        const auto source = std::find_if(in.sources.begin(), in.sources.end(), [&](const SourceRecording& s) { return s.recording.id == w.recording; });
        if (source == in.sources.end() || source->recording.hash.empty()) {
            out.emplace_back();
            continue;
        }
        // It is looked for among its neighbours of the same ear.
        for (const auto& e : source->recording.ears) key.push_back({span_json(e.span), letter_of(e.ear)});
        key.push_back(source_json(*source, {{w.at, w.at + 1}}, false));
        out.push_back(media::hash_bytes(key.dump()));
    }
    return out;
}

}  // namespace canalogue::film
