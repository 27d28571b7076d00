#include "app/editor/view_marks_row.hpp"

#include "app/desk/recalibrating.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

void ViewMarksRow::set_right(Workplace& w) {
    w.beside("Measuring the view", [this, &w, wish = desk::RecalibrateWish{w.session, inside_, outside_, ""}](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto done = desk::recalibrate(own, wish, progress);
        if (!done) return done.failure();
        return Jobs::Then([this, &w, withdrawn = done->withdrawn] {
            open_ = false;
            inside_.clear(), outside_.clear();
            w.succeeded(std::to_string(withdrawn) + " suspects withdrawn; Scan looks again, until then all is covered");
        });
    });
}

void ViewMarksRow::draw(Workplace& w, TimeMap& map) {
    if (of_ != w.session) inside_.clear(), outside_.clear(), open_ = false, of_ = w.session;
    if (button("view wrong", "View misjudged?", "", open_ ? Look::chosen : Look::plain)) open_ = !open_;
    if (!open_) return;
    const auto count = [](std::size_t n) { return std::to_string(n) + " of " + std::to_string(kMarksOfEach); };
    quiet("Mark at least two spans inside the ear and two outside; the next scan judges this recording by them.");
    if (button("mark inside", ("Inside: " + count(inside_.size())).c_str())) map.ask_for_span([this](SessionSpan s) { inside_.push_back(s); });
    ImGui::SameLine();
    if (button("mark outside", ("Outside: " + count(outside_.size())).c_str())) map.ask_for_span([this](SessionSpan s) { outside_.push_back(s); });
    ImGui::SameLine();
    const bool enough = inside_.size() >= kMarksOfEach && outside_.size() >= kMarksOfEach;
    if (button("set right", "Set right", "", enough ? Look::primary : Look::plain, enough && !w.jobs.running("Measuring the view"))) set_right(w);
}

}  // namespace canalogue::editor
