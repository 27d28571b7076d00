// Tells, as the words of proposals, what a plugin can see and do from inside its process.
#include <dirent.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <string>

#include "plugins/sdk/plugin.hpp"

namespace {

int open_descriptors() {
    int count = 0;
    for (int fd = 0; fd < 4096; ++fd) count += ::dup2(fd, fd) == fd;
    return count;
}

// One line that says whether the file could be written; the folder is always there.
std::string write_a_file() {
    const std::string path = "/tmp/canalogue-snooper-" + std::to_string(::getpid());
    std::ofstream out(path);
    out << "TEST-0000001" << std::flush;
    const bool wrote = out.good();
    ::unlink(path.c_str());
    return wrote ? "wrote" : "could not write";
}

class Snooper : public canalogue::plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FIELDS;
    static constexpr double samples_per_second = 0;
    static std::string why_not(const std::string&) { return {}; }
    using Spotter::Spotter;

    void fields(std::span<const canalogue_field>) override {
        rlimit core{};
        ::getrlimit(RLIMIT_CORE, &core);
        tell("descriptors", std::to_string(open_descriptors()));
        tell("core limit", std::to_string(core.rlim_max));
        tell("dumpable", std::to_string(::prctl(PR_GET_DUMPABLE)));
        tell("secret", std::getenv("CANALOGUE_TEST_SECRET") ? "seen" : "unseen");
        tell("file", write_a_file());
        tell("process", std::to_string(::getpid()));
        tell("models", host().models_dir());
    }

  private:
    void tell(const char* what, std::string words) const {
        canalogue::plugin::Proposal p;
        p.kind = CANALOGUE_METADATA;
        p.field = what;
        p.words = std::move(words);
        host().propose(p);
    }
};

}  // namespace

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::spotter_plugin<Snooper>();
    return &plugin;
}
