#include "tests/support/kept.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <stdexcept>

namespace canalogue::test {

namespace {

// One process at a time is between making and unlocking.
class Lock {
  public:
    explicit Lock(const fs::path& file) : file_(::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600)) {
        if (file_ < 0 || ::flock(file_, LOCK_EX) != 0) throw std::runtime_error("cannot lock " + file.string());
    }
    ~Lock() { ::close(file_); }
    Lock(const Lock&) = delete;
    Lock& operator=(const Lock&) = delete;

  private:
    int file_;
};

// Name, size and time of every file: a build writes what differs.
std::string state_of(const std::vector<fs::path>& files) {
    std::string out;
    const auto add = [&](const fs::path& file) {
        if (fs::is_regular_file(file)) out += file.string() + " " + std::to_string(fs::file_size(file)) + " " + std::to_string(fs::last_write_time(file).time_since_epoch().count()) + "\n";
    };
    for (const auto& each : files) {
        if (!fs::is_directory(each)) {
            add(each);
            continue;
        }
        std::vector<fs::path> inside;
        for (const auto& entry : fs::recursive_directory_iterator(each)) inside.push_back(entry.path());
        std::sort(inside.begin(), inside.end());
        for (const auto& file : inside) add(file);
    }
    return out;
}

}  // namespace

fs::path kept(const std::string& name, const std::vector<fs::path>& made_by, const std::function<void(const fs::path&)>& make) {
    const fs::path all = fs::path(CANALOGUE_BUILD_DIR) / "kept", place = all / name, state = all / (name + ".state");
    fs::create_directories(all);
    const Lock lock(all / (name + ".lock"));
    const std::string now = state_of(made_by);
    if (fs::exists(place) && fs::exists(state) && read_file(state) == now) return place;
    fs::remove_all(place);
    fs::remove(state);
    fs::create_directories(place);
    make(place);
    write_file(state, now);
    return place;
}

}  // namespace canalogue::test
