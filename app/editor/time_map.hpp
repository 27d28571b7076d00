// The time map: one zoomable map of the whole session in lanes, under the picture. Window's thread.
#pragma once

#include <imgui.h>

#include <functional>
#include <optional>
#include <vector>

#include "app/core/plan.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

// What a lane of curves shows, 0..1 at even steps; NaN where it was not measured.
struct Curve {
    std::string name;
    SessionTime from;
    Nanos step = 0;
    std::vector<float> values;
};

struct MapExtras {
    std::vector<Curve> curves;                 // each name is a lane
    std::vector<SessionSpan> seen;             // what the reviewer has watched
    const Plan* plan = nullptr;                // its passages
    std::optional<std::size_t> passage;        // the chosen one
};

class TimeMap {
  public:
    void draw(Workplace& w, const MapExtras& extras, ImVec2 from, ImVec2 size);
    static float height_for(const MapExtras& extras);

    // From now on the next drag marks a span, which is handed over when the hand lets go.
    void ask_for_span(std::function<void(SessionSpan)> then) { span_wanted_ = std::move(then); }
    bool asking() const { return static_cast<bool>(span_wanted_); }
    void stop_asking() { span_wanted_ = nullptr, drag_from_.reset(); }

    void zoom(float factor, SessionTime around);
    void show_all() { shown_.reset(); }
    // Called with the passage and its new span while the hand trims it; `done` when it lets go.
    std::function<void(std::size_t passage, RecordingSpan span, bool done)> trimmed;

  private:
    struct Lane {
        std::string name;
        float top, height;
    };
    SessionSpan visible(const Workplace& w) const;
    float x_of(SessionTime t) const;
    SessionTime time_at(float x) const;
    void draw_ruler(ImDrawList* draw);
    void draw_ground(const Workplace& w, ImDrawList* draw);
    void draw_curve(const Curve& curve, const Lane& lane, ImDrawList* draw) const;
    void draw_events(Workplace& w, Ear ear, const Lane& lane, ImDrawList* draw);
    void draw_suspects(Workplace& w, const Lane& lane, ImDrawList* draw);
    void draw_passages(Workplace& w, const MapExtras& extras, const Lane& lane, ImDrawList* draw);
    void draw_seen(const MapExtras& extras, const Lane& lane, ImDrawList* draw) const;
    void handle_mouse(Workplace& w, const MapExtras& extras);
    SessionTime snapped(const Workplace& w, SessionTime t) const;
    void read_out(const std::string& words) { tip_ = words; }

    std::optional<SessionSpan> shown_;  // none: all of it
    SessionSpan now_;                   // what is drawn this frame
    ImVec2 from_{0, 0}, size_{0, 0};
    float left_ = 0, right_ = 0;        // of the lanes
    std::function<void(SessionSpan)> span_wanted_;
    std::optional<SessionTime> drag_from_;
    bool scrubbing_ = false;
    struct Trim {
        std::size_t passage;
        bool end;
    };
    std::optional<Trim> trim_, near_trim_;
    std::string tip_;
};

}  // namespace canalogue::editor
