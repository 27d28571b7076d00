// Scores the spotters on labelled sessions (demo_media/labelled): one line of JSON for each folder named.
//     canalogue-privacy-score FOLDER...
// Everything is measured on the covers that a film for learners would have, and on those of each kind of
// suspect alone. Pixels and seconds of the truth are counted, not detections.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>
#include <set>

#include "app/core/cover.hpp"
#include "app/desk/deciding.hpp"
#include "app/desk/importing.hpp"
#include "app/desk/scanning.hpp"
#include "app/desk/sources.hpp"
#include "app/media/frame_reader.hpp"

namespace {

using namespace canalogue;
namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;
using Clock = std::chrono::steady_clock;

constexpr int kFewestPixels = 12;
constexpr std::uint8_t kText = 1, kPerson = 2, kRoomText = 3;

double since(Clock::time_point t) { return std::chrono::duration<double>(Clock::now() - t).count(); }

[[noreturn]] void give_up(const Failure& f) {
    std::fprintf(stderr, "canalogue-privacy-score: %s\n", f.sentence.c_str());
    std::exit(5);
}
template <class T>
T need(Result<T> r) {
    if (!r) give_up(r.failure());
    return std::move(*r);
}

cv::Mat1b mask_of(const Covers& covers, RecordingSpan shown, Size stored) {
    cv::Mat1b out(stored.h, stored.w, std::uint8_t{0});
    for (const auto& b : covers.boxes_during(shown, stored)) out(cv::Rect(b.x, b.y, b.w, b.h) & cv::Rect(0, 0, stored.w, stored.h)).setTo(255);
    return out;
}

struct Share {
    double found = 0, all = 0;
    void add(const cv::Mat& wanted, const cv::Mat& covered, double seconds) {
        all += seconds * cv::countNonZero(wanted);
        found += seconds * cv::countNonZero(cv::Mat(wanted & covered));
    }
    Json json() const { return all > 0 ? Json(found / all) : Json(); }
};

std::string lower(std::string s) {
    for (char& c : s) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return s;
}

// Where something went wrong: spans of neighbouring frames, in seconds.
struct Spans {
    std::vector<std::pair<double, double>> all;
    void add(double start, double seconds) {
        if (!all.empty() && start - all.back().second < .2) all.back().second = start + seconds;
        else all.push_back({start, start + seconds});
    }
    Json json() const {
        Json out = Json::array();
        for (const auto& [a, b] : all) out.push_back({std::round(a * 100) / 100, std::round(b * 100) / 100});
        return out;
    }
};

class Scoring {
  public:
    explicit Scoring(const fs::path& folder) : truth_(Json::parse(std::ifstream(folder / "truth.json"))), folder_(folder) {}

    Json run() {
        const fs::path library = fs::temp_directory_path() / ("canalogue-score-" + std::to_string(::getpid()));
        fs::remove_all(library);
        auto desk = need(desk::Desk::open(library, "bench"));
        desk::ImportWish wish;
        wish.session = "s1", wish.files = {folder_ / truth_["file"].get<std::string>()}, wish.ear = Ear::right;
        need(desk::import_recordings(desk, wish, [](const desk::Imported&) {}, {}));
        recording_ = need(desk.recordings("s1")).at(0);
        auto start = Clock::now();
        const auto report = need(desk::scan(desk, "s1", {}));
        const double scan_seconds = since(start);
        for (const auto& line : need(desk::suspects(desk, "s1"))) {
            if (line.unscanned_by.empty()) suspects_.push_back(line.suspect);
            else unscanned_ += 1;
        }
        covers_ = need(desk::covers_now(desk, "s1", Audience::learners)).at(recording_.id);
        for (const auto kind : {SuspectKind::text, SuspectKind::face, SuspectKind::outside, SuspectKind::speech}) alone_[kind] = covers_for(recording_, of(kind), {});
        ideal_ = ideal_covers();
        index_ = need(desk.index(recording_, {}));
        const double decode_seconds = look_through();
        fs::remove_all(library);
        return result(scan_seconds, decode_seconds, report.troubles);
    }

