#include "app/store/vault.hpp"

#include <sodium.h>

#include <array>

namespace canalogue::store {

namespace {

const unsigned char* raw(std::string_view s) { return reinterpret_cast<const unsigned char*>(s.data()); }
unsigned char* raw(std::string& s) { return reinterpret_cast<unsigned char*>(s.data()); }

static_assert(crypto_box_SECRETKEYBYTES == SealKey::kBytes);

// The salt's last byte says how hard the key is to derive, so that a vault can always be opened.
constexpr char kHard = 'm', kQuick = 'q';

std::optional<SealKey> derive(std::string_view passphrase, std::string_view salt) {
    if (salt.size() != crypto_pwhash_SALTBYTES + 1) return std::nullopt;
    const bool quick = salt.back() == kQuick;
    std::string key(SealKey::kBytes, '\0');
    const auto ops = quick ? crypto_pwhash_OPSLIMIT_MIN : crypto_pwhash_OPSLIMIT_MODERATE;
    const auto memory = quick ? crypto_pwhash_MEMLIMIT_MIN : crypto_pwhash_MEMLIMIT_MODERATE;
    if (crypto_pwhash(raw(key), key.size(), passphrase.data(), passphrase.size(), raw(salt), ops, memory,
                      crypto_pwhash_ALG_ARGON2ID13) != 0)
        return std::nullopt;
    auto out = SealKey::from_bytes(key);
    sodium_memzero(key.data(), key.size());
    return out;
}

}  // namespace

Result<VaultRecord> Vault::make(std::string_view passphrase, bool quick) {
    if (!sealing_ready()) return machine_trouble("The system gives no random numbers, so nothing can be sealed.");
    if (passphrase.size() < 8)
        return wrong_use("The passphrase is too short to seal anything: use at least eight characters.");
    VaultRecord v;
    v.salt.resize(crypto_pwhash_SALTBYTES);
    randombytes_buf(v.salt.data(), v.salt.size());
    v.salt += quick ? kQuick : kHard;
    std::string secret(crypto_box_SECRETKEYBYTES, '\0');
    v.public_key.resize(crypto_box_PUBLICKEYBYTES);
    crypto_box_keypair(raw(v.public_key), raw(secret));
    const auto key = derive(passphrase, v.salt);
    if (!key) return machine_trouble("There is not enough memory to derive a key; close other programs.");
    v.sealed_secret = key->seal(secret);
    sodium_memzero(secret.data(), secret.size());
    return v;
}

std::string Vault::put(const VaultRecord& vault, std::string_view plain) {
    std::string out(plain.size() + crypto_box_SEALBYTES, '\0');
    crypto_box_seal(raw(out), raw(plain), plain.size(), raw(vault.public_key));
    return out;
}

Result<Vault> Vault::open(const VaultRecord& vault, std::string_view passphrase) {
    const auto key = derive(passphrase, vault.salt);
    if (!key) return machine_trouble("There is not enough memory to derive a key; close other programs.");
    auto secret = key->open(vault.sealed_secret);
    if (!secret) return wrong_use("The passphrase does not open this library's vault; try again.");
    auto secret_key = SealKey::from_bytes(*secret);
    sodium_memzero(secret->data(), secret->size());
    return Vault(vault.public_key, *secret_key);
}

std::optional<std::string> Vault::take(std::string_view sealed) const {
    if (sealed.size() < crypto_box_SEALBYTES) return std::nullopt;
    std::string out(sealed.size() - crypto_box_SEALBYTES, '\0');
    std::string secret = secret_.bytes();
    const int opened = crypto_box_seal_open(raw(out), raw(sealed), sealed.size(), raw(public_key_), raw(secret));
    sodium_memzero(secret.data(), secret.size());
    if (opened != 0) return std::nullopt;
    return out;
}

namespace {

// The signing key's seed: a hash of the vault's secret under a name of its own, so that neither key tells the
// other.
struct SigningKey {
    std::array<unsigned char, crypto_sign_PUBLICKEYBYTES> open{};
    std::array<unsigned char, crypto_sign_SECRETKEYBYTES> secret{};
    explicit SigningKey(std::string vault_secret) {
        constexpr std::string_view kName = "canalogue sign-off";
        std::array<unsigned char, crypto_sign_SEEDBYTES> seed{};
        crypto_generichash(seed.data(), seed.size(), raw(kName), kName.size(), raw(vault_secret), vault_secret.size());
        crypto_sign_seed_keypair(open.data(), secret.data(), seed.data());
        sodium_memzero(seed.data(), seed.size());
        sodium_memzero(vault_secret.data(), vault_secret.size());
    }
    ~SigningKey() { sodium_memzero(secret.data(), secret.size()); }
};

}  // namespace

std::string Vault::sign(std::string_view text) const {
    const SigningKey key(secret_.bytes());
    std::string out(crypto_sign_BYTES, '\0');
    crypto_sign_detached(raw(out), nullptr, raw(text), text.size(), key.secret.data());
    return base64(out);
}

bool Vault::signed_by_this(std::string_view text, std::string_view signature) const {
    const auto bytes = from_base64(signature);
    if (!bytes || bytes->size() != crypto_sign_BYTES) return false;
    const SigningKey key(secret_.bytes());
    return crypto_sign_verify_detached(raw(*bytes), raw(text), text.size(), key.open.data()) == 0;
}

}  // namespace canalogue::store
