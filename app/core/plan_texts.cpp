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
    for (std::size_t i = 0; i < plan.items.size(); ++i) {
        const std::string of = " of item " + std::to_string(i + 1);
        if (const auto* card = std::get_if<Card>(&plan.items[i])) {
            add("the title" + of, card->title);
            add("the lines" + of, in_lines(card->lines));
        } else {
            for (const auto& label : std::get<Passage>(plan.items[i]).labels) add("a label" + of, label.text);
        }
        add("the chapter" + of, std::visit([](const auto& item) { return item.chapter; }, plan.items[i]));
        std::vector<std::string> said;
        for (const auto& line : narration_of(plan.items[i])) said.push_back(line.text);
        add("the narration" + of, in_lines(said));
    }
    return out;
}

}  // namespace canalogue
