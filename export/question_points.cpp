#include "export/question_points.hpp"

#include <algorithm>
#include <cmath>

namespace canalogue::film {

namespace {

constexpr Nanos kRounding = 1000;  // what a frame's instant may lose when a pace is no whole number

// The frame of a piece that shows t first; none when it ends before.
std::optional<long> frame_showing(const Piece& piece, RecordingTime t) {
    const auto late = [&](long k) { return piece.source(piece.first + k) + kRounding >= t; };
    if (piece.count <= 0 || !late(piece.count - 1)) return {};
    long low = 0, high = piece.count - 1;
    while (low < high) {
        const long middle = low + (high - low) / 2;
        if (late(middle)) high = middle;
        else low = middle + 1;
    }
    return piece.first + low;
}

// Where item `item` shows t first, and the instant that the frame really shows.
std::pair<long, RecordingTime> shown(const Schedule& schedule, std::size_t item, RecordingTime t) {
    const Piece* last = nullptr;
    for (const auto& piece : schedule.pieces) {
        if (piece.item != item) continue;
        last = &piece;
        if (const auto frame = frame_showing(piece, t)) return {*frame, piece.source(*frame)};
    }
    if (!last) return {0, t};
    const long frame = last->first + last->count - 1;
    return {frame, last->source(frame)};
}

// A box after the picture has been mirrored and turned about its middle: what holds all of it.
ShareBox changed(const ShareBox& b, const ViewChange& view, double shape) {
    if (!view.shape_changed()) return b;
    double left = 1e9, top = 1e9, right = -1e9, bottom = -1e9;
    for (const double cx : {b.x, b.right()})
        for (const double cy : {b.y, b.bottom()}) {
            const auto [x, y] = in_view(view, {}, shape, cx, cy);
            left = std::min(left, x), right = std::max(right, x), top = std::min(top, y), bottom = std::max(bottom, y);
        }
    return {left, top, right - left, bottom - top};
}

std::optional<ShareBox> in_film(const FilmRoom& room, const Passage& passage, const ShareBox& spot, RecordingTime t) {
    const auto it = room.pictures.find(passage.recording);
    if (it == room.pictures.end() || it->second.w <= 0 || it->second.h <= 0) return {};
    const double w = it->second.w, h = it->second.h;
    const auto seen = spot_in_view(passage, spot, t, w / h);
    if (!seen) return {};
    const double x = (room.room.w - w) / 2, y = (room.room.h - h) / 2;
    return ShareBox{(x + seen->x * w) / room.film.w, (y + seen->y * h) / room.film.h, seen->w * w / room.film.w, seen->h * h / room.film.h};
}

}  // namespace

std::optional<ShareBox> spot_in_view(const Passage& passage, const ShareBox& spot, RecordingTime t, double shape) {
    // Two pictures share the room then: which of them is meant, a spot does not say.
    if (passage.beside) return {};
    ShareBox b = spot;
    if (passage.close_up) {
        const ShareBox window = shown_at(*passage.close_up, passage.span, t);
        b = {(spot.x - window.x) / window.w, (spot.y - window.y) / window.h, spot.w / window.w, spot.h / window.h};
    }
    b = changed(b, passage.view, shape);
    const double left = std::clamp(b.x, 0.0, 1.0), top = std::clamp(b.y, 0.0, 1.0), right = std::clamp(b.right(), 0.0, 1.0), bottom = std::clamp(b.bottom(), 0.0, 1.0);
    const ShareBox seen{left, top, right - left, bottom - top};
    if (seen.w <= 0 || seen.h <= 0 || seen.w * seen.h * 2 < b.w * b.h) return {};
    return seen;
}

std::vector<PlacedQuestion> placed_questions(const Plan& plan, const Schedule& schedule, const FilmRoom& room) {
    std::vector<PlacedQuestion> out;
    for (std::size_t i = 0; i < plan.items.size(); ++i) {
        const auto* passage = std::get_if<Passage>(&plan.items[i]);
        if (!passage) continue;
        for (std::size_t q = 0; q < passage->questions.size(); ++q) {
            const auto [frame, t] = shown(schedule, i, passage->questions[q].at);
            PlacedQuestion placed{i, q, schedule.time_of(frame), {}};
            if (const auto& spot = passage->questions[q].spot) {
                placed.spot = in_film(room, *passage, *spot, t);
                if (!placed.spot) continue;
            }
            out.push_back(placed);
        }
    }
    std::stable_sort(out.begin(), out.end(), [](const PlacedQuestion& a, const PlacedQuestion& b) { return a.at < b.at; });
    return out;
}

std::vector<std::string> questions_left_out(const Plan& plan, const std::vector<Recording>& recordings) {
    std::vector<std::string> out;
    for (std::size_t i = 0; i < plan.items.size(); ++i) {
        const auto* passage = std::get_if<Passage>(&plan.items[i]);
        if (!passage) continue;
        double shape = 1;
        for (const auto& r : recordings)
            if (const Size s = upright_size(r.stored, r.rotation); r.id == passage->recording && s.h > 0) shape = static_cast<double>(s.w) / s.h;
        for (const auto& q : passage->questions) {
            if (!q.spot || spot_in_view(*passage, *q.spot, q.at, shape)) continue;
            const std::string why = passage->beside ? "two pictures stand beside one another there" : "its spot is not in view there";
            out.push_back("The question at " + format_time(q.at.ns) + " in item " + std::to_string(i + 1) + " is left out of the case page: " + why + "; move it, or ask it with choices.");
        }
    }
    return out;
}

}  // namespace canalogue::film
