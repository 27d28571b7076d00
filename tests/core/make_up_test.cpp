#include <catch2/catch.hpp>

#include "app/core/make_up.hpp"
#include "tests/core/values.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

Card card(Card::Role role, const std::string& title) { return {role, title, {"A line"}, s(4), "", {NarrationLine("Said.", "t1")}}; }

Passage passage() {
    Passage p;
    p.recording = "r1", p.span = span(0, 5);
    return p;
}

Plan case_of(const std::string& name) {
    Plan plan;
    plan.title = name;
    plan.items = {card(Card::Role::title, name), passage(), card(Card::Role::note, "Between"), passage(), card(Card::Role::end, "Outcome of " + name)};
    return plan;
}

std::vector<std::string> titles(const Plan& plan) {
    std::vector<std::string> out;
    for (const auto& item : plan.items) out.push_back(std::holds_alternative<Card>(item) ? std::get<Card>(item).title : "passage");
    return out;
}

using Titles = std::vector<std::string>;

}  // namespace

TEST_CASE("A make-up gives the next case its settings, warning, credits and cards, and nothing of the last case") {
    Plan last = case_of("Hard wax");
    last.items.insert(last.items.begin(), card(Card::Role::warning, "Blood is seen"));
    last.items.push_back(card(Card::Role::note, "The harbour clinic"));
    last.film.size = {1080, 1920}, last.film.target = FilmTarget::message, last.film.megabytes = 9;
    last.about.made_by = "N. Example", last.about.tags = {"wax"}, last.about.case_text = "A ferry engineer", last.about.outcome = "Clear";
    const std::string file = make_up_to_json(make_up_of(last));
    for (const char* told : {"Hard wax", "ferry", "Clear", "Between"}) {
        INFO(told);
        CHECK(file.find(told) == std::string::npos);
    }
    const auto read = make_up_from_json(file);
    REQUIRE(read.ok());
    Plan next = case_of("Cotton");
    next.about.case_text = "Another";
    apply(*read, next);
    CHECK(titles(next) == Titles{"Blood is seen", "Cotton", "passage", "Between", "passage", "Outcome of Cotton", "The harbour clinic"});
    CHECK(next.film.size == Size{1080, 1920});
    CHECK(next.film.target == FilmTarget::message);
    CHECK(next.film.megabytes == 9);
    CHECK(next.about.made_by == "N. Example");
    CHECK(next.about.tags == Titles{"wax"});
    CHECK(next.about.case_text == "Another");
    CHECK(narration_of(next.items[0])[0] == NarrationLine("Said."));  // a take is another session's
    apply(*read, next);  // again: nothing stands twice
    CHECK(next.items.size() == 7);
}

TEST_CASE("An empty make-up leaves cards and credits as they are") {
    Plan plan = case_of("Cotton");
    plan.about.made_by = "N. Example";
    apply(MakeUp{}, plan);
    CHECK(titles(plan) == titles(case_of("Cotton")));
    CHECK(plan.about.made_by == "N. Example");
}

TEST_CASE("A make-up that is wrong is refused with its place") {
    const auto why = [](const std::string& text) {
        const auto read = make_up_from_json(text);
        REQUIRE_FALSE(read.ok());
        return read.failure().sentence;
    };
    CHECK(why("{") != "");
    CHECK(why(R"({"canalogue_make_up": 2})") != "");
    CHECK(why(R"({"canalogue_make_up": 1, "cards": []})").find("'cards'") != std::string::npos);
    CHECK(why(R"({"canalogue_make_up": 1, "film": {"size": "9x9"}})").find("'size'") != std::string::npos);
    CHECK(why(R"({"canalogue_make_up": 1, "before": [{"card": "end", "title": "Outcome", "length": 4}]})").find("'before'") != std::string::npos);
    CHECK(why(R"({"canalogue_make_up": 1, "after": [{"card": "note", "title": "x"}]})").find("'length'") != std::string::npos);
    CHECK(why(R"({"canalogue_make_up": 1, "after": 5})") != "");
}

TEST_CASE("Film settings are taken by word, and a wrong word is refused") {
    FilmSettings film;
    REQUIRE(read_film_settings(film, {"1080x1080", "message", "webm", 9.5}).ok());
    CHECK(film.size == Size{1080, 1080});
    CHECK(film.target == FilmTarget::message);
    CHECK(film.format == FilmFormat::webm);
    CHECK(film.megabytes == 9.5);
    REQUIRE(read_film_settings(film, {}).ok());
    CHECK(film.megabytes == 9.5);
    CHECK_FALSE(read_film_settings(film, {"", "tape", "", 0}).ok());
    CHECK_FALSE(read_film_settings(film, {"", "", "", 0.01}).ok());
    CHECK(film.target == FilmTarget::message);
    // What was not written in a plan is not looked for there.
    CHECK(read_film_settings(film, {"12x12", "", "", 0}).failure().sentence.starts_with("The film's 'size' must be one of"));
    CHECK(read_film_settings(film, {"", "", "", -3}).failure().sentence.find("between 0.2 and 4000") != std::string::npos);
    FilmSettings web;
    CHECK(read_film_settings(web, {"", "", "", 5}).failure().sentence.find("--target message") != std::string::npos);
}
