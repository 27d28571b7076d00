#include "app/cli/terminal.hpp"

#include <termios.h>
#include <unistd.h>

#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iostream>

#include "app/core/time.hpp"
#include "app/core/time_left.hpp"

namespace canalogue::cli {

namespace {

std::atomic<bool> stop_asked{false};
bool errors_as_json = false, json_said = false;

void on_interrupt(int) {
    if (stop_asked.exchange(true)) _exit(130);
}

}  // namespace

void catch_interrupts() {
    struct sigaction action {};
    action.sa_handler = on_interrupt;
    sigaction(SIGINT, &action, nullptr);
    sigaction(SIGTERM, &action, nullptr);
}

TerminalProgress::TerminalProgress() : terminal_(isatty(STDERR_FILENO)) {
    progress_.stop = &stop_asked;
    progress_.report = [this](std::string_view stage, double done) { show(stage, done); };
}

TerminalProgress::~TerminalProgress() {
    if (open_) std::fputs("\r\033[K", stderr);
}

void TerminalProgress::show(std::string_view stage, double done) {
    const int percent = std::clamp(static_cast<int>(done * 100), 0, 100);
    const bool new_stage = stage != stage_;
    if (!new_stage && percent == percent_) return;
    if (new_stage) since_ = std::chrono::steady_clock::now();
    stage_ = stage;
    percent_ = percent;
    if (terminal_) {
        const auto left = time_left(std::chrono::steady_clock::now() - since_, done);
        std::fprintf(stderr, "\r\033[K%-42s %3d %%%s", stage_.c_str(), percent, left ? (", " + format_clock(left->count()) + " left").c_str() : "");
        std::fflush(stderr);
        open_ = true;
    } else if (new_stage) {
        std::fprintf(stderr, "%s ...\n", stage_.c_str());
    }
}

void say(const std::string& text) { std::cout << text << (text.ends_with('\n') ? "" : "\n"); }
void say_json(const nlohmann::ordered_json& json) {
    json_said = true;
    std::cout << json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) << "\n";
}
void tell_errors_as_json(bool yes) { errors_as_json = yes; }
void warn(const std::string& sentence) { std::cerr << "Note: " << sentence << "\n"; }

int complain(const Failure& failure) {
    const int code = failure.trouble == Trouble::cancelled ? 130 : static_cast<int>(failure.trouble);
    // One document on standard output at most: a report that tells of the trouble is enough.
    if (errors_as_json && !json_said) say_json({{"error", failure.sentence}, {"exit_code", code}});
    std::cerr << "canalogue: " << failure.sentence << "\n";
    return code;
}

Result<std::string> passphrase(const std::string& file, bool required) {
    if (!file.empty()) {
        std::ifstream in(file);
        std::string line;
        if (!std::getline(in, line) || line.empty()) return wrong_use("The passphrase file cannot be read or its first line is empty.");
        return line;
    }
    if (const char* given = std::getenv("CANALOGUE_PASSPHRASE"); given && *given) return std::string(given);
    if (!required) return std::string();
    if (!isatty(STDIN_FILENO)) return wrong_use("A passphrase is needed: set CANALOGUE_PASSPHRASE, or name a file with --passphrase-file.");
    std::fputs("Passphrase of this library's vault: ", stderr);
    termios old{}, quiet{};
    tcgetattr(STDIN_FILENO, &old);
    quiet = old;
    quiet.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    tcsetattr(STDIN_FILENO, TCSANOW, &quiet);
    std::string line;
    std::getline(std::cin, line);
    tcsetattr(STDIN_FILENO, TCSANOW, &old);
    std::fputs("\n", stderr);
    return line;
}

}  // namespace canalogue::cli
