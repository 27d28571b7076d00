// The program under test, and small lossless recordings for it: FFV1 pictures of a plain, grainy
// ground with words drawn on top, and a tone, 640x360 at 25 frames/s.
#pragma once

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "tests/support/kept.hpp"
#include "tests/support/media_files.hpp"

namespace canalogue::test {

using nlohmann::json;

struct Drawn {
    std::string words = "HARBOUR ONE";  // burnt in at the upper left
    std::string ground = "0x8a5a48";
    int grain = 5;                      // seed of the noise: another seed is another picture everywhere
    int tone = 440;                     // hertz, all the time
    int spoken = 900;                   // hertz, from 3.2 s to 3.8 s
    std::string title;                  // a tag of the container
    double seconds = 8;
};

inline fs::path draw_recording(const fs::path& file, const Drawn& d) {
    const std::string length = std::to_string(d.seconds), seed = std::to_string(d.grain);
    const std::string picture = "color=c=" + d.ground + ":s=640x360:r=25:d=" + length + ",noise=alls=14:allf=t:all_seed=" + seed +
                                ",drawbox=x=300:y=200:w=60:h=40:color=0xd8c0a0:t=fill,drawtext=fontfile=/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf:text='" + d.words +
                                "':x=40:y=36:fontsize=26:fontcolor=white,format=yuv420p";
    const std::string sound = "aevalsrc='0.1*sin(2*PI*" + std::to_string(d.tone) + "*t)+0.4*between(t,3.2,3.8)*sin(2*PI*" + std::to_string(d.spoken) + "*t)':s=48000:d=" + length;
    return make_media(file, "-f lavfi -i \"" + picture + "\" -f lavfi -i \"" + sound + "\" -c:v ffv1 -g 1 -c:a flac" +
                                (d.title.empty() ? "" : " -metadata title='" + d.title + "'"));
}

// "'a b' 'c'"
inline std::string quoted(const std::vector<std::string>& words) {
    std::string out;
    for (const auto& w : words) out += " '" + w + "'";
    return out;
}

class Program {
  public:
    explicit Program(fs::path library) : library_(std::move(library)) {}
    const fs::path& library() const { return library_; }

    // Runs a command; what it printed on standard output, and its exit code.
    Ran run(const std::string& command, const std::string& environment = "") const {
        Ran ran = try_run(line(command, environment) + " 2>'" + complaints().string() + "'");
        return ran;
    }
    // The same, required to succeed.
    std::string done(const std::string& command, const std::string& environment = "") const {
        const Ran ran = run(command, environment);
        INFO("canalogue " << command << "\n" << ran.out << said());
        REQUIRE(ran.code == 0);
        return ran.out;
    }
    json parsed(const std::string& command) const { return json::parse(done(command + " --json")); }
    // Required to end with this exit code; the sentence it ended with.
    std::string refused(int code, const std::string& command) const {
        const Ran ran = run(command);
        INFO("canalogue " << command << "\n" << ran.out << said());
        CHECK(ran.code == code);
        const std::string words = said();
        CHECK_FALSE(words.empty());
        return words;
    }
    // What the last command said on standard error.
    std::string said() const { return read_file(complaints()); }
    std::string line(const std::string& command, const std::string& environment = "") const {
        const auto space = std::min(command.find(' '), command.size());
        return "env -u CANALOGUE_PASSPHRASE " + environment + " CANALOGUE_BY='N. Example' '" CANALOGUE_PROGRAM "' " + command.substr(0, space) + " --library '" + library_.string() + "'" + command.substr(space);
    }

  private:
    fs::path complaints() const { return library_.string() + ".said"; }
    fs::path library_;
};

// Made once by the program, its plugins and this test as they are now (see kept.hpp).
inline fs::path kept_by_program(const std::string& name, const std::function<void(const fs::path&)>& make) {
    const fs::path build = CANALOGUE_BUILD_DIR;
    return kept(name, {CANALOGUE_PROGRAM, build / "bin/canalogue-plugin-runner", build / "plugins", build / "models", fs::read_symlink("/proc/self/exe")}, make);
}

inline void copy_library(const fs::path& from, const fs::path& to) { fs::copy(from, to, fs::copy_options::recursive); }

// Each regular file under a folder, by its place in it.
inline std::map<std::string, std::string> files_under(const fs::path& folder) {
    std::map<std::string, std::string> out;
    for (const auto& e : fs::recursive_directory_iterator(folder))
        if (e.is_regular_file()) out[fs::relative(e.path(), folder).string()] = read_file(e.path());
    return out;
}

// A short plan over the given span of r1, with one spoken line and the original sound.
inline void write_short_plan(const fs::path& file, const std::string& from = "0:02.5", const std::string& until = "0:05", bool original_sound = true) {
    write_file(file, R"({"canalogue_plan":1,"title":"Short","film":{"original_sound":)" + std::string(original_sound ? "true" : "false") + R"(},"items":[
        {"card":"title","title":"Short","lines":[],"length":"0:01","chapter":"Start"},
        {"recording":"r1","ear":"right","from":")" + from + R"(","until":")" + until + R"(","chapter":"Right ear","narration":["The canal & the drum."]}]})");
}

}  // namespace canalogue::test
