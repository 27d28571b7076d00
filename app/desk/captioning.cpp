#include "app/desk/captioning.hpp"

#include <algorithm>
#include <fstream>

#include "app/core/text.hpp"

namespace canalogue::desk {

namespace {

constexpr const char* kKind = "captions";

// Codes of languages are the same in capitals and small letters, and "en" is any English (BCP 47).
bool same_language(const std::string& a, const std::string& b) {
    const std::string& more = a.size() < b.size() ? b : a;
    const std::size_t n = std::min(a.size(), b.size());
    const auto lower = [](char c) { return std::tolower(static_cast<unsigned char>(c)); };
    return n > 0 && (more.size() == n || more[n] == '-') && std::equal(a.begin(), a.begin() + static_cast<std::ptrdiff_t>(n), b.begin(), [&](char x, char y) { return lower(x) == lower(y); });
}

Result<film::CaptionTrack> read_one(const std::string& language, const std::filesystem::path& file, const Plan& plan) {
    const bool named = !language.empty() && language.size() <= 16 && std::all_of(language.begin(), language.end(), [](unsigned char c) { return std::isalnum(c) || c == '-'; });
    if (!named) return wrong_use("Captions in another language are given with its code, such as cy for Welsh: cy=captions.vtt.");
    if (same_language(language, plan.language)) return wrong_use("The film itself is in '" + plan.language + "', and its own captions are made from its narration: give captions in another language.");
    const std::string name = legible(file.string());
    std::error_code ec;
    std::ifstream in(file, std::ios::binary);
    if (!in || !std::filesystem::is_regular_file(file, ec)) return wrong_use("The captions for '" + language + "' cannot be read from '" + name + "': check the file's name.");
    auto cues = film::read_captions({(std::istreambuf_iterator<char>(in)), {}});
    if (!cues) return wrong_use("In '" + name + "': " + cues.failure().sentence);
    return film::CaptionTrack{language, std::move(*cues)};
}

Result<void> keep(Desk& desk, const std::string& session, const CaptionFiles& files, const std::string& act) {
    nlohmann::json list = nlohmann::json::array();
    for (const auto& [language, file] : files) list.push_back({{"language", language}, {"file", file.string()}});
    // Where a person keeps files may tell who somebody is.
    auto done = desk.library.commit({session, act, desk.person, {{kKind, kKind, nlohmann::json{{"private", {{"files", list}}}}}}});
    if (!done) return done.failure();
    return {};
}

}  // namespace

Result<std::vector<film::CaptionTrack>> read_captions_also(const CaptionFiles& files, const Plan& plan) {
    std::vector<film::CaptionTrack> out;
    for (const auto& [language, file] : files) {
        if (std::any_of(out.begin(), out.end(), [&, l = language](const film::CaptionTrack& t) { return same_language(t.language, l); }))
            return wrong_use("Captions for '" + language + "' are given twice: leave one of them out.");
        auto track = read_one(language, file, plan);
        if (!track) return track.failure();
        out.push_back(std::move(*track));
    }
    return out;
}

Result<CaptionFiles> kept_captions(const Desk& desk, const std::string& session) {
    auto body = desk.library.body(session, kKind, kKind);
    if (!body) return body.failure();
    CaptionFiles out;
    if (!*body || !(**body).contains("private")) return out;
    for (const auto& each : (**body)["private"].value("files", nlohmann::json::array())) out.emplace_back(each.value("language", ""), each.value("file", ""));
    return out;
}

Result<void> add_captions(Desk& desk, const std::string& session, const Plan& plan, const std::string& language, const std::filesystem::path& file) {
    auto files = kept_captions(desk, session);
    if (!files) return files.failure();
    files->emplace_back(language, file);
    if (auto read = read_captions_also(*files, plan); !read) return read.failure();
    return keep(desk, session, *files, "add captions in another language");
}

Result<void> drop_captions(Desk& desk, const std::string& session, const std::string& language) {
    auto files = kept_captions(desk, session);
    if (!files) return files.failure();
    std::erase_if(*files, [&](const auto& each) { return each.first == language; });
    return keep(desk, session, *files, "take captions away");
}

}  // namespace canalogue::desk
