#include "app/editor/words_warning.hpp"

#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

void warn_of(Workplace& w, const std::string& text) {
    const std::string& warning = w.warning_of(text);
    if (warning.empty()) return;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImGui::PushTextWrapPos(0);
    said(warning.c_str(), theme().danger);
    ImGui::PopTextWrapPos();
    probe().mark("words tell", at.x, at.y, ImGui::GetContentRegionAvail().x, px(18), warning);
}

bool edited(Workplace& w, std::map<std::string, std::string>& drafts, const std::string& name, std::string& text, const char* hint) {
    auto& draft = drafts.try_emplace(name, text).first->second;
    if (!field(name, draft, hint)) return warn_of(w, draft), false;
    if (draft == text) return false;
    text = draft;
    return true;
}

}  // namespace canalogue::editor