  private:
    // What the truth would have covered, had it been a spotter that looks twice a second.
    Covers ideal_covers() const {
        std::vector<Suspect> known;
        for (const auto& item : truth_["text"]) {
            Suspect s{"t" + std::to_string(known.size()), "s1", recording_.id, SuspectKind::text, {}, {}, 1, "truth 1", "", {}};
            const double start = item["start"], end = item["end"];
            s.span = {{nanos_from_seconds(std::max(0., start - .5))}, {nanos_from_seconds(end + .5)}};
            for (const auto& b : item["boxes"]) s.track.push_back({{nanos_from_seconds(std::clamp(b["t"].get<double>(), start, end))}, {b["x"], b["y"], b["w"], b["h"]}});
            known.push_back(std::move(s));
        }
        return covers_for(recording_, known, {});
    }

    std::vector<Suspect> of(SuspectKind kind) const {
        std::vector<Suspect> out;
        for (const auto& s : suspects_)
            if (s.kind == kind) out.push_back(s);
        return out;
    }

    bool in(const char* spans, double t) const {
        return std::any_of(truth_[spans].begin(), truth_[spans].end(), [&](const Json& s) { return s["start"] <= t && t < s["end"]; });
    }
    bool outside_at(double t) const { return in("outside", t); }

    // Farther from any stay outside than the margin that its cover must have, with the slots that times are rounded to.
    bool far_from_outside(double t) const {
        constexpr double kMargin = 1.25;
        return std::none_of(truth_["outside"].begin(), truth_["outside"].end(), [&](const Json& s) { return s["start"].get<double>() - kMargin <= t && t < s["end"].get<double>() + kMargin; });
    }

    // Returns how long bare decoding of the recording took.
    double look_through() {
        auto reader = need(media::FrameReader::open(recording_.path));
        reader.use_index(index_);
        auto start = Clock::now();
        std::vector<RecordingTime> times;
        for (;;) {
            auto picture = need(reader.next());
            if (!picture) break;
            times.push_back(picture->time);
        }
        const double decoding = since(start);
        auto labels = need(media::FrameReader::open(folder_ / "labels.mkv"));
        for (std::size_t i = 0; i < times.size(); ++i) {
            auto picture = need(labels.next());
            if (!picture) break;
            const RecordingTime end = i + 1 < times.size() ? times[i + 1] : recording_.only.end;
            score_frame(*picture, {times[i], std::max(end, times[i] + 1)});
            ++frames_;
        }
        return decoding;
    }

    // Labels and boxes of the truth are upright; covers lie on stored pixels.
    cv::Mat1b as_stored(const cv::Mat1b& upright) const {
        cv::Mat1b out = upright;
        if (recording_.rotation == Rotation::quarter) cv::rotate(upright, out, cv::ROTATE_90_COUNTERCLOCKWISE);
        if (recording_.rotation == Rotation::half) cv::rotate(upright, out, cv::ROTATE_180);
        if (recording_.rotation == Rotation::three_quarters) cv::rotate(upright, out, cv::ROTATE_90_CLOCKWISE);
        return out;
    }

    void score_frame(const media::Picture& picture, RecordingSpan shown) {
        const Size size = recording_.stored;
        note_hits(cv::Mat1b(picture.frame->height, picture.frame->width, picture.frame->data[0], static_cast<std::size_t>(picture.frame->linesize[0])), shown);
        const cv::Mat1b labels = as_stored(cv::Mat1b(picture.frame->height, picture.frame->width, picture.frame->data[0], static_cast<std::size_t>(picture.frame->linesize[0])));
        const double seconds = static_cast<double>(shown.length()) / kSecond, t = static_cast<double>(shown.start.ns) / kSecond;
        const cv::Mat1b all = mask_of(covers_, shown, size), text = mask_of(alone_[SuspectKind::text], shown, size), face = mask_of(alone_[SuspectKind::face], shown, size);
        text_.add(cv::Mat(labels == kText), text, seconds);
        text_safe_.add(cv::Mat(labels == kText), all, seconds);
        const cv::Mat1b real = face_boxes(t, size, true), drawn = face_boxes(t, size, false);
        faces_.add(cv::Mat((labels == kPerson) & real), face, seconds);
        drawn_faces_.add(cv::Mat((labels == kPerson) & drawn), face, seconds);
        people_.add(cv::Mat((labels == kPerson) & ~real & ~drawn), face, seconds);
        room_.add(cv::Mat((labels == kPerson) | (labels == kRoomText)), all, seconds);
        if (cv::countNonZero(cv::Mat((labels > 0) & ~all)) > 0) leaking_ += seconds, leaks_.add(t, seconds);
        const bool whole = alone_[SuspectKind::outside].whole_during(shown);
        if (in("either", t)) return;  // a cross-fade: neither answer is wrong
        if (outside_at(t)) {
            outside_ += seconds;
            missed_ += whole ? 0 : seconds;
            if (!whole) missed_at_.add(t, seconds);
            return;
        }
        inside_ += seconds;
        inside_covered_ += whole ? seconds : 0;
        if (whole && far_from_outside(t)) wrong_at_.add(t, seconds);
        if (far_from_outside(t)) far_ += seconds, far_covered_ += whole ? seconds : 0;
        // Covers are coarse, so as not to tell what they hide: too much is what a cover of the truth itself would not hide,
        // to within a step of their grid.
        cv::Mat1b near;
        cv::dilate(mask_of(ideal_, shown, size), near, cv::Mat1b::ones(2 * 48 + 1, 2 * 64 + 1));
        const double before = too_much_;
        too_much_ += seconds * cv::countNonZero(cv::Mat((text | face) & (near == 0))) / (static_cast<double>(size.w) * size.h);
        if (too_much_ - before > .01 * seconds) too_much_at_.add(t, seconds);
        if (std::getenv("CANALOGUE_TELL") && static_cast<int>(t * 2) != static_cast<int>((t + seconds) * 2)) tell_parts(t, (text | face) & (near == 0));
    }

