#include "export/passage_cache.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cstring>
#include <fstream>
#include <vector>

namespace canalogue::film {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t kPiece = 1 << 20;
constexpr const char* kEnding = ".passage";

fs::path file_of(const fs::path& folder, const std::string& key) { return folder / (key + kEnding); }

template <class T>
void put(std::string& out, T value) {
    out.append(reinterpret_cast<const char*>(&value), sizeof value);
}

template <class T>
bool get(std::string_view& in, T& value) {
    if (in.size() < sizeof value) return false;
    std::memcpy(&value, in.data(), sizeof value);
    in.remove_prefix(sizeof value);
    return true;
}

// What each piece begins with: pieces of another passage or in another order are not taken.
std::string head_of(const std::string& key, std::uint32_t piece, bool last) {
    std::string out = key;
    put(out, piece);
    put(out, static_cast<std::uint8_t>(last));
    return out;
}

bool write_all(int file, std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t n = ::write(file, bytes.data(), bytes.size());
        if (n <= 0) return false;
        bytes.remove_prefix(static_cast<std::size_t>(n));
    }
    return true;
}

// Each piece of a passage in order, opened. False when the file is not there, not whole or not what was kept.
bool each_piece(const CachePlace& place, const std::string& key, const std::function<bool(std::string_view)>& use) {
    std::ifstream in(file_of(place.folder, key), std::ios::binary);
    for (std::uint32_t piece = 0; in; ++piece) {
        std::uint32_t size = 0;
        in.read(reinterpret_cast<char*>(&size), sizeof size);
        if (!in || size > 64 * kPiece) return false;
        std::string sealed(size, '\0');
        in.read(sealed.data(), size);
        const auto plain = in ? place.open(sealed) : std::nullopt;
        if (!plain) return false;
        const std::string head = head_of(key, piece, false), last = head_of(key, piece, true);
        const bool ends = plain->starts_with(last);
        if (!ends && !plain->starts_with(head)) return false;
        if (!use(std::string_view(*plain).substr(head.size()))) return false;
        if (ends) return in.peek() == std::ifstream::traits_type::eof();
    }
    return false;
}

// Packets of a piece: size, number, key, data.
bool each_packet(std::string_view piece, const std::function<bool(AVPacket&)>& use) {
    media::PacketPtr packet(av_packet_alloc());
    while (!piece.empty()) {
        std::uint32_t size = 0;
        std::int64_t number = 0;
        std::uint8_t key = 0;
        if (!get(piece, size) || !get(piece, number) || !get(piece, key) || piece.size() < size || av_new_packet(packet.get(), static_cast<int>(size)) < 0) return false;
        std::memcpy(packet->data, piece.data(), size);
        piece.remove_prefix(size);
        packet->pts = number;
        packet->flags = key ? AV_PKT_FLAG_KEY : 0;
        const bool more = use(*packet);
        av_packet_unref(packet.get());
        if (!more) return false;
    }
    return true;
}

}  // namespace

PassageCache::PassageCache(CachePlace place) : place_(std::move(place)) {
    std::error_code ec;
    fs::create_directories(place_.folder, ec);
    fs::permissions(place_.folder, fs::perms::owner_all, ec);
}

PassageCache::Writer::Writer(const CachePlace& place, std::string key) : place_(place), key_(std::move(key)) {
    // Nameless: whatever ends the program, no half of a passage stays.
    file_ = ::open(place.folder.c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, 0600);
}

PassageCache::Writer::~Writer() {
    if (file_ >= 0) ::close(file_);
}

void PassageCache::Writer::write_piece(bool last) {
    if (file_ < 0) return;
    std::error_code ec;
    const auto space = fs::space(place_.folder, ec);
    const std::string sealed = place_.seal(head_of(key_, piece_++, last) + waiting_);
    waiting_.clear();
    std::string size;
    put(size, static_cast<std::uint32_t>(sealed.size()));
    const bool room = !ec && space.available > place_.spare + sealed.size();
    if (room && write_all(file_, size) && write_all(file_, sealed)) return;
    ::close(file_);
    file_ = -1;
}

void PassageCache::Writer::add(const AVPacket& packet) {
    if (file_ < 0) return;
    put(waiting_, static_cast<std::uint32_t>(packet.size));
    put(waiting_, packet.pts);
    put(waiting_, static_cast<std::uint8_t>((packet.flags & AV_PKT_FLAG_KEY) != 0));
    waiting_.append(reinterpret_cast<const char*>(packet.data), static_cast<std::size_t>(packet.size));
    if (waiting_.size() >= kPiece) write_piece(false);
}

void PassageCache::Writer::keep() {
    write_piece(true);
    if (file_ < 0) return;
    const fs::path target = file_of(place_.folder, key_);
    ::unlink(target.c_str());  // an unreadable one, or another render's of the same pictures
    const std::string open_file = "/proc/self/fd/" + std::to_string(file_);
    (void)::linkat(AT_FDCWD, open_file.c_str(), AT_FDCWD, target.c_str(), AT_SYMLINK_FOLLOW);
    ::close(file_);
    file_ = -1;
}

std::unique_ptr<PassageCache::Writer> PassageCache::begin(const std::string& key) const { return std::unique_ptr<Writer>(new Writer(place_, key)); }

bool PassageCache::holds(const std::string& key) const {
    if (!each_piece(place_, key, [](std::string_view piece) { return each_packet(piece, [](AVPacket&) { return true; }); })) return false;
    std::error_code ec;
    fs::last_write_time(file_of(place_.folder, key), fs::file_time_type::clock::now(), ec);  // used now: it goes last
    return true;
}

Result<void> PassageCache::replay(const std::string& key, const std::function<Result<void>(AVPacket&)>& take) const {
    Result<void> done;
    const bool whole = each_piece(place_, key, [&](std::string_view piece) {
        return each_packet(piece, [&](AVPacket& packet) { return (done = take(packet)).ok(); });
    });
    if (!done || whole) return done;
    return machine_trouble("A kept passage went from the library's cache while it was used: render again.");
}

void PassageCache::trim() const {
    struct Kept {
        fs::file_time_type used;
        std::uintmax_t bytes;
        fs::path file;
    };
    std::vector<Kept> all;
    std::uintmax_t total = 0;
    std::error_code ec;
    for (const auto& entry : fs::directory_iterator(place_.folder, ec)) {
        if (entry.path().extension() != kEnding) continue;
        all.push_back({entry.last_write_time(ec), entry.file_size(ec), entry.path()});
        total += all.back().bytes;
    }
    std::sort(all.begin(), all.end(), [](const Kept& a, const Kept& b) { return a.used < b.used; });
    for (const auto& k : all) {
        if (total <= place_.most) break;
        fs::remove(k.file, ec);
        total -= k.bytes;
    }
}

}  // namespace canalogue::film
