// The subcommands, grouped by whose hands they are for. Each group adds its subcommands to the
// program; a chosen one runs by setting `run` to what it does and returns an exit code.
#pragma once

#include <CLI/CLI.hpp>
#include <functional>
#include <string>

#include "app/cli/terminal.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::cli {

struct Program {
    CLI::App app{"Canalogue turns ear-care session video into a record, covered film and teaching clips.\n"
                 "It teaches and documents; it does not diagnose. Detectors miss things: a person must review."};
    std::string library;  // --library
    std::string person;   // --by
    bool person_given = false;
    bool json = false;    // --json
    std::function<int()> run;

    // A T that lives as long as the program: options point into it.
    template <class T>
    T* keep() {
        auto made = std::make_shared<T>();
        kept_.push_back(made);
        return made.get();
    }
    // A subcommand with an example in its help and the options that all have.
    CLI::App* add(const std::string& name, const std::string& about, const std::string& example);
    // Opens the desk and hands it over; prints failures.
    int with_desk(const std::function<int(desk::Desk&)>& act);

  private:
    std::vector<std::shared_ptr<void>> kept_;
};

void add_session_commands(Program& p);  // import, show, confirm, find
void add_event_commands(Program& p);    // tag, events, edit, delete, side, undo, redo
void add_gauge_commands(Program& p);    // gauge, dismiss
void add_privacy_commands(Program& p);  // scan, suspects, decide, cover, known, check
void add_clip_commands(Program& p);     // plan, render, take, takes
void add_set_commands(Program& p);      // set
void add_sign_off_commands(Program& p); // signoff
void add_tool_commands(Program& p);     // vocab, plugins, selfcheck, demo

// --at and the like: a time as people write it.
CLI::Option* add_time(CLI::App* command, const std::string& option, std::optional<Nanos>& into, const std::string& about);

}  // namespace canalogue::cli
