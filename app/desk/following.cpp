#include "app/desk/following.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <opencv2/video/tracking.hpp>

#include "app/desk/sources.hpp"
#include "app/media/frame_reader.hpp"
#include "export/cover_fill.hpp"

namespace canalogue::desk {

namespace {

constexpr int kWorkingWidth = 720;      // pixels; more tells little more and costs much
constexpr int kGrid = 12;               // points across and down
constexpr float kMostReturnError = 1.5f;  // pixels between a point and itself after going forth and back
constexpr std::size_t kFewestPoints = 10;
constexpr double kMostScaleStep = 1.15;  // from frame to frame
constexpr Nanos kPieceBack = 2 * kSecond;  // of greys held in memory when going back
constexpr Nanos kDrift = 2 * kSecond;      // by which a box may have gone astray before somebody puts it right

float median(std::vector<float>& v) {
    const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
    std::nth_element(v.begin(), middle, v.end());
    return *middle;
}

struct Moved {
    cv::Rect2f box;
    bool found = false;
};

Moved moved(const cv::Mat& before, const cv::Mat& after, const cv::Rect2f& box) {
    std::vector<cv::Point2f> from, to, back;
    for (int y = 0; y < kGrid; ++y)
        for (int x = 0; x < kGrid; ++x)
            from.emplace_back(box.x + box.width * (static_cast<float>(x) + 0.5f) / kGrid, box.y + box.height * (static_cast<float>(y) + 0.5f) / kGrid);
    std::vector<unsigned char> there, returned;
    std::vector<float> error;
    const cv::Size window(15, 15);
    cv::calcOpticalFlowPyrLK(before, after, from, to, there, error, window, 3);
    cv::calcOpticalFlowPyrLK(after, before, to, back, returned, error, window, 3);
    std::vector<std::size_t> good;
    for (std::size_t i = 0; i < from.size(); ++i)
        if (there[i] && returned[i] && std::hypot(from[i].x - back[i].x, from[i].y - back[i].y) < kMostReturnError) good.push_back(i);
    if (good.size() < kFewestPoints) return {};
    std::vector<float> dx, dy, ratio;
    for (const auto i : good) dx.push_back(to[i].x - from[i].x), dy.push_back(to[i].y - from[i].y);
    for (std::size_t a = 0; a < good.size(); a += 2)
        for (std::size_t b = a + 1; b < good.size(); b += 3) {
            const float was = std::hypot(from[good[a]].x - from[good[b]].x, from[good[a]].y - from[good[b]].y);
            if (was > 2) ratio.push_back(std::hypot(to[good[a]].x - to[good[b]].x, to[good[a]].y - to[good[b]].y) / was);
        }
    const auto scale = static_cast<float>(ratio.empty() ? 1.0 : std::clamp<double>(median(ratio), 1 / kMostScaleStep, kMostScaleStep));
    const cv::Point2f middle{box.x + box.width / 2 + median(dx), box.y + box.height / 2 + median(dy)};
    return {{middle.x - box.width * scale / 2, middle.y - box.height * scale / 2, box.width * scale, box.height * scale}, true};
}

class Follower {
  public:
    Follower(const Recording& r, UprightBox box) : recording_(r), whole_(upright_size(r.stored, r.rotation)) {
        box_ = {static_cast<float>(box.x), static_cast<float>(box.y), static_cast<float>(box.w), static_cast<float>(box.h)};
    }

    // The picture as it is looked at.
    Result<cv::Mat> grey_of(const media::Picture& picture) {
        auto rgb = converter_.convert(picture, recording_.rotation, kWorkingWidth);
        if (!rgb) return rgb.failure();
        cv::Mat grey;
        cv::cvtColor(cv::Mat(rgb->size.h, rgb->size.w, CV_8UC3, rgb->pixels.data()), grey, cv::COLOR_RGB2GRAY);
        return grey;
    }

