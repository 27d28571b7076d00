#include "app/core/cover.hpp"

#include <algorithm>

namespace canalogue {

namespace {

// Sizes and places are rounded to this share of the picture's width and height, in whole blocks. Along a line of text
// the steps are quarters of the picture: a cover over a short name is as long as one over a long name.
constexpr int kColumns = 20, kRows = 40, kAlongText = 4;
// Times are widened by the margin and rounded outwards to whole slots.
constexpr Nanos kTimeMargin = kSecond / 4;
constexpr Nanos kTimeSlot = kSecond / 2;
constexpr int kInterlacedLines = 4;
// Below it an ear's fold is often taken for a face.
constexpr double kSureEnough = .65;
constexpr Nanos kShortestForced = kSecond / 5, kForcedMargin = 2 * kSecond / 5;

int floor_to(int v, int step) { return (v >= 0 ? v / step : -((-v + step - 1) / step)) * step; }
int ceil_to(int v, int step) { return -floor_to(-v, step); }

Nanos floor_slot(Nanos t) { return (t >= 0 ? t / kTimeSlot : -((-t + kTimeSlot - 1) / kTimeSlot)) * kTimeSlot; }

RecordingSpan coarse(const RecordingSpan& s, const RecordingSpan& within, Nanos margin = kTimeMargin) {
    const Nanos from = floor_slot(s.start.ns - margin);
    const Nanos until = -floor_slot(-(s.end.ns + margin));
    return {{std::max(from, within.start.ns)}, {std::min(until, within.end.ns)}};
}

StoredBox clipped(const StoredBox& b, Size stored) { return common(b, StoredBox{0, 0, stored.w, stored.h}); }

StoredBox coarse(const StoredBox& b, const Recording& r, SuspectKind kind) {
    const int margin = smear_margin(r.stored), lines = margin + (r.interlaced ? kInterlacedLines : 0);
    const int block = cover_block(r.stored);
    const bool text = kind == SuspectKind::text, level = b.w >= b.h;
    const int across = std::max(block, ceil_to(r.stored.w / (text && level ? kAlongText : kColumns), block));
    const int down = std::max(block, ceil_to(r.stored.h / (text && !level ? kAlongText : kRows), block));
    const int left = floor_to(b.x - margin, across), top = floor_to(b.y - lines, down);
    const int right = ceil_to(b.right() + margin, across), bottom = ceil_to(b.bottom() + lines, down);
    return clipped({left, top, right - left, bottom - top}, r.stored);
}

// Where the suspect may be during [from, until): all points in it and the two around it, and the
// straight way between them, which the hull of neighbours holds.
UprightBox hull_during(const std::vector<TrackPoint>& track, RecordingTime from, RecordingTime until) {
    UprightBox box{};
    for (std::size_t i = 0; i < track.size(); ++i) {
        const bool ends_before = i + 1 < track.size() && track[i + 1].t < from;
        const bool begins_after = i > 0 && track[i - 1].t >= until;
        if (!ends_before && !begins_after) box = hull(box, track[i].box);
    }
    return box;
}

bool still(const std::vector<TrackPoint>& track) {
    return std::all_of(track.begin(), track.end(), [&](const TrackPoint& p) { return p.box == track[0].box; });
}

// margin: what is added to the span at both ends before it is rounded outwards.
void cover_picture(const Recording& r, const Suspect& s, Nanos margin, std::vector<Cover>& out) {
    const RecordingSpan span = coarse(s.span, r.only, margin);
    if (span.empty()) return;
    if (s.track.empty()) {
        out.push_back({span, true, {0, 0, r.stored.w, r.stored.h}});
        return;
    }
    const auto add = [&](const RecordingSpan& part, const UprightBox& box) {
        const StoredBox b = coarse(stored_from_upright(box, r.stored, r.rotation), r, s.kind);
        if (b.empty()) return;
        if (!out.empty() && out.back().box == b && out.back().span.end == part.start && !out.back().whole)
            out.back().span.end = part.end;
        else
            out.push_back({part, false, b});
    };
    if (still(s.track)) {
        add(span, s.track[0].box);
        return;
    }
    for (Nanos t = floor_slot(span.start.ns); t < span.end.ns; t += kTimeSlot) {
        const RecordingSpan part{{std::max(t, span.start.ns)}, {std::min(t + kTimeSlot, span.end.ns)}};
        add(part, hull_during(s.track, part.start - kTimeMargin, part.end + kTimeMargin));
    }
}

// True when `inner` hides nothing that `outer` does not hide.
bool swallowed(const Cover& inner, const Cover& outer) {
    return outer.span.start <= inner.span.start && inner.span.end <= outer.span.end &&
           (outer.whole || (!inner.whole && outer.box.holds(inner.box)));
}

// A proposal that a decided cover hides already adds nothing. If it did, the way its box pokes out of
// the cover would tell how long the hidden words are. Spotters draw their boxes wider than what they
// saw (text by .4 of its height and more), so a fifth of the height may lie outside.
bool hidden_already(const Suspect& s, const Recording& r, const std::vector<Cover>& decided) {
    if (s.track.empty()) return false;
    for (const auto& c : decided) {
        if (c.span.start > s.span.start || c.span.end < s.span.end) continue;
        const bool inside = std::all_of(s.track.begin(), s.track.end(), [&](const TrackPoint& p) {
            const int slack = std::min(p.box.w, p.box.h) / 5;
            const UprightBox core{p.box.x + slack, p.box.y + slack, p.box.w - 2 * slack, p.box.h - 2 * slack};
            return c.box.holds(stored_from_upright(core, r.stored, r.rotation));
        });
        if (inside) return true;
    }
    return false;
}

// Stays outside and faces that a spotter found have their margin already: they begin and end at looks that saw nobody there.
// So has what was read during such a stay, for as long as the stay is covered. What a person marked is where they marked it.
Nanos margin_of(const Suspect& s, const std::vector<Suspect>& all) {
    if (s.spotter == "by hand") return kTimeMargin;
    if (s.kind == SuspectKind::outside || s.kind == SuspectKind::face) return 0;
    const bool during_stay = s.kind == SuspectKind::text && std::any_of(all.begin(), all.end(), [&](const Suspect& o) {
        return o.kind == SuspectKind::outside && o.recording == s.recording && o.track.empty() && o.hides_picture() && o.decision.verdict != Verdict::harmless && o.span.start <= s.span.start && s.span.end <= o.span.end;
    });
    return during_stay ? 0 : kTimeMargin;
}

std::vector<Cover> decided_covers(const Recording& r, const std::vector<Suspect>& suspects) {
    std::vector<Cover> out;
    for (const auto& s : suspects)
        if (s.recording == r.id && s.decision.verdict == Verdict::cover && s.hides_picture()) cover_picture(r, s, margin_of(s, suspects), out);
    return out;
}

void drop_swallowed(std::vector<Cover>& covers) {
    std::sort(covers.begin(), covers.end());
    covers.erase(std::unique(covers.begin(), covers.end()), covers.end());
    std::vector<Cover> out;
    for (std::size_t i = 0; i < covers.size(); ++i) {
        bool needed = true;
        for (std::size_t j = 0; j < covers.size() && needed; ++j)
            needed = i == j || !swallowed(covers[i], covers[j]);
        if (needed) out.push_back(covers[i]);
    }
    covers = std::move(out);
}

}  // namespace

int smear_margin(Size stored) { return std::max(8, (16 * std::min(stored.w, stored.h) + 1079) / 1080); }
int cover_block(Size) { return 16; }

const std::vector<std::string>& required_spotters() {
    static const std::vector<std::string> kList{"burnt_text", "outside", "faces", "speech", "file_fields"};
    return kList;
}

std::vector<Unscanned> unscanned(const Recording& recording, const std::vector<Scanned>& scanned,
                                 const std::map<std::string, std::string>& versions) {
    std::vector<Unscanned> out;
    for (const auto& spotter : required_spotters()) {
        const auto version = versions.find(spotter);
        std::vector<RecordingSpan> done;
        for (const auto& s : scanned) {
            if (s.recording != recording.id || s.spotter != spotter) continue;
            if (s.version == "watched" || (version != versions.end() && s.version == version->second))
                done.push_back(s.span);
        }
        for (const auto& gap : gaps_in(recording.only, done)) out.push_back({spotter, gap});
    }
    return out;
}

std::vector<std::string> hidden_by_decided(const Recording& recording, const std::vector<Suspect>& suspects) {
    const auto decided = decided_covers(recording, suspects);
    std::vector<std::string> out;
    for (const auto& s : suspects)
        if (s.recording == recording.id && s.hides_picture() && s.decision.verdict == Verdict::open && hidden_already(s, recording, decided)) out.push_back(s.id);
    return out;
}

Covers covers_for(const Recording& recording, const std::vector<Suspect>& suspects,
                  const std::vector<Unscanned>& gaps) {
    Covers covers;
    covers.picture = decided_covers(recording, suspects);
    const std::vector<Cover> decided = covers.picture;
    for (const auto& s : suspects) {
        if (s.recording != recording.id || s.decision.verdict == Verdict::harmless) continue;
        if (s.hides_picture() && s.decision.verdict == Verdict::open && !hidden_already(s, recording, decided))
            cover_picture(recording, s, margin_of(s, suspects), covers.picture);
        if (s.hides_sound()) covers.hushed.push_back(coarse(s.span, recording.only));
    }
    for (const auto& gap : gaps) {
        const RecordingSpan span = coarse(gap.span, recording.only);
        covers.picture.push_back({span, true, {0, 0, recording.stored.w, recording.stored.h}});
        covers.hushed.push_back(span);
    }
    drop_swallowed(covers.picture);
    covers.hushed = united(std::move(covers.hushed));
    return covers;
}

bool Covers::whole_during(RecordingSpan shown) const {
    return std::any_of(picture.begin(), picture.end(), [&](const Cover& c) { return c.whole && c.span.meets(shown); });
}

std::vector<StoredBox> Covers::boxes_during(RecordingSpan shown, Size stored) const {
    if (whole_during(shown)) return {{0, 0, stored.w, stored.h}};
    std::vector<StoredBox> boxes;
    for (const auto& c : picture)
        if (c.span.meets(shown)) boxes.push_back(c.box);
    std::sort(boxes.begin(), boxes.end());
    boxes.erase(std::unique(boxes.begin(), boxes.end()), boxes.end());
    return boxes;
}

bool Covers::nothing_left_during(RecordingSpan shown, Size stored) const {
    const auto boxes = boxes_during(shown, stored);
    // Between two neighbouring edges of any boxes a cell is covered as a whole or not at all.
    std::vector<int> xs{0, stored.w}, ys{0, stored.h};
    for (const auto& b : boxes) xs.insert(xs.end(), {b.x, b.x + b.w}), ys.insert(ys.end(), {b.y, b.y + b.h});
    std::sort(xs.begin(), xs.end()), std::sort(ys.begin(), ys.end());
    const auto covered = [&](int x, int y) { return std::any_of(boxes.begin(), boxes.end(), [&](const StoredBox& b) { return b.x <= x && x < b.x + b.w && b.y <= y && y < b.y + b.h; }); };
    return std::all_of(xs.begin(), xs.end(), [&](int x) {
        return x < 0 || x >= stored.w || std::all_of(ys.begin(), ys.end(), [&](int y) { return y < 0 || y >= stored.h || covered(x, y); });
    });
}

std::vector<Forced> forced_outside(const Recording& recording, const std::vector<Suspect>& found, const std::vector<Suspect>& all) {
    std::vector<RecordingSpan> whole;
    for (const auto& s : all)
        if (s.recording == recording.id && s.kind == SuspectKind::outside && s.track.empty()) whole.push_back(s.span);
    std::vector<Forced> out;
    for (const auto& s : found) {
        if (s.recording != recording.id || s.kind != SuspectKind::face || s.sureness < kSureEnough) continue;
        for (const auto& gap : gaps_in(s.span, whole)) {
            if (gap.length() < kShortestForced) continue;
            const RecordingSpan wide{{std::max(recording.only.start.ns, gap.start.ns - kForcedMargin)}, {std::min(recording.only.end.ns, gap.end.ns + kForcedMargin)}};
            out.push_back({wide, s.spotter, s.sureness});
            whole.push_back(wide);
        }
    }
    return out;
}

}  // namespace canalogue
