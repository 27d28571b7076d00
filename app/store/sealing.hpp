// Sealing of what may identify a person: XChaCha20-Poly1305 (libsodium's secretbox variant with a
// 24-byte random nonce in front). Keys are wiped from memory when they go out of scope.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace canalogue::store {

class SealKey {
  public:
    static constexpr std::size_t kBytes = 32;
    static SealKey fresh();
    static std::optional<SealKey> from_bytes(std::string_view bytes);

    SealKey(const SealKey&) = default;
    SealKey& operator=(const SealKey&) = default;
    ~SealKey();

    // nonce (24) + ciphertext + tag (16)
    std::string seal(std::string_view plain) const;
    // nullopt: another key, or changed bytes
    std::optional<std::string> open(std::string_view sealed) const;
    std::string bytes() const;

  private:
    SealKey() = default;
    std::array<unsigned char, kBytes> key_{};
};

// Must have succeeded before anything else here is used; idempotent, thread-safe.
bool sealing_ready();

std::string base64(std::string_view bytes);
std::optional<std::string> from_base64(std::string_view text);
std::string hexadecimal(std::string_view bytes);
std::string sha256(std::string_view bytes);  // 32 raw bytes

}  // namespace canalogue::store
