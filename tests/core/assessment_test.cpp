#include <catch2/catch.hpp>

#include "app/core/assessment.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

Passage passage(double from, double until, const std::string& chapter = "") {
    Passage p;
    p.recording = "r1";
    p.span = span(from, until);
    p.chapter = chapter;
    return p;
}

// Nothing is missing in it.
Plan full() {
    Plan plan;
    plan.title = "Hard wax";
    plan.about.made_by = "a clinic";
    plan.about.aims = {"See the drum"};
    for (int i = 0; i < 45; ++i) plan.about.case_text += "word ";
    plan.about.outcome = "Clear.";
    for (int i = 0; i < 3; ++i) {
        Passage p = passage(i * 10, i * 10 + 10, "Step " + std::to_string(i));
        p.narration = {"It comes away."};
        p.labels = {{p.span.start, p.span.end, "Wax"}};
        p.close_up = CloseUp{{0.2, 0.2, 0.5, 0.5}, {}, {}};
        plan.items.emplace_back(p);
    }
    Card end;
    end.role = Card::Role::end;
    end.length = s(4);
    plan.items.emplace_back(end);
    return plan;
}

int marks_without(const std::function<void(Plan&)>& change) {
    Plan plan = full();
    change(plan);
    return assess(plan).marks();
}

}  // namespace

TEST_CASE("Nine items, two marks each: a plan with everything has eighteen, an empty one next to none") {
    const Assessment all = assess(full());
    INFO(assessment_text(all));
    CHECK(all.items.size() == 9);
    CHECK(all.most() == 18);
    CHECK(all.marks() == 18);
    Plan empty;
    empty.items.emplace_back(Card{});
    const Assessment none = assess(empty);
    CHECK(none.marks() == 1);  // the size of the film that nobody changed
    for (const auto& item : none.items) CHECK(item.missing.size() == static_cast<std::size_t>(kMostMarksOfItem - item.marks));
}

TEST_CASE("Each thing that a good film shows is worth a mark, and is named when it is missing") {
    const std::vector<std::pair<int, std::function<void(Plan&)>>> losses{
        {1, [](Plan& p) { p.title.clear(); }},
        {1, [](Plan& p) { p.about.made_by.clear(); }},
        {1, [](Plan& p) { p.about.aims.clear(); }},
        {3, [](Plan& p) { p.about.case_text.clear(); }},
        {1, [](Plan& p) { p.about.case_text = "Twenty words are here to tell of a history that goes on for a while but of no finding at all"; }},
        {1, [](Plan& p) { p.about.outcome.clear(); }},
        {1, [](Plan& p) { p.items.pop_back(); }},
        {1, [](Plan& p) { std::get<Card>(p.items.back()).length = s(100); }},
        {1, [](Plan& p) { std::get<Passage>(p.items[1]).chapter.clear(); }},
        {1, [](Plan& p) { std::get<Passage>(p.items[1]).narration.clear(); }},
        {1, [](Plan& p) { std::get<Passage>(p.items[1]).pace = 8; }},
        {1, [](Plan& p) { p.film.size = {640, 360}; }},
    };
    for (std::size_t i = 0; i < losses.size(); ++i) {
        INFO("loss " << i);
        CHECK(marks_without(losses[i].second) == 18 - losses[i].first);
    }
    Plan plan = full();
    plan.about.outcome.clear();
    CHECK(assessment_text(assess(plan)).find("17 of 18\n") == 0);
    CHECK(assessment_text(assess(plan)).find("1  The outcome. Missing: the outcome in words\n") != std::string::npos);
}
