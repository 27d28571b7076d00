#include "app/desk/knowing.hpp"

#include "app/core/text.hpp"
#include "app/store/vault.hpp"

namespace canalogue::desk {

namespace {

constexpr const char* kKnown = "known";

// What is sealed of a sort in a session, opened; none in a library without a vault.
Result<std::map<std::string, std::string>> opened(const Desk& desk, const std::string& session, const char* what, const std::string& passphrase) {
    std::map<std::string, std::string> out;
    auto vault = desk.vault(passphrase);
    if (!vault) return vault.failure();
    if (!*vault) return out;
    auto sealed = desk.library.sealed(session, what);
    if (!sealed) return sealed.failure();
    for (const auto& [id, bytes] : *sealed)
        if (auto plain = (*vault)->take(bytes)) out.emplace(id, *plain);
    return out;
}

// Shorter ones stand in any text by chance.
constexpr std::size_t kShortest = 3;

Result<std::vector<std::string>> fit_to_seal(const std::vector<std::string>& identifiers) {
    std::vector<std::string> out;
    for (const auto& identifier : identifiers) {
        auto plain = one_line(identifier, "An identifier");
        if (!plain) return plain.failure();
        if (plain->empty()) continue;
        if (plain->size() < kShortest) return wrong_use("An identifier of fewer than 3 letters would be found in any text: give the whole name or number. Nothing was sealed.");
        out.push_back(*plain);
    }
    if (out.empty()) return wrong_use("No identifier was given: name the patient's name or number as it may be written, spoken or burnt in.");
    return out;
}

}  // namespace

Result<int> add_known(Desk& desk, const std::string& session, const std::vector<std::string>& identifiers, const std::string& passphrase) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto fit = fit_to_seal(identifiers);
    if (!fit) return fit.failure();
    auto record = desk.library.vault();
    if (!record) return record.failure();
    if (!*record) {
        auto made = store::Vault::make(passphrase);
        if (!made) return made.failure();
        if (auto kept = desk.library.keep_vault(*made); !kept) return kept.failure();
        *record = *made;
    }
    auto vault = store::Vault::open(**record, passphrase);
    if (!vault) return vault.failure();
    int added = 0;
    for (const auto& identifier : *fit) {
        auto id = desk.library.next_id(session, "k");
        if (!id) return id.failure();
        if (auto kept = desk.library.keep_sealed(session, kKnown, *id, store::Vault::put(**record, identifier)); !kept) return kept.failure();
        ++added;
    }
    auto done = desk.library.commit({session, "seal known identifiers", desk.person, {}, false});
    if (!done) return done.failure();
    return added;
}

Result<int> count_known(const Desk& desk, const std::string& session) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto all = desk.library.sealed(session, kKnown);
    if (!all) return all.failure();
    return static_cast<int>(all->size());
}

Result<std::vector<std::string>> open_known(const Desk& desk, const std::string& session, const std::string& passphrase) {
    auto found = opened(desk, session, kKnown, passphrase);
    if (!found) return found.failure();
    std::vector<std::string> out;
    for (auto& [id, text] : *found) out.push_back(std::move(text));
    return out;
}

Result<std::map<std::string, std::string>> open_words(const Desk& desk, const std::string& session, const std::string& passphrase) {
    return opened(desk, session, kWordsRead, passphrase);
}

}  // namespace canalogue::desk
