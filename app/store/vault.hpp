// The vault: known identifiers and words read from pictures. Anybody may put in (sealed to the
// vault's public key); only the passphrase opens. Argon2id derives the key that holds the vault's
// secret key; losing the passphrase loses the contents.
#pragma once

#include <optional>
#include <string>

#include "app/core/result.hpp"
#include "app/store/sealing.hpp"

namespace canalogue::store {

// What is stored of a vault: nothing of it opens it without the passphrase.
struct VaultRecord {
    std::string salt, public_key, sealed_secret;
};

class Vault {
  public:
    // A new vault. `quick` costs little time and memory: for tests only.
    static Result<VaultRecord> make(std::string_view passphrase, bool quick = false);

    // Seals without a passphrase.
    static std::string put(const VaultRecord& vault, std::string_view plain);

    // Refuses a wrong passphrase.
    static Result<Vault> open(const VaultRecord& vault, std::string_view passphrase);
    std::optional<std::string> take(std::string_view sealed) const;

    // An Ed25519 signature by a key derived from the vault's secret, base64; and whether one is ours.
    std::string sign(std::string_view text) const;
    bool signed_by_this(std::string_view text, std::string_view signature) const;

  private:
    Vault(std::string public_key, SealKey secret) : public_key_(std::move(public_key)), secret_(secret) {}
    std::string public_key_;
    SealKey secret_;
};

}  // namespace canalogue::store
