// Talking to the terminal: results on standard output, progress and complaints on standard error.
#pragma once

#include <chrono>
#include <nlohmann/json.hpp>
#include <string>

#include "app/core/progress.hpp"
#include "app/core/result.hpp"

namespace canalogue::cli {

// Ctrl-C and a polite kill ask long work to stop; a second one ends the program at once.
void catch_interrupts();

// Shows progress: one line that is rewritten on a terminal, one line per stage elsewhere.
class TerminalProgress {
  public:
    TerminalProgress();
    ~TerminalProgress();
    const Progress& progress() const { return progress_; }

  private:
    void show(std::string_view stage, double done);
    Progress progress_;
    std::string stage_;
    std::chrono::steady_clock::time_point since_;  // of the stage
    int percent_ = -1;
    bool terminal_ = false, open_ = false;
};

void say(const std::string& text);                 // a line on standard output
void say_json(const nlohmann::ordered_json& json);
void warn(const std::string& sentence);            // "Note: ..." on standard error

// Prints the sentence on standard error and gives the exit code.
int complain(const Failure& failure);
// With --json a failure is told to programs, too: {"error", "exit_code"} on standard output.
void tell_errors_as_json(bool yes);

// From $CANALOGUE_PASSPHRASE, a file's first line, or asked for without echo on a terminal. Empty
// when there is none and `required` is false.
Result<std::string> passphrase(const std::string& file, bool required);

}  // namespace canalogue::cli
