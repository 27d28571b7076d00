#include "export/teaching_set.hpp"

#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "app/core/audience.hpp"
#include "app/core/identifiers.hpp"
#include "app/core/time.hpp"
#include "export/case_page.hpp"
#include "export/folder.hpp"
#include "export/handout.hpp"
#include "export/html.hpp"
#include "export/manifest.hpp"

namespace canalogue::film {

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace {

constexpr const char* kMadeBy = "<meta name=\"generator\" content=\"Canalogue teaching set\">";

std::string text_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {(std::istreambuf_iterator<char>(in)), {}};
}

// The data that the case page carries; null when there is none.
json told_by(const fs::path& page) {
    static const std::string kBegin = "<script type=\"application/json\" id=\"told\">";
    const std::string text = text_of(page);
    const std::size_t at = text.find(kBegin), end = at == std::string::npos ? at : text.find("</script>", at);
    if (end == std::string::npos) return {};
    return json::parse(text.substr(at + kBegin.size(), end - at - kBegin.size()), nullptr, false);
}

// A relative name as an address: what has a meaning there is written by its code.
std::string address(const fs::path& relative) {
    static const char* const kHex = "0123456789ABCDEF";
    std::string out;
    for (const char c : relative.generic_string()) {
        const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '/' || c == '.' || c == '-' || c == '_' || c == '~';
        if (plain) out += c;
        else out += '%', out += kHex[static_cast<unsigned char>(c) >> 4], out += kHex[c & 15];
    }
    return out;
}

std::string card_of(const SetCase& c, const std::string& place, std::size_t number) {
    std::string aims;
    for (const auto& aim : c.aims) aims += "<li>" + html_safe(aim) + "</li>\n";
    return "<li class=\"case\" lang=\"" + html_safe(c.language) + "\"><img src=\"" + place + "/poster.jpg\" alt=\"\" loading=\"lazy\"><div>\n<h2><a href=\"" + place + "/" + kCasePageFile + "\">" + std::to_string(number) +
           ". " + html_safe(c.title) + "</a></h2>\n<p class=\"quiet\">" + format_clock(nanos_from_seconds(c.seconds)) + " of film</p>\n" + (aims.empty() ? "" : "<ul>\n" + aims + "</ul>\n") +
           (c.has_handout ? "<p><a href=\"" + place + "/" + kHandoutFile + "\">Handout of case " + std::to_string(number) + " (PDF)</a></p>\n" : "") + "</div></li>\n";
}

std::string set_html(const std::string& title, const std::string& cards, std::size_t count, double seconds) {
    return "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"" + page_policy(page_style(), "") +
           "\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"referrer\" content=\"no-referrer\">\n" + kMadeBy + "\n<title>" + html_safe(title) + "</title>\n<style>" +
           std::string(page_style()) + "</style>\n</head>\n<body>\n<header>\n<h1>" + html_safe(title) + "</h1>\n<p class=\"quiet\">" + std::to_string(count) + (count == 1 ? " case, " : " cases, ") +
           format_clock(nanos_from_seconds(seconds)) + " of film.</p>\n</header>\n<main>\n<p class=\"caution\">" + html_safe(teaching_caution()) + "</p>\n<ol class=\"cases\">\n" + cards +
           "</ol>\n</main>\n<footer><p class=\"quiet\">Made with Canalogue, which teaches and documents and does not diagnose.</p></footer>\n</body>\n</html>\n";
}

// Somebody else's page is not ours to replace.
Result<void> may_write(const fs::path& file) {
    std::error_code ec;
    if (!fs::exists(file, ec) || text_of(file).find(kMadeBy) != std::string::npos) return {};
    return wrong_use("There is a page '" + std::string(kTeachingSetFile) + "' of another kind in that folder already: name another folder for the teaching set.");
}

}  // namespace

Result<SetCase> read_set_case(const fs::path& folder) {
    const std::string where = "'" + folder.filename().string() + "' ";
    const json manifest = json::parse(text_of(folder / "manifest.json"), nullptr, false);
    if (!manifest.is_object() || !manifest.contains("canalogue_manifest")) return wrong_use(where + "is no finished export: name folders that 'canalogue render' made.");
    const auto audience = audience_named(manifest.value("audience", ""));
    if (!audience || may_identify(*audience)) return refused(where + "may show who somebody is, so it is in no teaching set: render it for learners or the public.");
    std::error_code ec;
    if (!fs::exists(folder / kCasePageFile, ec)) return wrong_use(where + "has no case page: render it again with --replace.");
    auto unchanged = matches_manifest(folder, {});
    if (!unchanged) return unchanged.failure();
    if (!*unchanged) return refused(where + "is not as it was made: a file was changed, added or taken away since it was checked. Render it again with --replace.");
    const json check = json::parse(text_of(folder / "check.json"), nullptr, false);
    if (!check.is_object() || !check.value("passed", false)) return refused(where + "was held back by its check, so it is in no teaching set: decide or cover what was found (check.json tells) and render it again.");
    const json told = told_by(folder / kCasePageFile);
    if (!told.is_object()) return wrong_use(where + "has no case page: render it again with --replace.");
    try {
        return SetCase{manifest.at("title").get<std::string>().empty() ? "A case" : manifest.at("title").get<std::string>(), manifest.value("language", "en"),
                       told.value("aims", std::vector<std::string>{}), told.at("length").get<double>(), fs::exists(folder / kHandoutFile, ec)};
    } catch (const json::exception&) {
        return wrong_use(where + "has a manifest or a case page that was changed by hand: render it again with --replace.");
    }
}

Result<fs::path> write_teaching_set(const fs::path& folder, const std::string& title, const std::vector<fs::path>& exports) {
    if (exports.empty()) return wrong_use("A teaching set needs one case at least: name the folders of finished exports in their order.");
    if (const auto told = identifiers_in(title); !told.empty()) return refused("The teaching set's title could tell who somebody is (" + told.front().what + "). Word it in another way.");
    std::string cards;
    double seconds = 0;
    std::error_code ec;
    const fs::path set = fs::weakly_canonical(fs::absolute(folder), ec);
    std::set<fs::path> there;
    for (std::size_t i = 0; i < exports.size(); ++i) {
        if (!there.insert(fs::weakly_canonical(fs::absolute(exports[i]), ec)).second) return wrong_use("'" + fs::weakly_canonical(fs::absolute(exports[i]), ec).filename().string() + "' is named twice: name each export once, in their order.");
        auto one = read_set_case(exports[i]);
        if (!one) return one.failure();
        seconds += one->seconds;
        cards += card_of(*one, address(fs::weakly_canonical(fs::absolute(exports[i]), ec).lexically_relative(set)), i + 1);
    }
    if (auto ok = may_write(folder / kTeachingSetFile); !ok) return ok.failure();
    fs::create_directories(folder, ec);
    return replace_text(folder / kTeachingSetFile, set_html(title.empty() ? "Teaching set" : title, cards, exports.size(), seconds));
}

}  // namespace canalogue::film
