#include "app/editor/asked_box.hpp"

#include "app/editor/ui.hpp"

namespace canalogue::editor {

void AskedBox::ask(const std::string& what) {
    what_ = what;
    box_.reset();
    pane_.ask_for_box([this](UprightBox box) { box_ = box; });
}

void AskedBox::forget() {
    if (awaiting()) pane_.stop_asking();
    what_.clear(), box_.reset();
}

std::optional<ShareBox> AskedBox::drawn(const Workplace& w, const std::string& recording, const std::string& what) {
    if (awaits(what)) said("Draw it on the picture: press, drag, let go. Esc leaves it.", theme().accent);
    const Recording* r = w.view.recording(recording);
    if (what_ != what || !box_ || !r) return std::nullopt;
    const Size s = upright_size(r->stored, r->rotation);
    const ShareBox out{static_cast<double>(box_->x) / s.w, static_cast<double>(box_->y) / s.h, static_cast<double>(box_->w) / s.w, static_cast<double>(box_->h) / s.h};
    what_.clear(), box_.reset();
    return out;
}

}  // namespace canalogue::editor