    // A suspect with a box is right when it holds something of its sort at any time; words in the room are words, too.
    void note_hits(const cv::Mat1b& labels, RecordingSpan shown) {
        for (const auto& s : suspects_) {
            if (s.track.empty() || right_.count(s.id) || !s.span.meets(shown)) continue;
            for (std::size_t i = 0; i < s.track.size(); ++i) {
                const RecordingTime until = i + 1 < s.track.size() ? s.track[i + 1].t : s.span.end;
                if (until < shown.start || s.track[i].t >= shown.end) continue;
                const UprightBox b = s.track[i].box;
                const cv::Mat1b part = labels(cv::Rect(b.x, b.y, b.w, b.h) & cv::Rect(0, 0, labels.cols, labels.rows));
                const cv::Mat hit = s.kind == SuspectKind::face ? cv::Mat(part == kPerson) : cv::Mat((part == kText) | (part == kRoomText));
                if (cv::countNonZero(hit) > kFewestPixels) right_.insert(s.id);
            }
        }
    }

    // Where the truth knows faces at a time; ears and other parts of people are told apart.
    cv::Mat1b face_boxes(double t, Size size, bool photograph) const {
        const Size up = upright_size(size, recording_.rotation);
        cv::Mat1b out(up.h, up.w, std::uint8_t{0});
        for (const auto& f : truth_["faces"]) {
            if (f["what"] != "face" || f["photograph"] != photograph || t < f["start"] || t >= f["end"]) continue;
            const Json* now = nullptr;
            for (const auto& b : f["boxes"])
                if (b["t"] <= t + 1e-6) now = &b;
            if (now) out(cv::Rect((*now)["x"], (*now)["y"], (*now)["w"], (*now)["h"]) & cv::Rect(0, 0, up.w, up.h)).setTo(255);
        }
        return as_stored(out);
    }

    // Where in the picture a frame is covered too much, for whoever looks for the reason.
    static void tell_parts(double t, const cv::Mat& mask) {
        cv::Mat labels, stats, centres;
        const int n = cv::connectedComponentsWithStats(mask, labels, stats, centres);
        for (int i = 1; i < n; ++i) std::fprintf(stderr, "%.1f s: %d,%d %dx%d\n", t, stats.at<int>(i, 0), stats.at<int>(i, 1), stats.at<int>(i, 2), stats.at<int>(i, 3));
    }

    Json speech() const {
        std::vector<RecordingSpan> spoken, real;
        for (const auto& s : truth_["spoken"]) {
            const RecordingSpan span{{nanos_from_seconds(s["start"])}, {nanos_from_seconds(s["end"])}};
            (s["real"].get<bool>() ? real : spoken).push_back(span);
        }
        const auto& hushed = alone_.at(SuspectKind::speech).hushed;
        const auto share = [&](const std::vector<RecordingSpan>& spans) {
            Nanos all = 0, missed = 0;
            for (const auto& s : united(std::vector<RecordingSpan>(spans))) {
                all += s.length();
                for (const auto& gap : gaps_in(s, hushed)) missed += gap.length();
            }
            return Json{{"seconds", static_cast<double>(all) / kSecond}, {"missed", static_cast<double>(missed) / kSecond}};
        };
        Nanos hushed_all = 0;
        for (const auto& h : hushed) hushed_all += h.length();
        return {{"synthetic", share(spoken)}, {"real", share(real)}, {"hushed_seconds", static_cast<double>(hushed_all) / kSecond}};
    }

