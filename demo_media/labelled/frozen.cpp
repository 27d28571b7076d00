#include "demo_media/labelled/frozen.hpp"

#include <fstream>
#include <nlohmann/json.hpp>

#include "demo_media/labelled/recipe.hpp"

namespace canalogue::demo::labelled {

namespace {
constexpr std::uint64_t kSessions = 40;
using Json = nlohmann::ordered_json;
}  // namespace

Result<FrozenSet> read_frozen(const std::filesystem::path& list) {
    std::ifstream in(list);
    const Json read = Json::parse(in, nullptr, false);
    if (read.is_discarded()) return bad_media("The list of frozen sessions cannot be read; take it from the project again.");
    try {
        FrozenSet out;
        out.seconds = read.at("seconds").get<double>();
        for (const Json& s : read.at("sessions"))
            out.sessions.push_back({s.at("seed").get<std::uint64_t>(), s.at("apart").get<bool>(),
                                    {s.at("truth").get<std::string>(), s.at("labels").get<std::string>()},
                                    s.at("made").get<std::vector<std::string>>()});
        return out;
    } catch (const nlohmann::json::exception&) {
        return bad_media("The list of frozen sessions lacks a field; take it from the project again.");
    }
}

Result<void> freeze(const std::filesystem::path& list, double seconds, const Progress& progress) {
    Json out{{"about", "SHA-256 of each truth.json and of its decoded labels; see README.md."}, {"seconds", seconds}};
    out["sessions"] = Json::array();
    for (std::uint64_t seed = 1; seed <= kSessions; ++seed) {
        auto f = fingerprint_of({seed, seconds, false}, Progress{{[](std::string_view, double) {}}, progress.stop});
        if (!f) return f.failure();
        const Recipe r = recipe_for(seed, seconds);
        out["sessions"].push_back({{"seed", seed}, {"apart", r.apart}, {"truth", f->truth}, {"labels", f->labels}, {"made", r.made}});
        progress.report("freezing", double(seed) / kSessions);
    }
    std::ofstream file(list);
    file << out.dump(1) << "\n";
    if (!file.flush()) return machine_trouble("The list of frozen sessions cannot be written there; choose another place.");
    return {};
}

}  // namespace canalogue::demo::labelled
