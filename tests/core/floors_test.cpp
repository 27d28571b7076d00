// What the source tree itself promises: who may include whom, and how a public header begins.
#include <catch2/catch.hpp>

#include <map>
#include <regex>

#include "tests/core/values.hpp"

namespace fs = std::filesystem;

namespace {

const fs::path kRoot = CANALOGUE_SOURCE_DIR;

// Lower floors first; floors of one height may not include one another either.
const std::map<std::string, int> kFloors{{"plugins/sdk", 0}, {"app/core", 1},   {"app/media", 2}, {"app/store", 3},  {"app/plugin_host", 3},
                                         {"export", 4},      {"app/desk", 5}, {"app/cli", 6},   {"app/editor", 6}};

std::string folder_of(const std::string& path) {
    for (const auto& [folder, height] : kFloors)
        if (path.starts_with(folder + "/")) return folder;
    for (const char* top : {"plugins/", "demo_media/", "tests/"})
        if (path.starts_with(top)) return std::string(top) == "plugins/" ? path.substr(0, path.find('/', 8)) : std::string(top, 10).substr(0, path.find('/'));
    return "";
}

std::vector<fs::path> sources(const std::string& under) {
    std::vector<fs::path> out;
    if (!fs::exists(kRoot / under)) return out;
    for (const auto& e : fs::recursive_directory_iterator(kRoot / under))
        if (e.path().extension() == ".hpp" || e.path().extension() == ".cpp" || e.path().extension() == ".h") out.push_back(e.path());
    return out;
}

std::string text_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<std::string> includes(const fs::path& file) {
    static const std::regex kInclude(R"re(#\s*include\s*"([^"]+)")re");
    const std::string text = text_of(file);
    std::vector<std::string> out;
    for (std::sregex_iterator it(text.begin(), text.end(), kInclude), end; it != end; ++it) out.push_back((*it)[1]);
    return out;
}

// Why `folder` may not include `other`; empty when it may.
std::string forbidden(const std::string& folder, const std::string& other) {
    if (other.empty() || folder == other) return "";
    if (other == "tests") return "nothing includes tests";
    if (other == "demo_media") return folder == "app/cli" ? "" : "only the command line makes demo media";
    const bool plugin = folder.starts_with("plugins/"), other_plugin = other.starts_with("plugins/");
    if (plugin) return other == "plugins/sdk" || other == "plugins/shared" ? "" : "a plugin uses only plugins/sdk and plugins/shared";
    if (other_plugin && other != "plugins/sdk") return "no floor includes a plugin";
    if (folder == "demo_media") return other == "app/core" || other == "app/media" || other == "export" ? "" : "demo media stand on core, media and export";
    return kFloors.at(other) < kFloors.at(folder) ? "" : "a floor includes only floors below it";
}

}  // namespace

TEST_CASE("No floor includes a floor above it or beside it") {
    int seen = 0;
    for (const char* top : {"app", "export", "plugins", "demo_media"})
        for (const auto& file : sources(top)) {
            const std::string path = fs::relative(file, kRoot).string();
            const std::string folder = folder_of(path);
            INFO(path);
            REQUIRE_FALSE(folder.empty());
            for (const auto& included : includes(file)) {
                ++seen;
                const std::string why = forbidden(folder, folder_of(included));
                INFO(path << " includes " << included << ": " << why);
                CHECK(why.empty());
            }
        }
    CHECK(seen > 200);  // the tree was really read
}

TEST_CASE("The rule about floors can fail") {
    CHECK_FALSE(forbidden("app/core", "app/media").empty());
    CHECK_FALSE(forbidden("app/store", "app/plugin_host").empty());
    CHECK_FALSE(forbidden("app/store", "export").empty());
    CHECK_FALSE(forbidden("plugins/burnt_text", "app/core").empty());
    CHECK(forbidden("app/desk", "export").empty());
}

TEST_CASE("Core knows neither libav nor SQL nor a window") {
    for (const auto& file : sources("app/core"))
        for (const char* other : {"libav", "libsw", "sqlite", "sodium", "imgui", "opencv", "cairo"}) {
            INFO(file.string() << ", " << other);
            CHECK(text_of(file).find(std::string("<") + other) == std::string::npos);
        }
}

TEST_CASE("All SQL stands in the store") {
    for (const char* top : {"app", "export", "plugins", "demo_media"})
        for (const auto& file : sources(top)) {
            if (fs::relative(file, kRoot).string().starts_with("app/store/")) continue;
            INFO(file.string());
            CHECK(text_of(file).find("sqlite3.h") == std::string::npos);
        }
}

TEST_CASE("Every public header begins with what it is for, and is read once") {
    for (const char* top : {"app", "export", "plugins", "demo_media"})
        for (const auto& file : sources(top)) {
            if (file.extension() == ".cpp") continue;
            const std::string text = text_of(file);
            INFO(file.string());
            CHECK((text.starts_with("//") || text.starts_with("/*")));
            const bool once = text.find("#pragma once") != std::string::npos || text.find("#ifndef CANALOGUE_") != std::string::npos;
            CHECK(once);
        }
}

TEST_CASE("No file is longer than a person reads in one sitting") {
    for (const char* top : {"app", "export", "plugins", "demo_media", "tests"})
        for (const auto& file : sources(top)) {
            const std::string text = text_of(file);
            INFO(file.string());
            CHECK(std::count(text.begin(), text.end(), '\n') <= 400);
        }
}
