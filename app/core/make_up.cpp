#include "app/core/make_up.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/core/plan_names.hpp"
#include "app/core/text.hpp"

namespace canalogue {

namespace {

using json = nlohmann::ordered_json;

bool is_passage(const PlanItem& item) { return std::holds_alternative<Passage>(item); }

// Cards that tell one case.
bool of_the_case(const PlanItem& item) {
    const auto* card = std::get_if<Card>(&item);
    return !card || card->role == Card::Role::title || card->role == Card::Role::end;
}

// Cards are read and written as the cards of a plan: one concept, one place.
json cards_json(const std::vector<Card>& cards) {
    Plan alone;
    for (const auto& c : cards) alone.items.emplace_back(c);
    return json::parse(plan_to_json(alone))["items"];
}

// The cards of one list, of a plan that was read with it as its items.
Result<std::vector<Card>> cards_from(const json& j, const char* list) {
    std::vector<Card> out;
    if (!j.contains(list) || j[list] == json::array()) return out;
    auto read = plan_from_json(json{{"canalogue_plan", kPlanVersion}, {"items", j[list]}}.dump());
    if (!read) return wrong_use("In '" + std::string(list) + "' of the make-up: " + read.failure().sentence);
    for (auto& item : read->items) {
        if (is_passage(item)) return wrong_use("A make-up holds cards, no passages: take the one in '" + std::string(list) + "' out.");
        if (of_the_case(item)) return wrong_use("A make-up holds notes and warnings: the title or end card in '" + std::string(list) + "' tells a case; take it out or make it a note.");
        out.push_back(std::get<Card>(std::move(item)));
    }
    return out;
}

// The part of "about" that is not about one case.
About general(const About& a) {
    About out;
    out.made_by = a.made_by, out.made_for = a.made_for, out.consent = a.consent, out.conflicts = a.conflicts;
    out.credits = a.credits, out.tags = a.tags;
    return out;
}

}  // namespace

MakeUp make_up_of(const Plan& plan) {
    MakeUp out{plan.film, {}, {}, general(plan.about)};
    const auto first = std::find_if(plan.items.begin(), plan.items.end(), is_passage);
    if (first == plan.items.end()) return out;
    const auto last = std::find_if(plan.items.rbegin(), plan.items.rend(), is_passage).base();
    // A take is a recording of one session: the words stay.
    const auto keep = [](std::vector<Card>& to, const PlanItem& item) {
        if (of_the_case(item)) return;
        to.push_back(std::get<Card>(item));
        for (auto& line : to.back().narration) line.take.clear();
    };
    for (auto it = plan.items.begin(); it != first; ++it) keep(out.before, *it);
    for (auto it = last; it != plan.items.end(); ++it) keep(out.after, *it);
    return out;
}

void apply(const MakeUp& make_up, Plan& plan) {
    plan.film = make_up.film;
    const About& from = make_up.about;
    const auto give = [](auto& to, const auto& value) {
        if (!value.empty()) to = value;
    };
    give(plan.about.made_by, from.made_by), give(plan.about.made_for, from.made_for), give(plan.about.consent, from.consent);
    give(plan.about.conflicts, from.conflicts), give(plan.about.credits, from.credits), give(plan.about.tags, from.tags);
    const auto is_passage_at = [&](std::size_t i) { return is_passage(plan.items[i]); };
    std::size_t first = 0, end = plan.items.size();
    while (first < end && !is_passage_at(first)) ++first;
    while (end > first && !is_passage_at(end - 1)) --end;
    std::vector<PlanItem> items;
    const auto keep = [&](std::size_t begin, std::size_t until, const std::vector<Card>& instead) {
        for (std::size_t i = begin; i < until; ++i)
            if (instead.empty() || of_the_case(plan.items[i])) items.push_back(plan.items[i]);
    };
    const auto add = [&](const std::vector<Card>& cards, bool warnings) {
        for (const auto& c : cards)
            if ((c.role == Card::Role::warning) == warnings) items.emplace_back(c);
    };
    add(make_up.before, true);
    keep(0, first, make_up.before);
    add(make_up.before, false);
    keep(first, end, {});
    add(make_up.after, true);
    keep(end, plan.items.size(), make_up.after);
    add(make_up.after, false);
    plan.items = std::move(items);
}

std::string make_up_to_json(const MakeUp& make_up) {
    Plan alone;
    alone.film = make_up.film, alone.about = make_up.about;
    const json plan = json::parse(plan_to_json(alone));
    const json j = {{"canalogue_make_up", 1}, {"film", plan["film"]}, {"about", plan["about"]}, {"before", cards_json(make_up.before)}, {"after", cards_json(make_up.after)}};
    return j.dump(2) + "\n";
}

Result<MakeUp> make_up_from_json(const std::string& text) {
    const json j = json::parse(text, nullptr, false);
    if (!j.is_object() || j.value("canalogue_make_up", json()) != 1) return wrong_use("This is no make-up: 'canalogue plan SESSION --keep-make-up FILE' writes one.");
    for (const auto& [key, value] : j.items())
        if (key != "canalogue_make_up" && key != "film" && key != "about" && key != "before" && key != "after")
            return wrong_use("In the make-up, '" + legible(key) + "' is not known; there may be film, about, before, after.");
    MakeUp out;
    json plan = {{"canalogue_plan", kPlanVersion}, {"items", {{{"card", "note"}, {"length", 1}}}}};
    for (const char* part : {"film", "about"})
        if (j.contains(part)) plan[part] = j[part];
    auto read = plan_from_json(plan.dump());
    if (!read) return read.failure();
    out.film = read->film, out.about = general(read->about);
    for (auto [list, to] : {std::pair{"before", &out.before}, {"after", &out.after}}) {
        auto cards = cards_from(j, list);
        if (!cards) return cards.failure();
        *to = std::move(*cards);
    }
    return out;
}

Result<void> read_film_settings(FilmSettings& film, const FilmWords& words) {
    Plan alone;
    alone.film = film;
    alone.items.emplace_back(Card{Card::Role::note, "", {}, kSecond, "", {}});
    json plan = json::parse(plan_to_json(alone));
    const auto give = [&](const char* key, const std::string& word) {
        if (!word.empty()) plan["film"][key] = word;
    };
    give("size", words.size), give("target", words.target), give("format", words.format);
    if (words.megabytes != 0) plan["film"]["megabytes"] = words.megabytes;
    auto read = plan_from_json(plan.dump());
    if (!read) {
        // These words did not come from a plan, so the sentence does not send anybody there.
        constexpr std::string_view kThere = "In the plan's 'film', ";
        const std::string& said = read.failure().sentence;
        return said.starts_with(kThere) ? wrong_use("The film's " + said.substr(kThere.size())) : read.failure();
    }
    film = read->film;
    if (words.megabytes != 0 && film.target != FilmTarget::message) return wrong_use("Megabytes are for a film that is sent as a message: make it one (--target message), or leave them out.");
    return {};
}

}  // namespace canalogue
