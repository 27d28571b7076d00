#include "demo_media/labelled/truth_book.hpp"

#include <cmath>

namespace canalogue::demo::labelled {

namespace {

using Json = nlohmann::ordered_json;

// Boxes of things outside hold for steps of this many seconds, each box all its step's frames.
constexpr double kStep = 0.1;

double rounded(double v) {
    return std::round(v * 10000) / 10000;
}

Json span(double start, double end) {
    return {{"start", rounded(start)}, {"end", rounded(end)}};
}

}  // namespace

// step 0: a new box whenever it changes; otherwise boxes that hold all of a step.
void TruthBook::follow(Tracks& tracks, const cv::Rect& box, double t, double until, double last, double step) {
    if (tracks.empty() || tracks.back().end < last + 1e-9) tracks.push_back({t, until, {{t, box}}});
    Track& track = tracks.back();
    track.end = until;
    Box& now = track.boxes.back();
    if (now.box == box) return;
    if (t - now.t < step - 1e-9)
        now.box |= box;
    else
        track.boxes.push_back({t, box});
}

void TruthBook::add(const MadeFrame& frame, int number) {
    const auto n = std::size_t(number);
    const double t = recipe_.times[n], before = n > 0 ? recipe_.times[n - 1] : -1;
    const double until = n + 1 < recipe_.times.size() ? recipe_.times[n + 1] : recipe_.seconds;
    // A track that ended with the frame before the last is another one.
    const double last = n > 0 ? (before + t) / 2 : -1;
    for (const Place& p : frame.text) follow(text_[std::size_t(p.thing)], p.box, t, until, last, 0);
    for (const Place& p : frame.seen) follow(seen_[{frame.outing, p.thing}], p.box, t, until, last, kStep);
}

Json TruthBook::tracks(const Tracks& list, const Json& head) const {
    Json out = Json::array();
    for (const Track& k : list) {
        Json entry = head;
        entry.update(span(k.start, k.end));
        Json boxes = Json::array();
        for (const Box& b : k.boxes)
            boxes.push_back({{"t", rounded(b.t)}, {"x", b.box.x}, {"y", b.box.y}, {"w", b.box.width}, {"h", b.box.height}});
        entry["boxes"] = boxes;
        out.push_back(entry);
    }
    return out;
}

Json TruthBook::written(const OutsideView& outside, const Sound& sound, const std::string& file) const {
    const Recipe& r = recipe_;
    Json out{{"seed", r.seed}, {"apart", r.apart}, {"made", r.made}, {"file", file}};
    out["size"] = {{"w", r.form.size.width}, {"h", r.form.size.height}};
    out["rate"] = r.form.rate, out["variable"] = r.form.variable, out["interlaced"] = r.form.interlaced;
    out["frames"] = r.times.size(), out["seconds"] = r.seconds;
    if (r.form.variable) out["times"] = r.times;
    out["text"] = Json::array(), out["faces"] = Json::array(), out["room_text"] = Json::array();
    for (std::size_t i = 0; i < text_.size(); ++i) {
        const Json head{{"what", r.text[i].what}, {r.text[i].clock ? "pattern" : "words", r.text[i].words}};
        for (const Json& entry : tracks(text_[i], head)) out["text"].push_back(entry);
    }
    for (const auto& [key, list] : seen_) {
        const Thing& thing = outside.canvas(key.first).things[std::size_t(key.second)];
        const bool written = thing.what == "text";
        const Json head = written ? Json{{"words", thing.words}, {"photograph", thing.photograph}}
                                  : Json{{"what", thing.what}, {"photograph", thing.photograph}};
        for (const Json& entry : tracks(list, head)) out[written ? "room_text" : "faces"].push_back(entry);
    }
    out["photographs"] = outside.files();
    out["outside"] = Json::array(), out["either"] = Json::array();
    for (const Outing& o : r.outside) {
        out["outside"].push_back(span(o.start, o.end));
        if (o.start > 0) out["either"].push_back(span(o.start, o.start + o.fade));
        if (o.end < r.seconds) out["either"].push_back(span(o.end - o.fade, o.end));
    }
    out["spoken"] = Json::array();
    for (const HeardSpan& s : sound.spoken) {
        Json entry = span(s.start, s.end);
        entry["words"] = s.words, entry["name"] = s.name, entry["real"] = s.real;
        entry["snr_db"] = std::round(s.snr_db * 10) / 10;
        out["spoken"].push_back(entry);
    }
    out["suction"] = Json::array();
    for (const auto& [start, end] : r.noise.suction_on) out["suction"].push_back(span(start, end));
    out["metadata"] = Json::object();
    for (const auto& [field, value] : r.metadata) out["metadata"][field] = value;
    if (!r.handler.empty()) out["metadata"]["handler_name"] = r.handler;
    if (!r.chapter.empty()) out["metadata"]["chapter"] = r.chapter;
    if (!r.attachment.empty()) out["metadata"]["attachment"] = r.attachment;
    return out;
}

}  // namespace canalogue::demo::labelled
