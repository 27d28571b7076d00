#include <unistd.h>

#include "app/cli/commands.hpp"
#include "app/cli/demo_job.hpp"
#include "app/core/cover.hpp"
#include "app/plugin_host/beside_program.hpp"

namespace canalogue::cli {

namespace {

struct ToolArguments {
    std::string vocabulary = "ear_care", kind, out = "build/demo", into;
    std::uint64_t seed = 7;
    double seconds = 60;
    bool recordings_only = false;
};

nlohmann::ordered_json kind_json(const EventKind& k) {
    nlohmann::ordered_json attributes = nlohmann::ordered_json::array();
    for (const auto& a : k.attributes) attributes.push_back({{"id", a.id}, {"name", a.name}, {"choices", a.choices}, {"unit", a.unit}});
    return {{"id", k.id}, {"name", k.name}, {"span", k.span}, {"heading", name_of(k.heading)}, {"symbol", {{"shape", k.symbol.shape}, {"letter", k.symbol.letter}, {"colour", k.symbol.colour}}},
            {"key", k.key}, {"attributes", attributes}, {"caution", k.caution}};
}

void print_kind(const EventKind& k) {
    say(k.id + "  " + k.name + (k.span ? " (has a length)" : "") + (k.key.empty() ? "" : ", key " + k.key) + ", heading: " + std::string(name_of(k.heading)));
    for (const auto& a : k.attributes) {
        std::string line = "  --set " + a.id + "=";
        for (std::size_t i = 0; i < a.choices.size(); ++i) line += (i ? " | " : "") + a.choices[i];
        if (a.choices.empty()) line += a.type == AttributeType::number ? (a.unit.empty() ? "number" : "number in " + a.unit) : a.type == AttributeType::flag ? "yes | no" : "text";
        say(line);
    }
    say("  --set clock=1..12   --set depth=outer | middle | deep");
    if (!k.caution.empty()) say("  Caution: " + k.caution);
}

int vocab(Program& p, const ToolArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        auto v = desk.vocabulary(a.vocabulary);
        if (!v) return complain(v.failure());
        if (!a.kind.empty()) {
            auto kind = v->named(a.kind);
            if (!kind) return complain(kind.failure());
            if (p.json) say_json(kind_json(**kind));
            else print_kind(**kind);
            return 0;
        }
        if (p.json) {
            nlohmann::ordered_json kinds = nlohmann::ordered_json::array();
            for (const auto& k : v->kinds()) kinds.push_back(kind_json(k));
            say_json({{"id", v->id()}, {"name", v->name()}, {"version", v->version()}, {"caution", v->caution()}, {"kinds", kinds}});
            return 0;
        }
        for (const auto& k : v->kinds()) {
            char line[160];
            std::snprintf(line, sizeof line, "%-22s %-28s key %-2s %s", k.id.c_str(), k.name.c_str(), k.key.c_str(), std::string(name_of(k.heading)).c_str());
            say(line);
        }
        say("'canalogue vocab KIND' shows what can be set. " + v->caution());
        return 0;
    });
}

int plugins(Program& p) {
    return p.with_desk([&](desk::Desk& desk) {
        desk.ask_spotters();
        nlohmann::ordered_json list = nlohmann::ordered_json::array();
        for (const auto& plugin : desk.plugins.plugins()) {
            list.push_back({{"id", plugin.id}, {"name", plugin.name}, {"version", plugin.version}, {"available", plugin.available}, {"why_not", plugin.why_not}, {"about", plugin.about},
                            {"looks_for", plugin.looks_for}, {"does_not_look_for", plugin.does_not_look_for}});
            if (!p.json) say(plugin.id + " " + plugin.version + "  " + plugin.name + ": " + (plugin.available ? plugin.about : "not available. " + plugin.why_not));
        }
        if (p.json) say_json(list);
        return 0;
    });
}

