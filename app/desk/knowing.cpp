#include "app/desk/knowing.hpp"

#include "app/store/vault.hpp"

namespace canalogue::desk {

namespace {
constexpr const char* kKnown = "known";
}

Result<int> add_known(Desk& desk, const std::string& session, const std::vector<std::string>& identifiers, const std::string& passphrase) {
    if (auto s = desk.session(session); !s) return s.failure();
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
    for (const auto& identifier : identifiers) {
        if (identifier.empty()) continue;
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
    auto all = desk.library.sealed(session, kKnown);
    if (!all) return all.failure();
    return static_cast<int>(all->size());
}

Result<std::vector<std::string>> open_known(const Desk& desk, const std::string& session, const std::string& passphrase) {
    auto record = desk.library.vault();
    if (!record) return record.failure();
    if (!*record) return std::vector<std::string>{};
    auto vault = store::Vault::open(**record, passphrase);
    if (!vault) return vault.failure();
    auto sealed = desk.library.sealed(session, kKnown);
    if (!sealed) return sealed.failure();
    std::vector<std::string> out;
    for (const auto& s : *sealed)
        if (auto plain = vault->take(s)) out.push_back(*plain);
    return out;
}

}  // namespace canalogue::desk
