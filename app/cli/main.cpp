// canalogue: the command line.
#include <algorithm>
#include <cstdlib>
#include <iostream>

#include "app/cli/commands.hpp"

namespace canalogue::cli {

CLI::App* Program::add(const std::string& name, const std::string& about, const std::string& example) {
    CLI::App* command = app.add_subcommand(name, about);
    command->add_option("--library", library, "The library's folder (otherwise the data folder of your account)")->type_name("DIR");
    command->add_option("--by", [this](const CLI::results_t& words) { person = words.front(), person_given = true; return true; }, "Who is doing this (otherwise $CANALOGUE_BY, else your login name)")->type_name("NAME");
    command->footer("Example:\n  " + example);
    command->fallthrough();
    return command;
}

int Program::with_desk(const std::function<int(desk::Desk&)>& act) {
    if (person_given && person.empty()) return complain(canalogue::wrong_use("--by was given no name: write who is doing this, or leave it out."));
    if (person.empty())
        for (const char* name : {"CANALOGUE_BY", "USER", "LOGNAME"})
            if (const char* value = std::getenv(name); person.empty() && value) person = value;
    auto desk = desk::Desk::open(library.empty() ? desk::Desk::usual_library() : std::filesystem::path(library), person);
    if (!desk) return complain(desk.failure());
    return act(*desk);
}

CLI::Option* add_time(CLI::App* command, const std::string& option, std::optional<Nanos>& into, const std::string& about) {
    return command->add_option_function<std::string>(
        option,
        [&into, option](const std::string& text) {
            auto t = parse_time(text);
            if (!t) throw CLI::ValidationError(option, t.failure().sentence);
            into = *t;
        },
        about)->type_name("TIME");
}

// The words of the library that reads the command line, as a sentence.
static std::string sentence_of(std::string words) {
    while (!words.empty() && (words.back() == '.' || words.back() == '\n' || words.back() == ' ')) words.pop_back();
    return words + ".";
}

static std::string help_for(const CLI::App& app) {
    const auto chosen = app.get_subcommands();
    return "'canalogue " + (chosen.empty() ? "--help' lists the commands." : chosen.front()->get_name() + " --help' shows an example.");
}

}  // namespace canalogue::cli

int main(int argc, char** argv) {
    using namespace canalogue::cli;
    catch_interrupts();
    tell_errors_as_json(std::find(argv, argv + argc, std::string_view("--json")) != argv + argc);
    Program program;
    program.app.require_subcommand(1);
    program.app.set_version_flag("--version", "canalogue " CANALOGUE_VERSION);
    program.app.footer("Times are written 12.5, 1:02.25 or 00:01:02.250. 'canalogue COMMAND --help' shows an example.\n"
                       "Exit codes: 0 done, 2 wrong use, 3 media that cannot be used, 4 refused by a promise, 5 a failing machine.");
    add_session_commands(program);
    add_event_commands(program);
    add_gauge_commands(program);
    add_privacy_commands(program);
    add_clip_commands(program);
    add_set_commands(program);
    add_sign_off_commands(program);
    add_tool_commands(program);
    try {
        program.app.parse(argc, argv);
    } catch (const CLI::ParseError& e) {
        if (e.get_exit_code() == 0) return program.app.exit(e);  // help and version
        return complain(canalogue::wrong_use(sentence_of(e.what()) + " " + help_for(program.app)));
    }
    try {
        return program.run ? program.run() : 2;
    } catch (const std::bad_alloc&) {
        std::cerr << "canalogue: There is not enough memory; close other programs and try again.\n";
        return 5;
    } catch (const std::exception& e) {
        std::cerr << "canalogue: Something unexpected went wrong (" << e.what() << "); nothing stored was changed.\n";
        return 5;
    }
}
