// The real program on a library of its own.
#pragma once

#include <nlohmann/json.hpp>

#include "tests/support/media_files.hpp"

namespace canalogue::test {

using nlohmann::json;

class Program {
  public:
    explicit Program(std::string library = "library") : library_((folder / library).string()) {}
    TempFolder folder;

    std::string path() const { return std::string(CANALOGUE_BUILD_DIR) + "/bin/canalogue"; }
    std::string command(const std::string& words) const { return "'" + path() + "' " + words + " --library '" + library_ + "' --by tester"; }
    std::string operator()(const std::string& words) const { return run(command(words) + " 2>/dev/null"); }
    Ran attempt(const std::string& words) const { return try_run(command(words)); }
    json parsed(const std::string& words) const { return json::parse((*this)(words)); }
    std::string library() const { return library_; }

  private:
    std::string library_;
};

inline std::string quoted(const fs::path& p) { return "'" + p.string() + "'"; }

// A lossless session of 6 s: a moving pattern, `secret` burnt into the box 40,40,400,48 from 1 to 5 s,
// a tone of `hertz` from 2 to 3 s, and `title` in the container.
inline fs::path lossless_session(const fs::path& file, const std::string& secret, int hertz, const std::string& title) {
    const std::string text = secret.empty() ? "" : ",drawtext=text='" + secret + "':x=50:y=48:fontsize=26:fontcolor=white:borderw=1:enable='between(t,1,5)'"
                                                   ":fontfile=/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf";
    return make_media(file, "-f lavfi -i \"testsrc2=size=640x360:rate=25:duration=6\" -f lavfi -i \"aevalsrc='0.1*sin(2*PI*200*t)+if(between(t,2.2,2.8),0.4*sin(2*PI*" +
                                std::to_string(hertz) + "*t),0)':d=6:s=48000\" -vf \"boxblur=24:2,eq=contrast=0.4:brightness=-0.15" + text + "\" -metadata title='" + title + "' -c:v ffv1 -pix_fmt yuv420p -c:a flac");
}

// relative name -> bytes
inline std::map<std::string, std::string> files_under(const fs::path& root) {
    std::map<std::string, std::string> out;
    for (const auto& entry : fs::recursive_directory_iterator(root))
        if (entry.is_regular_file()) out[entry.path().lexically_relative(root).string()] = read_file(entry.path());
    return out;
}

}  // namespace canalogue::test