    bool spoken_in(RecordingSpan span) const {
        return std::any_of(truth_["spoken"].begin(), truth_["spoken"].end(), [&](const Json& s) { return RecordingSpan{{nanos_from_seconds(s["start"])}, {nanos_from_seconds(s["end"])}}.meets(span); });
    }

    // Each suspect's stated sureness, and whether it was right.
    Json sureness() const {
        Json out = Json::array();
        for (const auto& s : suspects_) {
            if (!s.track.empty()) out.push_back({{"kind", name_of(s.kind)}, {"sure", s.sureness}, {"right", right_.count(s.id) > 0}});
            if (s.kind == SuspectKind::speech) out.push_back({{"kind", "speech"}, {"sure", s.sureness}, {"right", spoken_in(s.span)}});
            if (s.kind != SuspectKind::outside) continue;
            double wrong = 0, n = 0;
            for (Nanos t = s.span.start.ns; t < s.span.end.ns; t += kSecond / 20, ++n) wrong += !outside_at(static_cast<double>(t) / kSecond);
            out.push_back({{"kind", "outside"}, {"sure", s.sureness}, {"right", wrong < n}});
        }
        return out;
    }

    Json result(double scan, double decode, const std::vector<std::string>& troubles) const {
        int tags = 0;
        for (const auto& [key, value] : truth_["metadata"].items())
            tags += std::any_of(suspects_.begin(), suspects_.end(), [&](const Suspect& s) { return s.kind == SuspectKind::metadata && lower(s.field).find(key) != std::string::npos; });
        return {{"seed", truth_["seed"]}, {"apart", truth_["apart"]}, {"photographs", truth_["photographs"]}, {"size", std::to_string(recording_.stored.w) + "x" + std::to_string(recording_.stored.h)},
                {"frames", frames_}, {"frames_wanted", truth_["frames"]}, {"unscanned", unscanned_}, {"troubles", troubles},
                {"text_found", text_.json()}, {"text_covered", text_safe_.json()}, {"text_weight", text_.all}, {"faces_found", faces_.json()}, {"faces_weight", faces_.all}, {"drawn_faces_found", drawn_faces_.json()}, {"drawn_faces_weight", drawn_faces_.all}, {"people_found", people_.json()}, {"people_weight", people_.all}, {"room_covered", room_.json()},
                {"seconds_with_an_uncovered_pixel", leaking_}, {"outside_seconds", outside_}, {"outside_missed", missed_}, {"inside_seconds", inside_}, {"inside_wholly_covered", inside_covered_}, {"far_seconds", far_}, {"far_wholly_covered", far_covered_},
                {"too_much", inside_ > 0 ? too_much_ / inside_ : 0}, {"speech", speech()}, {"tags_found", tags}, {"tags", truth_["metadata"].size()},
                {"scan_seconds", scan}, {"decode_seconds", decode}, {"seconds", truth_["seconds"]}, {"sureness", sureness()},
                {"where", {{"leaks", leaks_.json()}, {"outside_missed", missed_at_.json()}, {"inside_covered", wrong_at_.json()}, {"too_much", too_much_at_.json()}}}};
    }

    Json truth_;
    fs::path folder_;
    Recording recording_;
    std::shared_ptr<const media::FrameIndex> index_;
    std::vector<Suspect> suspects_;
    std::set<std::string> right_;
    int unscanned_ = 0, frames_ = 0;
    Covers covers_, ideal_;
    std::map<SuspectKind, Covers> alone_;
    Share text_, text_safe_, faces_, drawn_faces_, people_, room_;
    Spans leaks_, missed_at_, wrong_at_, too_much_at_;
    double leaking_ = 0, outside_ = 0, missed_ = 0, inside_ = 0, inside_covered_ = 0, far_ = 0, far_covered_ = 0, too_much_ = 0;
};

}  // namespace

int main(int argc, char** argv) {
    for (int i = 1; i < argc; ++i) {
        std::puts(Scoring(argv[i]).run().dump().c_str());
        std::fflush(stdout);
    }
}
