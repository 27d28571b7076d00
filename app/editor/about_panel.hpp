// What the plan's case says about itself, the questions of the chosen passage, and how much of what a good film of a
// procedure shows is there. Each draws and gives back what was done, in words for the journal; empty: nothing. Window's
// thread.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "app/core/plan.hpp"
#include "app/editor/asked_box.hpp"
#include "app/editor/workplace.hpp"

namespace canalogue::editor {

class AboutPanel {
  public:
    explicit AboutPanel(AskedBox& box) : box_(box) {}

    std::string draw(Workplace& w, Plan& plan);
    // `now`: the instant that is shown; a new question is asked there.
    std::string draw_questions(Workplace& w, Passage& passage, RecordingTime now);
    // What is being typed is given up: another card, another plan.
    void forget() { drafts_.clear(); }

  private:
    bool edit_lines(Workplace& w, const std::string& name, std::vector<std::string>& lines, const char* hint);
    std::string draw_question(Workplace& w, const std::string& name, const Passage& passage, Question& question);
    bool draw_spot(Workplace& w, const std::string& name, const Passage& passage, Question& question);
    bool edit_spot(Workplace& w, const std::string& name, ShareBox& spot);
    void draw_assessment(const Plan& plan);

    AskedBox& box_;
    std::map<std::string, std::string> drafts_;
    std::string show_;  // the question that was just asked: it is scrolled to
};

}  // namespace canalogue::editor
