#include "app/cli/commands.hpp"
#include "app/desk/signing.hpp"

namespace canalogue::cli {

namespace {

struct SignOffArguments {
    std::string session, id, passphrase_file;
};

std::string state_of(desk::Desk& desk, const desk::Export& e, const std::string& secret) {
    if (!e.signed_off) return "not signed off";
    const std::string by = "signed off by " + e.signed_off->by + " at " + e.signed_off->at;
    if (secret.empty()) return by + " (the passphrase tells whether the signature holds)";
    const auto holds = desk::holds(desk, *e.signed_off, secret);
    return by + (holds && *holds ? ", the signature holds" : ", but THE SIGNATURE DOES NOT HOLD");
}

int list(Program& p, desk::Desk& desk, const SignOffArguments& a, const std::string& secret) {
    auto all = desk::exports(desk, a.session);
    if (!all) return complain(all.failure());
    TerminalProgress progress;
    nlohmann::ordered_json out = nlohmann::ordered_json::array();
    for (const auto& e : *all) {
        auto against = desk::hindrances(desk, a.session, e, progress.progress());
        if (!against) return complain(against.failure());
        out.push_back({{"id", e.id}, {"at", e.at}, {"audience", name_of(e.audience)}, {"folder", e.folder.string()}, {"manifest_sha256", e.manifest}, {"held", e.held},
                       {"signed_off_by", e.signed_off ? e.signed_off->by : ""}, {"hindrances", *against}});
        if (p.json) continue;
        say(e.id + "  " + e.at + "  " + std::string(name_of(e.audience)) + "  " + e.folder.string());
        say("    " + state_of(desk, e, secret));
        for (const auto& h : *against) say("    - " + h);
    }
    if (p.json) say_json(out);
    else if (all->empty()) say("No film was made of this session yet; 'canalogue render' makes one.");
    return 0;
}

int sign_off(Program& p, const SignOffArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        auto secret = passphrase(a.passphrase_file, !a.id.empty());
        if (!secret) return complain(secret.failure());
        if (a.id.empty()) return list(p, desk, a, *secret);
        TerminalProgress progress;
        auto given = desk::sign_off(desk, a.session, a.id, *secret, progress.progress());
        if (!given) return complain(given.failure());
        say(a.id + " is signed off by " + given->by + ": manifest " + given->manifest + ", journal " + given->chain_head + ".");
        return 0;
    });
}

}  // namespace

void add_sign_off_commands(Program& p) {
    auto* a = p.keep<SignOffArguments>();
    auto* command = p.add("signoff", "List the films of a session, or sign one off", "canalogue signoff s1 o12 --by \"Your Name\"");
    command->add_option("SESSION", a->session)->required();
    command->add_option("EXPORT", a->id, "The film to sign off (otherwise they are listed, with what stands against it)");
    command->add_option("--passphrase-file", a->passphrase_file, "Otherwise $CANALOGUE_PASSPHRASE")->type_name("FILE");
    command->add_flag("--json", p.json, "For programs");
    command->callback([&p, a] { p.run = [&p, a] { return sign_off(p, *a); }; });
}

}  // namespace canalogue::cli
