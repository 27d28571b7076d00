// What a learner is given of a film: one value from which the case page, the handout and the publishing kit are
// written. It holds plan data and covered pictures' names alone, no instant of a recording and no free text of events.
#pragma once

#include <string>
#include <vector>

#include "app/core/audience.hpp"
#include "app/core/vocabulary.hpp"
#include "export/captions.hpp"
#include "export/question_points.hpp"
#include "export/schedule.hpp"

namespace canalogue::film {

struct PageEvent {
    FilmSpan span;
    Ear ear = Ear::right;
    Symbol symbol;
    std::string words;
};

struct PageStill {
    std::string file;  // "stills/01-right-drum-visible.jpg"
    std::string words;
    Ear ear = Ear::right;
    FilmTime at;
    int weight = 0;    // how much it tells; the handout takes the weightiest
};

struct PageQuestion {
    FilmTime at;
    Question question;             // its `spot` is replaced by `spot` below
    std::optional<ShareBox> spot;  // in shares of the whole film picture
    int nearest = -1;              // number of the event nearest in the film; -1: there is none
};

struct CasePage {
    std::string title, language;  // never empty: a film without a title is "A case"
    std::string notice;           // of an audience that may see who it is; else empty
    std::string film_file;        // beside the page
    Size size;
    int frames_per_second = 25;
    Nanos length = 0;
    bool captions_burnt = false;
    About about;
    std::vector<Chapter> chapters;
    std::vector<PageEvent> events;  // by film time
    std::vector<CaptionTrack> tracks;
    std::vector<PageStill> stills;
    std::vector<PageQuestion> questions;
};

struct CasePageInput {
    const Plan& plan;
    const Schedule& schedule;
    const std::vector<Event>& events;  // what the schedule's numbers mean
    const Vocabulary& vocabulary;
    const std::vector<Cue>& cues;
    const FilmRoom& room;
    Audience audience = Audience::learners;
    std::string film_file = "clip.mp4";
};

// Without stills.
CasePage case_page(const CasePageInput& input);

// The page: case.html, which needs nothing but the files of its folder. The same value gives the same bytes.
std::string case_page_html(const CasePage& page);

inline constexpr const char* kCasePageFile = "case.html";

// What a choice is called by: A for the first.
inline std::string letter_of_choice(std::size_t number) { return std::string(1, static_cast<char>('A' + number % 26)); }

}  // namespace canalogue::film
