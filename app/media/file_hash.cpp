#include "app/media/file_hash.hpp"

#include <sodium.h>

#include <fstream>
#include <vector>

namespace canalogue::media {

namespace {
constexpr std::size_t kBlock = 1 << 20;

std::string hexadecimal(const unsigned char (&digest)[crypto_hash_sha256_BYTES]) {
    char hex[2 * crypto_hash_sha256_BYTES + 1];
    sodium_bin2hex(hex, sizeof hex, digest, sizeof digest);
    return hex;
}
}  // namespace

Result<std::string> hash_file(const std::filesystem::path& path, const Progress& progress) {
    std::ifstream file(path, std::ios::binary);
    if (!file) return bad_media("The recording cannot be read; check that its disk is connected.");
    std::error_code ec;
    const auto size = static_cast<double>(std::max<std::uintmax_t>(1, std::filesystem::file_size(path, ec)));
    crypto_hash_sha256_state state;
    crypto_hash_sha256_init(&state);
    std::vector<char> block(kBlock);
    double done = 0;
    while (file) {
        if (progress.stopped()) return cancelled();
        file.read(block.data(), kBlock);
        crypto_hash_sha256_update(&state, reinterpret_cast<const unsigned char*>(block.data()),
                                  static_cast<unsigned long long>(file.gcount()));
        done += static_cast<double>(file.gcount());
        progress.report("Reading the recording's hash", done / size);
    }
    if (file.bad()) return machine_trouble("The recording could not be read to its end; check its disk.");
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256_final(&state, digest);
    return hexadecimal(digest);
}

std::string hash_bytes(std::string_view bytes) {
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size());
    return hexadecimal(digest);
}

}  // namespace canalogue::media
