// A private PulseAudio whose sink leads nowhere: what is played into it can be recorded, and is what a
// microphone hears.
#pragma once

#include <catch2/catch.hpp>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <cstring>
#include <map>
#include <memory>
#include <thread>

#include "tests/support/media_files.hpp"

namespace canalogue::test {

inline void rest(int milliseconds) { std::this_thread::sleep_for(std::chrono::milliseconds(milliseconds)); }

// A process of ours, gone with the object.
class Child {
  public:
    explicit Child(const std::string& command) : pid_(fork()) {
        if (pid_ != 0) return;
        execlp("sh", "sh", "-c", ("exec " + command + " 2>/dev/null").c_str(), static_cast<char*>(nullptr));
        _exit(127);
    }
    ~Child() {
        kill(pid_, SIGTERM);
        waitpid(pid_, nullptr, 0);
    }
    Child(const Child&) = delete;
    Child& operator=(const Child&) = delete;

  private:
    pid_t pid_;
};

// While it lives, this process's sound goes to its sink.
class SoundServer {
  public:
    SoundServer() {
        const std::string at = (folder_ / "native").string();
        set("HOME", folder_.path().string());
        set("XDG_RUNTIME_DIR", folder_.path().string());
        set("PULSE_RUNTIME_PATH", folder_.path().string());
        set("PULSE_SERVER", "unix:" + at);
        set("SOUND_FOR_WINDOWS", "unix:" + at);  // else they have none
        set("ALSA_CONFIG_PATH", (folder_ / "alsa.conf").string());
        write_file(folder_ / "alsa.conf", "</usr/share/alsa/alsa.conf>\npcm.!default { type pulse }\nctl.!default { type pulse }\n");
        server_ = std::make_unique<Child>("pulseaudio -n --daemonize=no --system=false --use-pid-file=false --exit-idle-time=-1 -L 'module-native-protocol-unix socket=" + at +
                                          " auth-anonymous=1' -L 'module-null-sink sink_name=ears rate=48000 channels=2'");
        for (int i = 0; i < 200 && try_run("pactl info").code != 0; ++i) rest(50);
        REQUIRE(try_run("pactl info").code == 0);
    }
    ~SoundServer() {
        server_.reset();
        for (const auto& [name, old] : before_) old.empty() ? unsetenv(name.c_str()) : setenv(name.c_str(), old.c_str(), 1);
    }
    SoundServer(const SoundServer&) = delete;
    SoundServer& operator=(const SoundServer&) = delete;

    // The loudest sample that the sink plays while `act` goes on.
    template <class Act>
    int loudest(Act act) {
        const fs::path file = folder_ / "heard.raw";
        {
            const Child recorder("parec --device=ears.monitor --format=s16le --channels=1 --raw > '" + file.string() + "'");
            act();
        }
        const std::string bytes = read_file(file);
        int most = 0;
        for (std::size_t i = 0; i + 1 < bytes.size(); i += 2) {
            std::int16_t s;
            std::memcpy(&s, &bytes[i], 2);
            most = std::max(most, std::abs(static_cast<int>(s)));
        }
        CHECK(bytes.size() > 1000);
        return most;
    }

  private:
    void set(const std::string& name, const std::string& value) {
        const char* old = std::getenv(name.c_str());
        before_[name] = old ? old : "";
        setenv(name.c_str(), value.c_str(), 1);
    }
    TempFolder folder_;
    std::map<std::string, std::string> before_;
    std::unique_ptr<Child> server_;
};

}  // namespace canalogue::test