int selfcheck(Program& p) {
    return p.with_desk([&](desk::Desk& desk) {
        auto health = desk.library.verify();
        if (!health) return complain(health.failure());
        auto head = desk.library.chain_head();
        if (!head) return complain(head.failure());
        desk.ask_spotters();
        nlohmann::ordered_json missing = nlohmann::ordered_json::array();
        for (const auto& id : required_spotters())
            if (const auto* plugin = desk.plugins.find(id); !plugin || !plugin->available) missing.push_back(id);
        if (p.json) {
            say_json({{"rows", health->rows}, {"chain_holds", !health->broken_at}, {"broken_at", health->broken_at ? nlohmann::ordered_json(*health->broken_at) : nlohmann::ordered_json()},
                      {"database_whole", health->database_whole}, {"astray", health->astray}, {"chain_head", *head}, {"spotters_missing", missing}});
        } else {
            say("Journal: " + std::to_string(health->rows) + " rows, " + (health->broken_at ? "BROKEN at row " + std::to_string(*health->broken_at) : "the chain holds") + ".");
            say(std::string("Database: ") + (health->database_whole ? "whole." : "DAMAGED."));
            for (const auto& item : health->astray) say("Not what the journal made it: " + item + ".");
            for (const auto& id : missing) say("Spotter missing: " + id.get<std::string>() + " (everything counts as unscanned and stays covered).");
        }
        if (health->broken_at || !health->database_whole || !health->astray.empty())
            return complain(refused("The library's past does not hold together: restore the folder from a backup and compare."));
        return 0;
    });
}

// The window is a program of its own, so that the commands need no display library to start.
int open_window(const Program& p, const std::string& session) {
    const std::string program = (program_folder() / "canalogue-editor").string();
    std::vector<std::string> words{program};
    if (!session.empty()) words.push_back(session);
    if (!p.library.empty()) words.insert(words.end(), {"--library", p.library});
    if (!p.person.empty()) words.insert(words.end(), {"--by", p.person});
    std::vector<char*> argv;
    for (auto& w : words) argv.push_back(w.data());
    argv.push_back(nullptr);
    execv(program.c_str(), argv.data());
    return complain(machine_trouble("The window's program is not beside this one: build or install 'canalogue-editor'."));
}

}  // namespace

void add_tool_commands(Program& p) {
    auto* a = p.keep<ToolArguments>();
    auto* vocab_command = p.add("vocab", "List the kinds of event, or what a kind can hold", "canalogue vocab drum-visible");
    vocab_command->add_option("KIND", a->kind);
    vocab_command->add_option("--vocabulary", a->vocabulary)->type_name("ID");
    vocab_command->add_flag("--json", p.json, "For programs");
    vocab_command->callback([&p, a] { p.run = [&p, a] { return vocab(p, *a); }; });

    auto* plugins_command = p.add("plugins", "List plugins, what they look for, and whether they can work here", "canalogue plugins --json");
    plugins_command->add_flag("--json", p.json, "For programs");
    plugins_command->callback([&p] { p.run = [&p] { return plugins(p); }; });

    auto* selfcheck_command = p.add("selfcheck", "Verify the library: journal chain, database, spotters", "canalogue selfcheck");
    selfcheck_command->add_flag("--json", p.json, "For programs");
    selfcheck_command->callback([&p] { p.run = [&p] { return selfcheck(p); }; });

    auto* demo = p.add("demo", "Draw a session and do the whole job on it", "canalogue demo --out build/demo");
    demo->add_option("--out", a->out, "Folder for recordings, library and export")->type_name("DIR");
    demo->add_option("--seed", a->seed, "Another seed draws another session");
    demo->add_option("--seconds", a->seconds, "How long the drawn session is")->check(CLI::Range(4.0, 3600.0));
    demo->add_flag("--recordings-only", a->recordings_only, "Draw the recordings and stop");
    demo->add_option("--into", a->into, "Put the session into this library, tagged and scanned, and make no film")->type_name("DIR");
    demo->callback([&p, a] {
        p.run = [&p, a] {
            DemoWish wish{a->out, a->into, a->seed, a->seconds, a->recordings_only};
            if (!p.person.empty()) wish.by = p.person;
            return run_demo(wish);
        };
    });

    auto* session = p.keep<std::string>();
    auto* edit = p.add("edit", "Open the editor's window, with a session if one is named", "canalogue edit s1");
    edit->add_option("SESSION", *session);
    edit->callback([&p, session] { p.run = [&p, session] { return open_window(p, *session); }; });
}

}  // namespace canalogue::cli
