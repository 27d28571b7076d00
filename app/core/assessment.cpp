#include "app/core/assessment.hpp"

#include <algorithm>

#include "app/core/text.hpp"

namespace canalogue {

namespace {

constexpr std::size_t kWordsOfACase = 40;  // fewer hardly tell history and findings
constexpr int kChapters = 3;
constexpr int kSmallestSide = 720;         // pixels
constexpr double kTooQuick = 4;            // paces above it are hard to follow

struct Want {
    bool there;
    const char* else_missing;
};

// Each want that is not met costs a mark.
AssessedItem item(const char* name, std::initializer_list<Want> wants) {
    AssessedItem out{name, {}, kMostMarksOfItem};
    for (const auto& want : wants)
        if (!want.there) out.missing.emplace_back(want.else_missing), --out.marks;
    return out;
}

std::size_t words_in(const std::string& text) {
    std::size_t words = 0;
    bool inside = false;
    for (const char c : text) {
        const bool blank = c == ' ' || c == '\n' || c == '\t';
        words += !blank && !inside;
        inside = !blank;
    }
    return words;
}

// What a plan holds, counted once.
struct Counted {
    explicit Counted(const Plan& plan) {
        for (const auto& each : plan.items) {
            chapters += !std::visit([](const auto& i) -> const std::string& { return i.chapter; }, each).empty();
            if (const auto* card = std::get_if<Card>(&each)) {
                cards += card->length;
                end_card = end_card || card->role == Card::Role::end;
            } else {
                passage(std::get<Passage>(each));
            }
        }
    }

    void passage(const Passage& p) {
        ++passages;
        narrated += !p.narration.empty();
        shown += static_cast<Nanos>(static_cast<double>(p.span.length()) / p.pace);
        for (const auto& hold : p.holds) shown += hold.length;
        quickest = std::max(quickest, p.pace);
        labels = labels || !p.labels.empty();
        more_aids = more_aids || !p.pointers.empty() || !p.places.empty() || p.beside || p.close_up || !p.questions.empty();
    }

    int chapters = 0, passages = 0, narrated = 0;
    Nanos cards = 0, shown = 0;
    double quickest = 0;
    bool labels = false, more_aids = false, end_card = false;
};

}  // namespace

int Assessment::marks() const {
    int sum = 0;
    for (const auto& each : items) sum += each.marks;
    return sum;
}

Assessment assess(const Plan& plan) {
    const Counted c(plan);
    const About& about = plan.about;
    const auto told = [](const std::string& text) { return letters_in(text) > 0; };
    const std::size_t words = words_in(about.case_text);
    return {{
        item("Title and who made it", {{told(plan.title), "a title"}, {told(about.made_by), "who made it"}}),
        item("The case and what is to be learned", {{told(about.case_text), "the case in words"}, {!about.aims.empty(), "the aims"}}),
        item("History and findings, without identifiers", {{words * 3 >= kWordsOfACase, "the history in the case text"}, {words >= kWordsOfACase, "the findings in the case text (40 words or more)"}}),
        item("The procedure is shown", {{c.passages > 0, "a passage that shows it"}, {c.shown > c.cards, "more film of the procedure than cards"}}),
        item("Step by step", {{c.chapters >= kChapters - 1, "chapters: a name where each step begins"}, {c.chapters >= kChapters, "three chapters or more"}}),
        item("The outcome", {{told(about.outcome), "the outcome in words"}, {c.end_card, "an end card in the film"}}),
        item("Graphic aids", {{c.labels, "labels in the picture"}, {c.more_aids, "a pointer, a place on the clock, a close-up, a second picture or a question"}}),
        item("Commentary", {{c.narrated > 0, "narration"}, {c.narrated == c.passages && c.passages > 0, "narration in every passage"}}),
        item("Picture and pace", {{std::min(plan.film.size.w, plan.film.size.h) >= kSmallestSide, "720 lines or more"}, {c.passages > 0 && c.quickest <= kTooQuick, "no passage quicker than 4 times"}}),
    }};
}

std::string assessment_text(const Assessment& a) {
    std::string out = std::to_string(a.marks()) + " of " + std::to_string(a.most()) + "\n";
    for (const auto& each : a.items) {
        out += "  " + std::to_string(each.marks) + "  " + each.name;
        for (std::size_t i = 0; i < each.missing.size(); ++i) out += (i ? "; " : ". Missing: ") + each.missing[i];
        out += "\n";
    }
    return out;
}

}  // namespace canalogue
