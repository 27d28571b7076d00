// Encoded passages that are kept and used again, in a folder of the library. They show covered pictures only, but for
// some audiences those may show who somebody is: each file is sealed, in pieces of about a megabyte, so that an hour
// needs no more memory than a minute. A cache may fail in any way (a full disk, another key, damage): then the
// passage is encoded again. Nothing of a file that was not finished is left, however the program ends.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "app/core/result.hpp"
#include "app/media/libav.hpp"

namespace canalogue::film {

struct CachePlace {
    std::filesystem::path folder;
    std::function<std::string(std::string_view plain)> seal;
    std::function<std::optional<std::string>(std::string_view sealed)> open;  // none: another key, or changed bytes
    std::uintmax_t most = 4'000'000'000;    // bytes; what was not used for longest goes first
    std::uintmax_t spare = 300'000'000;     // free bytes of the disk that are left to films
};

class PassageCache {
  public:
    explicit PassageCache(CachePlace place);

    // A passage being kept. Unless keep() was called, nothing of it is left.
    class Writer {
      public:
        ~Writer();
        Writer(const Writer&) = delete;
        Writer& operator=(const Writer&) = delete;
        void add(const AVPacket& packet);
        void keep();

      private:
        friend class PassageCache;
        Writer(const CachePlace& place, std::string key);
        void write_piece(bool last);
        const CachePlace& place_;
        std::string key_, waiting_;
        std::uint32_t piece_ = 0;
        int file_ = -1;  // nameless until it is whole; -1: given up
    };
    // `key`: hexadecimal; all that decides the packets.
    std::unique_ptr<Writer> begin(const std::string& key) const;

    // True when the passage is there, whole and unchanged.
    bool holds(const std::string& key) const;
    // Its packets as they were added. Only after holds(); a failure means that the file went meanwhile.
    Result<void> replay(const std::string& key, const std::function<Result<void>(AVPacket&)>& take) const;

    // Keeps the folder below its size.
    void trim() const;

  private:
    CachePlace place_;
};

}  // namespace canalogue::film
