#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "tests/plugin_host/ill_plugins.hpp"

namespace canalogue::tests {

namespace {

namespace fs = std::filesystem;
using Catch::Matchers::Contains;

// A folder of plugins that is gone with the test.
class PluginFolder {
  public:
    PluginFolder() {
        std::string pattern = (fs::temp_directory_path() / "canalogue-catalog-XXXXXX").string();
        path_ = ::mkdtemp(pattern.data());
    }
    ~PluginFolder() { fs::remove_all(path_); }
    PluginFolder(const PluginFolder&) = delete;
    PluginFolder& operator=(const PluginFolder&) = delete;

    void add(const std::string& name, const std::string& json, const std::string& file = "") const {
        fs::create_directories(path_ / name);
        std::ofstream(path_ / name / "plugin.json") << json;
        if (!file.empty()) std::ofstream(path_ / name / file) << "{}";
    }
    const fs::path& path() const { return path_; }

  private:
    fs::path path_;
};

const std::string kHarbour = R"({"id": "harbour", "name": "Harbour words", "version": "3",
    "provides": "vocabulary", "vocabulary": "vocabulary.json", "about": "Words of a harbour clinic.",
    "looks_for": ["gulls"], "does_not_look_for": ["whales"]})";

PluginInfo only_plugin(const PluginFolder& folder) {
    const auto catalog = PluginCatalog::read({folder.path()});
    REQUIRE(catalog.plugins().size() == 1);
    return catalog.plugins().front();
}

}  // namespace

TEST_CASE("A plugin folder is read as its plugin.json describes it", "[plugin_host]") {
    PluginFolder folder;
    folder.add("harbour", kHarbour, "vocabulary.json");
    const auto info = only_plugin(folder);
    CHECK(info.id == "harbour");
    CHECK(info.name == "Harbour words");
    CHECK(info.version == "3");
    CHECK(info.provides == Provides::vocabulary);
    CHECK(info.vocabulary == folder.path() / "harbour" / "vocabulary.json");
    CHECK(info.library.empty());
    CHECK(info.looks_for == std::vector<std::string>{"gulls"});
    CHECK(info.does_not_look_for == std::vector<std::string>{"whales"});
    CHECK(info.available);
}

TEST_CASE("A plugin that cannot be used is listed with one sentence why", "[plugin_host]") {
    PluginFolder folder;
    SECTION("its file is missing") {
        folder.add("harbour", kHarbour);
        CHECK_THAT(only_plugin(folder).why_not, Contains("'Harbour words' lacks its vocabulary file"));
    }
    SECTION("its description is not JSON") {
        folder.add("harbour", "{ \"id\": ");
        CHECK_THAT(only_plugin(folder).why_not, Contains("'harbour' has an unreadable plugin.json"));
    }
    SECTION("its description lacks a version") {
        folder.add("harbour",
                   R"({"id": "harbour", "name": "Harbour", "provides": "spotter", "library": "x.so"})");
        CHECK_THAT(only_plugin(folder).why_not, Contains("'harbour' has an unreadable plugin.json"));
    }
    SECTION("it offers something unheard of") {
        folder.add("harbour",
                   R"({"id": "harbour", "name": "Harbour", "version": "1", "provides": "foghorn"})");
        CHECK_THAT(only_plugin(folder).why_not, Contains("offers something this version does not know"));
    }
    SECTION("its library lies outside its folder") {
        folder.add("harbour", R"({"id": "harbour", "name": "Harbour", "version": "1", "provides": "spotter",
            "library": "../../lib/other.so"})");
        CHECK_THAT(only_plugin(folder).why_not, Contains("lacks its library file"));
    }
    const auto info = only_plugin(folder);
    CHECK_FALSE(info.available);
    CHECK(info.why_not.back() == '.');
    CHECK_FALSE(SpotterProcess::start(info, quick_options()).ok());
}

TEST_CASE("Of two plugins with one id the first folder's counts", "[plugin_host]") {
    PluginFolder first, second;
    first.add("harbour", kHarbour, "vocabulary.json");
    second.add("harbour", kHarbour, "vocabulary.json");
    const auto catalog = PluginCatalog::read({first.path(), second.path()});
    REQUIRE(catalog.plugins().size() == 1);
    CHECK(catalog.find("harbour")->folder == first.path() / "harbour");
    CHECK(catalog.find("lighthouse") == nullptr);
}

TEST_CASE("A folder that is not there holds no plugins", "[plugin_host]") {
    CHECK(PluginCatalog::read({"/nowhere/plugins"}).plugins().empty());
}

TEST_CASE("The folders to search can be named in the environment", "[plugin_host]") {
    ::setenv("CANALOGUE_PLUGINS", "/one:/two", 1);
    CHECK(PluginCatalog::usual_folders() == std::vector<fs::path>{"/one", "/two"});
    ::unsetenv("CANALOGUE_PLUGINS");
    REQUIRE(PluginCatalog::usual_folders().size() == 1);
}

TEST_CASE("Asked beforehand, spotters that cannot work here say so", "[plugin_host]") {
    auto catalog = PluginCatalog::read({CANALOGUE_ILL_PLUGINS});
    catalog.ask_spotters(quick_options());
    CHECK(catalog.find("moody")->available);
    CHECK_FALSE(catalog.find("cannot_work")->available);
    CHECK_THAT(catalog.find("cannot_work")->why_not, Contains("lantern.onnx is missing"));
    CHECK_FALSE(catalog.find("dies_at_load")->available);
}

}  // namespace canalogue::tests
