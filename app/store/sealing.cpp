#include "app/store/sealing.hpp"

#include <sodium.h>

namespace canalogue::store {

namespace {
const unsigned char* raw(std::string_view s) { return reinterpret_cast<const unsigned char*>(s.data()); }
unsigned char* raw(std::string& s) { return reinterpret_cast<unsigned char*>(s.data()); }
constexpr std::size_t kNonce = crypto_aead_xchacha20poly1305_ietf_NPUBBYTES;
constexpr std::size_t kTag = crypto_aead_xchacha20poly1305_ietf_ABYTES;
}  // namespace

static_assert(SealKey::kBytes == crypto_aead_xchacha20poly1305_ietf_KEYBYTES);

bool sealing_ready() { return sodium_init() >= 0; }

SealKey SealKey::fresh() {
    SealKey key;
    randombytes_buf(key.key_.data(), key.key_.size());
    return key;
}

std::optional<SealKey> SealKey::from_bytes(std::string_view bytes) {
    if (bytes.size() != kBytes) return std::nullopt;
    SealKey key;
    std::copy(bytes.begin(), bytes.end(), key.key_.begin());
    return key;
}

SealKey::~SealKey() { sodium_memzero(key_.data(), key_.size()); }

std::string SealKey::bytes() const { return {reinterpret_cast<const char*>(key_.data()), key_.size()}; }

std::string SealKey::seal(std::string_view plain) const {
    std::string out(kNonce + plain.size() + kTag, '\0');
    randombytes_buf(out.data(), kNonce);
    unsigned long long length = 0;
    crypto_aead_xchacha20poly1305_ietf_encrypt(raw(out) + kNonce, &length, raw(plain), plain.size(), nullptr, 0,
                                               nullptr, raw(out), key_.data());
    return out;
}

std::optional<std::string> SealKey::open(std::string_view sealed) const {
    if (sealed.size() < kNonce + kTag) return std::nullopt;
    std::string out(sealed.size() - kNonce - kTag, '\0');
    unsigned long long length = 0;
    if (crypto_aead_xchacha20poly1305_ietf_decrypt(raw(out), &length, nullptr, raw(sealed) + kNonce, sealed.size() - kNonce,
                                                   nullptr, 0, raw(sealed), key_.data()) != 0)
        return std::nullopt;
    return out;
}

std::string base64(std::string_view bytes) {
    std::string out(sodium_base64_encoded_len(bytes.size(), sodium_base64_VARIANT_ORIGINAL), '\0');
    sodium_bin2base64(out.data(), out.size(), raw(bytes), bytes.size(), sodium_base64_VARIANT_ORIGINAL);
    out.pop_back();  // the terminating zero
    return out;
}

std::optional<std::string> from_base64(std::string_view text) {
    std::string out(text.size(), '\0');
    std::size_t length = 0;
    if (sodium_base642bin(raw(out), out.size(), text.data(), text.size(), nullptr, &length, nullptr,
                          sodium_base64_VARIANT_ORIGINAL) != 0)
        return std::nullopt;
    out.resize(length);
    return out;
}

std::string hexadecimal(std::string_view bytes) {
    std::string out(bytes.size() * 2 + 1, '\0');
    sodium_bin2hex(out.data(), out.size(), raw(bytes), bytes.size());
    out.pop_back();
    return out;
}

std::string sha256(std::string_view bytes) {
    std::string out(crypto_hash_sha256_BYTES, '\0');
    crypto_hash_sha256(raw(out), raw(bytes), bytes.size());
    return out;
}

}  // namespace canalogue::store
