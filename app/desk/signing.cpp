#include "app/desk/signing.hpp"

#include <algorithm>
#include <fstream>
#include <set>

#include "app/core/text.hpp"
#include "app/desk/deciding.hpp"
#include "app/desk/sources.hpp"
#include "app/desk/watching.hpp"
#include "app/media/file_hash.hpp"
#include "app/store/vault.hpp"
#include "export/manifest.hpp"

namespace canalogue::desk {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

constexpr const char* kExport = "export";
constexpr const char* kSignOff = "signoff";

// What is signed; every field has its place, so that no two statements have the same words.
std::string statement(const SignOff& s) {
    return "canalogue sign-off 1\nmanifest " + s.manifest + "\nchain " + s.chain_head + "\nat " + s.at + "\nby " + s.by + "\n";
}

json written(const SignOff& s) {
    return {{"id", s.id}, {"at", s.at}, {"manifest", s.manifest}, {"chain", s.chain_head}, {"signature", s.signature}, {"private", {{"by", s.by}}}};
}

SignOff sign_off_from(const json& j) {
    return {j.at("id"), j.value("private", json::object()).value("by", ""), j.at("at"), j.at("manifest"), j.at("chain"), j.at("signature")};
}

Export export_from(const json& j, const std::string& id) {
    Export out;
    out.id = id;
    out.at = j.value("at", "");
    if (auto a = audience_named(j.value("audience", "")); a) out.audience = *a;
    out.folder = j.value("private", json::object()).value("folder", "");
    out.manifest = j.value("manifest", "");
    out.covers = j.value("covers", "");
    out.held = j.value("held", false);
    return out;
}

// The manifest that was signed, and every file as it says.
Result<bool> as_made(const Export& e, const Progress& progress) {
    std::error_code ec;
    const fs::path file = e.folder / "manifest.json";
    if (!fs::is_regular_file(file, ec)) return false;
    auto manifest = media::hash_file(file, progress);
    if (!manifest) return manifest.failure();
    if (*manifest != e.manifest) return false;
    return film::matches_manifest(e.folder, progress);
}

std::string how_many(std::size_t n, const char* one, const char* many) { return std::to_string(n) + " " + (n == 1 ? one : many); }

Result<void> add_hindrances_for_strangers(Desk& desk, const std::string& session, const Export& what, std::vector<std::string>& out) {
    auto lines = suspects(desk, session);
    if (!lines) return lines.failure();
    const auto open = std::count_if(lines->begin(), lines->end(), asks_for_a_decision);
    if (open > 0) out.push_back(how_many(static_cast<std::size_t>(open), "suspect is open", "suspects are open") + ": decide every one first.");
    auto gaps = unseen(desk, session);
    if (!gaps) return gaps.failure();
    Nanos missing = 0;
    for (const auto& [recording, spans] : *gaps)
        for (const auto& s : spans) missing += s.length();
    if (missing > 0) out.push_back(format_clock(missing) + " of the session was not watched in the public look: watch it in the window, at 2x at most.");
    auto covers = covers_now(desk, session, what.audience);
    if (!covers) return covers.failure();
    if (hash_of(*covers) != what.covers) out.push_back("Covers were changed since this film was made: make it again.");
    return {};
}

}  // namespace

Result<std::vector<Export>> exports(const Desk& desk, const std::string& session) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto made = desk.library.bodies(session, kExport);
    if (!made) return made.failure();
    auto given = desk.library.bodies(session, kSignOff);
    if (!given) return given.failure();
    std::vector<Export> out;
    try {
        for (const auto& body : *made) {
            out.push_back(export_from(body, body.value("id", "")));
            for (const auto& s : *given)
                if (auto signed_off = sign_off_from(s); signed_off.manifest == out.back().manifest) out.back().signed_off = signed_off;
        }
    } catch (const json::exception&) {
        return store::unreadable_entry();
    }
    std::reverse(out.begin(), out.end());
    return out;
}

std::string hash_of(const std::map<std::string, Covers>& covers) {
    std::string all;
    const auto span = [](RecordingSpan s) { return std::to_string(s.start.ns) + " " + std::to_string(s.end.ns); };
    for (const auto& [recording, c] : covers) {
        all += recording + "\n";
        for (const auto& p : c.picture)
            all += span(p.span) + " " + std::to_string(p.box.x) + " " + std::to_string(p.box.y) + " " + std::to_string(p.box.w) + " " + std::to_string(p.box.h) + (p.whole ? " whole\n" : "\n");
        for (const auto& s : c.hushed) all += "hush " + span(s) + "\n";
    }
    return media::hash_bytes(all);
}

Result<std::vector<std::string>> hindrances(Desk& desk, const std::string& session, const Export& what, const Progress& progress) {
    std::vector<std::string> out;
    if (what.held) out.push_back("Its check found something, so it is held: decide or cover what was found and make the film again.");
    auto whole = as_made(what, progress);
    if (!whole) return whole.failure();
    if (!*whole) out.push_back("Its files are not what was made: something is missing, was changed or was added. Make the film again.");
    if (!may_identify(what.audience))
        if (auto ok = add_hindrances_for_strangers(desk, session, what, out); !ok) return ok.failure();
    return out;
}

Result<SignOff> sign_off(Desk& desk, const std::string& session, const std::string& export_id, const std::string& passphrase, const Progress& progress) {
    if (letters_in(desk.person) == 0)
        return wrong_use("Who signs off? A sign-off is a named person's: add --by NAME.");
    auto all = exports(desk, session);
    if (!all) return all.failure();
    const auto what = std::find_if(all->begin(), all->end(), [&](const Export& e) { return e.id == export_id; });
    if (what == all->end()) return wrong_use("There is no export '" + legible(export_id) + "' of this session; 'canalogue signoff " + session + "' lists them.");
    auto against = hindrances(desk, session, *what, progress);
    if (!against) return against.failure();
    if (!against->empty()) return refused("No sign-off yet. " + against->front());
    auto record = desk.library.vault();
    if (!record) return record.failure();
    if (!*record) return refused("A sign-off is keyed by the library's passphrase, and it has none yet: seal the patient's name with 'canalogue known'.");
    auto vault = store::Vault::open(**record, passphrase);
    if (!vault) return vault.failure();
    auto head = desk.library.chain_head();
    if (!head) return head.failure();
    auto id = desk.library.next_id(session, "g");
    if (!id) return id.failure();
    SignOff given{*id, desk.person, store::utc_now(), what->manifest, *head, ""};
    given.signature = vault->sign(statement(given));
    auto done = desk.library.commit({session, "sign off export " + export_id, desk.person, {{kSignOff, *id, written(given)}}, false});
    if (!done) return done.failure();
    return given;
}

Result<bool> holds(const Desk& desk, const SignOff& given, const std::string& passphrase) {
    auto record = desk.library.vault();
    if (!record) return record.failure();
    if (!*record) return false;
    auto vault = store::Vault::open(**record, passphrase);
    if (!vault) return vault.failure();
    return vault->signed_by_this(statement(given), given.signature);
}

}  // namespace canalogue::desk