    // The next picture, or the one before when going back. False when the box is lost.
    bool see(const cv::Mat& grey) {
        const float scale = static_cast<float>(grey.cols) / static_cast<float>(whole_.w);
        if (!before_.empty()) {
            const cv::Rect2f small{box_.x * scale, box_.y * scale, box_.width * scale, box_.height * scale};
            const Moved m = moved(before_, grey, small);
            if (!m.found) return false;
            box_ = {m.box.x / scale, m.box.y / scale, m.box.width / scale, m.box.height / scale};
            const bool inside = box_.x + box_.width > 0 && box_.y + box_.height > 0 && box_.x < static_cast<float>(whole_.w) && box_.y < static_cast<float>(whole_.h);
            if (!inside) return false;
        }
        before_ = grey;
        return true;
    }

    UprightBox box() const {
        const int x = static_cast<int>(std::floor(box_.x)), y = static_cast<int>(std::floor(box_.y));
        const UprightBox b{x, y, static_cast<int>(std::ceil(box_.x + box_.width)) - x, static_cast<int>(std::ceil(box_.y + box_.height)) - y};
        return common(b, UprightBox{0, 0, whole_.w, whole_.h});
    }

  private:
    const Recording& recording_;
    Size whole_;
    cv::Rect2f box_;
    cv::Mat before_;
    media::RgbConverter converter_;
};

}  // namespace

Result<Followed> follow_box(const Desk& desk, const Recording& r, UprightBox box, RecordingSpan span, const Progress& progress, const Covers* covers) {
    auto index = desk.index(r, progress);
    if (!index) return index.failure();
    auto reader = media::FrameReader::open(r.path);
    if (!reader) return reader.failure();
    reader->use_index(*index);
    if (auto ok = reader->seek(span.start); !ok) return ok.failure();
    Follower follower(r, box);
    Followed out;
    out.end = span.start;
    while (true) {
        if (progress.stopped()) return cancelled();
        auto picture = reader->next();
        if (!picture) return picture.failure();
        if (!*picture || (*picture)->time >= span.end) break;
        if (covers)
            if (auto laid = film::lay_covers(**picture, covers->boxes_during({(*picture)->time, (*picture)->time + kSecond / 25}, (*picture)->size()), CoverLook::soft); !laid) return laid.failure();
        auto grey = follower.grey_of(**picture);
        if (!grey) return grey.failure();
        if (!follower.see(*grey)) {
            out.lost = true;
            return out;
        }
        const RecordingTime t = std::max((*picture)->time, span.start);
        out.track.push_back({t, follower.box()});
        out.end = t;
        progress.report("Following the box", static_cast<double>((t - span.start)) / static_cast<double>(span.length()));
    }
    out.end = span.end;
    return out;
}

Result<Followed> follow_box_back(const Desk& desk, const Recording& r, UprightBox box, RecordingSpan span, const Progress& progress) {
    auto index = desk.index(r, progress);
    if (!index) return index.failure();
    auto reader = media::FrameReader::open(r.path);
    if (!reader) return reader.failure();
    reader->use_index(*index);
    Follower follower(r, box);
    Followed out;
    out.end = span.end;
    // Decoding goes forwards only: piece after piece is read into memory, the last one first.
    for (RecordingTime end = span.end + 1; end > span.start;) {
        const RecordingTime start = std::max(span.start, end - kPieceBack);
        std::vector<std::pair<RecordingTime, cv::Mat>> piece;
        if (auto ok = reader->seek(start); !ok) return ok.failure();
        for (;;) {
            if (progress.stopped()) return cancelled();
            auto picture = reader->next();
            if (!picture) return picture.failure();
            if (!*picture || (*picture)->time >= end) break;
            auto grey = follower.grey_of(**picture);
            if (!grey) return grey.failure();
            piece.emplace_back(std::max((*picture)->time, start), std::move(*grey));
        }
        for (auto frame = piece.rbegin(); frame != piece.rend(); ++frame) {
            out.lost = !follower.see(frame->second);
            if (out.lost) break;
            out.track.push_back({frame->first, follower.box()});
            out.end = frame->first;
        }
        progress.report("Following the box back", static_cast<double>(span.end - start) / static_cast<double>(span.length()));
        if (out.lost) break;
        end = start;
    }
    std::reverse(out.track.begin(), out.track.end());
    return out;
}

namespace {

struct Found {
    Suspect suspect;
    Recording recording;
};

// A suspect with a box, and its recording.
Result<Found> with_box(Desk& desk, const std::string& session, const std::string& id) {
    auto found = desk.library.find<Suspect>(session, id);
    if (!found) return found.failure();
    if (!*found) return wrong_use("There is no suspect '" + id + "' in this session.");
    if ((*found)->track.empty()) return wrong_use("'" + id + "' covers the whole picture or sound: there is no box to follow.");
    auto r = desk.library.find<Recording>(session, (*found)->recording);
    if (!r) return r.failure();
    if (!*r) return machine_trouble("The suspect's recording is missing from the library; run 'canalogue selfcheck'.");
    return Found{std::move(**found), std::move(**r)};
}

// Where its box is at a time: at the last point before it.
UprightBox box_at(const Suspect& s, RecordingTime t) {
    UprightBox box = s.track.front().box;
    for (const auto& p : s.track)
        if (p.t <= t) box = p.box;
    return box;
}

std::string exact(RecordingTime t) { return format_time(t.ns / kMillisecond * kMillisecond); }

Result<void> keep(Desk& desk, const std::string& session, const std::string& verb, const Suspect& s) {
    auto done = desk.library.commit({session, verb + " suspect " + s.id, desk.person, {store::put(s)}});
    if (!done) return done.failure();
    return {};
}

}  // namespace

Result<std::string> follow_suspect_back(Desk& desk, const std::string& session, const std::string& id, RecordingTime from, const Progress& progress) {
    auto found = with_box(desk, session, id);
    if (!found) return found.failure();
    Suspect& s = found->suspect;
    if (from < s.span.start || from > s.span.end) return wrong_use("'" + id + "' is not there at that time: go to a frame that shows it.");
    const RecordingTime first = found->recording.only.start;
    if (from <= first) return wrong_use("That is the recording's first frame: there is nothing before it.");
    auto followed = follow_box_back(desk, found->recording, box_at(s, from), {first, from}, progress);
    if (!followed) return followed.failure();
    // What was covered stays covered: the way back is added to what was known before.
    for (auto& p : followed->track)
        if (p.t >= s.span.start) p.box = hull(p.box, box_at(s, p.t));
    std::erase_if(s.track, [&](const TrackPoint& p) { return p.t >= followed->end && p.t <= from; });
    s.track.insert(s.track.end(), followed->track.begin(), followed->track.end());
    std::stable_sort(s.track.begin(), s.track.end(), [](const auto& a, const auto& b) { return a.t < b.t; });
    s.span.start = std::min(s.span.start, followed->end);
    if (auto ok = keep(desk, session, "follow back", s); !ok) return ok.failure();
    if (followed->lost) return "Followed back to " + exact(followed->end) + ", where it was lost or came into view: it is covered from there.";
    return std::string("Followed back to the recording's beginning.");
}

Result<std::string> place_box(Desk& desk, const std::string& session, const std::string& id, RecordingTime at, UprightBox box, const Progress& progress) {
    auto found = with_box(desk, session, id);
    if (!found) return found.failure();
    Suspect& s = found->suspect;
    if (s.spotter != "by hand") return refused("What a spotter found is not moved away: widen it, or cover by hand what it misses.");
    if (!s.span.holds(at)) return wrong_use("'" + id + "' is not there at that time: go to a frame that shows it.");
    const Size picture = upright_size(found->recording.stored, found->recording.rotation);
    if (!UprightBox{0, 0, picture.w, picture.h}.holds(box) || box.empty()) return wrong_use("The box must lie inside the picture.");
    // Before it, the way to where the box had been; it had drifted, so both are covered.
    auto back = follow_box_back(desk, found->recording, box, {std::max(s.span.start, at - kDrift), at}, progress);
    if (!back) return back.failure();
    const UprightBox until_then = box_at(s, at);
    const Suspect before = s;
    std::erase_if(s.track, [&](const TrackPoint& p) { return p.t >= back->end; });
    if (s.track.empty()) s.track.push_back({s.span.start, until_then});
    for (const auto& p : back->track) s.track.push_back({p.t, hull(p.box, box_at(before, p.t))});
    s.track.push_back({at, box});
    if (auto ok = keep(desk, session, "place the box of", s); !ok) return ok.failure();
    return "The box of " + id + " is there from " + exact(at) + " on; follow it from here if it moves.";
}

Result<std::string> follow_suspect(Desk& desk, const std::string& session, const std::string& id, RecordingTime from, const Progress& progress) {
    auto found = with_box(desk, session, id);
    if (!found) return found.failure();
    Suspect& s = found->suspect;
    if (!s.span.holds(from)) return wrong_use("'" + id + "' is not there at that time: go to a frame that shows it.");
    const UprightBox box = box_at(s, from);
    auto followed = follow_box(desk, found->recording, box, {from, s.span.end}, progress);
    if (!followed) return followed.failure();
    std::erase_if(s.track, [&](const TrackPoint& p) { return p.t >= from; });
    if (s.track.empty() && from > s.span.start) s.track.push_back({s.span.start, box});
    s.track.insert(s.track.end(), followed->track.begin(), followed->track.end());
    if (followed->track.empty()) s.track.push_back({from, box});
    if (auto ok = keep(desk, session, "follow", s); !ok) return ok.failure();
    if (followed->lost) return "Followed to " + exact(followed->end) + ", where it was lost: from there the box stays where it was.";
    return "Followed to its end at " + exact(s.span.end) + ".";
}

Result<std::string> follow_pointer(Desk& desk, const std::string& session, const std::string& recording, Pointer& pointer, RecordingTime from, const Progress& progress) {
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    const auto r = std::find_if(recordings->begin(), recordings->end(), [&](const Recording& each) { return each.id == recording; });
    if (r == recordings->end()) return wrong_use("The pointer's recording is not in this session any more.");
    auto covers = covers_now(desk, session, Audience::learners);
    if (!covers) return covers.failure();
    if (from < pointer.from || from >= pointer.until) return wrong_use("The pointer is not shown at that time: go to a frame that shows it.");
    const Size whole = upright_size(r->stored, r->rotation);
    const PointerStep at = place_at(pointer, from);
    // What it points at is what lies close about it.
    const int side = std::max(24, static_cast<int>(std::max(pointer.w, 0.06) * whole.w));
    const UprightBox box = common(UprightBox{static_cast<int>(at.x * whole.w) - side / 2, static_cast<int>(at.y * whole.h) - side / 2, side, side}, UprightBox{0, 0, whole.w, whole.h});
    auto followed = follow_box(desk, *r, box, {from, pointer.until}, progress, &covers->at(r->id));
    if (!followed) return followed.failure();
    std::erase_if(pointer.path, [&](const PointerStep& s) { return s.at >= from; });
    pointer.path.push_back({from, at.x, at.y});
    // A place every fifth of a second: between two of them it goes straight, and a person can read and mend them.
    const double dx = at.x - (box.x + box.w / 2.0) / whole.w, dy = at.y - (box.y + box.h / 2.0) / whole.h;
    for (const auto& p : followed->track) {
        if (p.t - pointer.path.back().at < kSecond / 5) continue;
        const auto share = [](double v) { return std::clamp(std::round(v * 10000) / 10000, 0.0, 1.0); };
        pointer.path.push_back({p.t, share((p.box.x + p.box.w / 2.0) / whole.w + dx), share((p.box.y + p.box.h / 2.0) / whole.h + dy)});
    }
    if (followed->lost) return "Followed to " + exact(followed->end) + ", where it was lost: from there the pointer stays where it was.";
    return "Followed to its end at " + exact(pointer.until) + ".";
}

}  // namespace canalogue::desk
