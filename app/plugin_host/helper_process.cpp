#include "app/plugin_host/helper_process.hpp"

#include <fcntl.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <string>

namespace canalogue {

namespace {

// All that a helper sees of the program's environment; the rest may hold what is nobody's business.
constexpr std::array kPassedOn{"PATH",         "LANG",         "LC_ALL",        "LD_LIBRARY_PATH",
                               "ASAN_OPTIONS", "TSAN_OPTIONS", "UBSAN_OPTIONS", "LSAN_OPTIONS"};

// Enough for every model we know; an address space beyond it is a runaway. The sanitizers reserve
// terabytes, so there it is not set.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr rlim_t kMostAddressSpace = RLIM_INFINITY;
#else
constexpr rlim_t kMostAddressSpace = rlim_t{6} << 30;
#endif

constexpr int kOutOfTheWay = 10;  // above the numbers that the helper's descriptors get

// Everything exec needs, made before fork: between the two no memory may be asked for.
struct Launch {
    explicit Launch(const std::filesystem::path& r, const std::filesystem::path& l) : runner(r), library(l) {
        for (const char* name : kPassedOn)
            if (const char* value = std::getenv(name)) settings.push_back(std::string(name) + "=" + value);
        for (auto& s : settings) environment.push_back(s.data());
        environment.push_back(nullptr);
        arguments = {runner.data(), library.data(), nullptr};
    }
    std::string runner, library;
    std::vector<std::string> settings;
    std::vector<char*> environment, arguments;
    int socket = -1, frame_memory = -1;
    pid_t parent = ::getpid();
};

void limit(__rlimit_resource what, rlim_t value) {
    const rlimit both{value, value};
    ::setrlimit(what, &both);
}

// First to be sacrificed when the machine runs out of memory.
void offer_to_the_memory_killer() {
    const int fd = ::open("/proc/self/oom_score_adj", O_WRONLY | O_CLOEXEC);
    if (fd < 0) return;
    [[maybe_unused]] const auto n = ::write(fd, "1000", 4);
    ::close(fd);
}

bool place_descriptors(const Launch& launch) {
    const int null = ::open("/dev/null", O_RDWR);
    const int socket = ::fcntl(launch.socket, F_DUPFD, kOutOfTheWay);
    const int memory = ::fcntl(launch.frame_memory, F_DUPFD, kOutOfTheWay);
    if (null < 0 || socket < 0 || memory < 0) return false;
    for (int standard = 0; standard <= 2; ++standard)
        if (::dup2(null, standard) < 0) return false;
    if (::dup2(socket, wire::kSocketFd) < 0 || ::dup2(memory, wire::kFrameMemoryFd) < 0) return false;
    return ::close_range(wire::kFrameMemoryFd + 1, ~0u, 0) == 0;
}

void plain_signals() {
    for (int s = 1; s < NSIG; ++s) ::signal(s, SIG_DFL);
    ::signal(SIGXFSZ, SIG_IGN);  // writing a file then fails like any other write
    sigset_t none;
    ::sigemptyset(&none);
    ::sigprocmask(SIG_SETMASK, &none, nullptr);
}

// In the child. Async-signal-safe calls only.
[[noreturn]] void become_helper(const Launch& launch) {
    ::setpgid(0, 0);
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);  // the runner takes over with a watch of its own
    if (::getppid() != launch.parent) ::_exit(1);
    plain_signals();
    offer_to_the_memory_killer();
    if (!place_descriptors(launch) || ::chdir("/") != 0) ::_exit(1);
    limit(RLIMIT_CORE, 0);
    limit(RLIMIT_FSIZE, 0);
    limit(RLIMIT_AS, kMostAddressSpace);
    ::execve(launch.runner.c_str(), launch.arguments.data(), launch.environment.data());
    ::_exit(1);
}

}  // namespace

Result<std::unique_ptr<HelperProcess>> HelperProcess::start(const std::filesystem::path& runner,
                                                            const std::filesystem::path& library,
                                                            int frame_memory_fd) {
    if (::access(runner.c_str(), X_OK) != 0)
        return machine_trouble(
            "The program canalogue-plugin-runner is missing beside Canalogue; install "
            "Canalogue again or set CANALOGUE_PLUGIN_RUNNER.");
    int ends[2];
    if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0, ends) != 0)
        return machine_trouble(
            "The system has no room for another plugin helper; close other programs and "
            "try again.");
    Launch launch(runner, library);
    launch.socket = ends[1];
    launch.frame_memory = frame_memory_fd;
    const pid_t pid = ::fork();
    if (pid == 0) become_helper(launch);
    ::close(ends[1]);
    if (pid < 0) {
        ::close(ends[0]);
        return machine_trouble(
            "The system could not start a plugin helper; close other programs and try "
            "again.");
    }
    ::setpgid(pid, pid);  // both sides ask, so that it holds whoever comes first
    return std::unique_ptr<HelperProcess>(new HelperProcess(pid, ends[0]));
}

HelperProcess::~HelperProcess() {
    ::close(socket_);
    ::kill(-pid_, SIGKILL);  // with whatever the plugin may have started
    ::kill(pid_, SIGKILL);
    while (::waitpid(pid_, nullptr, 0) < 0 && errno == EINTR) {
    }
}

wire::Outcome HelperProcess::ask(wire::Kind kind, const std::vector<std::uint8_t>& body,
                                 wire::Message& answer, wire::Clock::time_point deadline) {
    if (const auto o = wire::send(socket_, kind, body, deadline); o != wire::Outcome::ok) return o;
    return wire::receive(socket_, answer, deadline);
}

}  // namespace canalogue
