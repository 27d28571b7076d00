#include "app/core/plan.hpp"

namespace canalogue {

namespace {

std::string in_lines(const std::vector<std::string>& lines) {
    std::string out;
    for (const auto& line : lines) out += (out.empty() ? "" : "\n") + line;
    return out;
}

}  // namespace

std::vector<PlanText> texts_of(const Plan& plan) {
    std::vector<PlanText> out;
    const auto add = [&](const std::string& where, const std::string& text) {
        if (!text.empty()) out.push_back({where, text});
    };
    add("the plan's title", plan.title);
    const About& a = plan.about;
    add("who made it", a.made_by), add("who it is made for", a.made_for);
    add("the aims", in_lines(a.aims)), add("the case", a.case_text), add("the outcome", a.outcome);
    add("the consent statement", a.consent), add("the statement of interests", a.conflicts);
    add("the credits", in_lines(a.credits)), add("the tags", in_lines(a.tags));
    for (std::size_t i = 0; i < plan.items.size(); ++i) {
        const std::string of = " of item " + std::to_string(i + 1);
        if (const auto* card = std::get_if<Card>(&plan.items[i])) {
            add("the title" + of, card->title);
            add("the lines" + of, in_lines(card->lines));
        } else {
            const auto& passage = std::get<Passage>(plan.items[i]);
            for (const auto& label : passage.labels) add("a label" + of, label.text);
            for (const auto& pointer : passage.pointers) add("a pointer" + of, pointer.text);
            if (passage.beside) add("the words beside one another" + of, in_lines({passage.beside->words, passage.beside->other_words}));
            for (const auto& q : passage.questions) add("a question" + of, in_lines({q.asks, in_lines(q.choices), q.reveals}));
        }
        add("the chapter" + of, std::visit([](const auto& item) { return item.chapter; }, plan.items[i]));
        std::vector<std::string> said;
        for (const auto& line : narration_of(plan.items[i])) said.push_back(line.text);
        add("the narration" + of, in_lines(said));
    }
    return out;
}

}  // namespace canalogue
