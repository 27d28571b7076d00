// Names of the known list, listened for in recordings and in recorded narration. What is heard ranks and warns;
// every voice stays a suspect whatever is heard in it.
#pragma once

#include "app/core/plan.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct HearReport {
    int listened = 0;  // stretches of speech
    int named = 0;     // of them, with a name of the list, or words that announce one ("my name is")
};

// Listens again in every stretch of speech that was found; what is heard is sealed with the suspect's words, like
// what was read from pictures. Nothing to do in a library without sealed names. Cancelled: what was heard before is kept.
Result<HearReport> hear_names(Desk& desk, const std::string& session, const std::string& passphrase, const Progress& progress);

// Whether a take says one of the known identifiers: "at 0:03" for each; of single names only where `unsure_too`.
Result<std::vector<std::string>> names_in_take(const Desk& desk, const std::string& session, const std::string& take, const std::vector<std::string>& known, bool unsure_too, const Progress& progress);

// Refuses, naming the line, a plan that is said by a take in which a known identifier is surely heard.
Result<void> look_over_takes(const Desk& desk, const std::string& session, const Plan& plan, const std::vector<std::string>& known, const Progress& progress);

}  // namespace canalogue::desk
