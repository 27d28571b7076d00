#include "export/manifest.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "app/core/plan_names.hpp"
#include "app/media/file_hash.hpp"
#include "app/media/libav.hpp"
#include "export/encoder.hpp"

namespace canalogue::film {

namespace fs = std::filesystem;
using json = nlohmann::ordered_json;

namespace {

double rounded(double v, double step) { return std::isfinite(v) ? std::round(v / step) * step : -120.0; }
double seconds(Nanos t) { return rounded(static_cast<double>(t) / kSecond, 0.001); }

// The program never claims by itself that nobody can be recognised: that is a person's to say, of a film
// they watched.
json why_not_claimed(const ManifestInput& in) {
    json out = json::array();
    if (may_identify(in.audience)) out.push_back("this audience may see who it is");
    out.push_back("no person's sign-off is part of this manifest");
    for (const auto& [spotter, version] : in.spotters)
        if (version.empty()) out.push_back("the spotter '" + spotter + "' was not available");
    for (const auto& spotter : in.not_scanned_by) out.push_back("the spotter '" + spotter + "' has not looked at all of the recordings: a person said that they watched, or it is covered");
    if (in.identifiers_compared == 0) out.push_back("the film was not compared with known identifiers");
    if (in.judged_harmless > 0) out.push_back("suspects of the session were judged harmless by a person: " + std::to_string(in.judged_harmless));
    return out;
}

json identity(const ManifestInput& in) {
    json codes = json::array();
    const auto code = [&](const char* value, const char* meaning) { codes.push_back({{"scheme", "DCM"}, {"code", value}, {"meaning", meaning}}); };
    if (!may_identify(in.audience)) {
        code("113100", "Basic Application Confidentiality Profile");
        code("113101", "Clean Pixel Data Option");
        code("113102", "Clean Recognizable Visual Features Option");
        code("113103", "Clean Graphics Option");
        code("113105", "Clean Descriptors Option");
    }
    json spotters = json::array();
    for (const auto& [id, version] : in.spotters) spotters.push_back({{"spotter", id}, {"version", version.empty() ? "not available: unscanned spans are covered" : version}});
    return {{"patient_identity_removed", "NO"},
            {"not_claimed_because", why_not_claimed(in)},
            {"method", codes},
            {"spotters", spotters},
            {"not_looked_for", {"who is speaking, and which words are said", "handwriting, barcodes, tattoos and jewellery", "text that shows for less than a quarter of a second"}},
            {"covered", {{"boxes", in.covers.boxes}, {"seconds_with_boxes", seconds(in.covers.boxed)}, {"seconds_wholly_covered", seconds(in.covers.whole)},
                         {"original_sound", in.covers.original_sound}, {"stretches_hushed", in.covers.hushed}, {"container_metadata", "none of the source's is kept"}}}};
}

// Frames of the film that an item of the plan has: first and one past the last.
std::pair<long, long> frames_of(const ManifestInput& in, std::size_t item) {
    long first = in.schedule.frames, end = 0;
    for (const auto& piece : in.schedule.pieces)
        if (piece.item == item) first = std::min(first, piece.first), end = std::max(end, piece.first + piece.count);
    return {first, end};
}

json place_of(const ManifestInput& in, std::size_t item) {
    const auto [first, end] = frames_of(in, item);
    return {{"item", item + 1}, {"from_seconds", seconds(in.schedule.time_of(first).ns)}, {"until_seconds", seconds(in.schedule.time_of(end).ns)}};
}

// Where the film shows a part of the picture large.
json close_ups(const ManifestInput& in) {
    json out = json::array();
    for (std::size_t i = 0; i < in.plan.items.size(); ++i) {
        const auto* p = std::get_if<Passage>(&in.plan.items[i]);
        if (!p || !p->close_up) continue;
        json one = place_of(in, i);
        one["enlarged_at_most"] = rounded(most_enlarged(*p->close_up), 0.01);
        out.push_back(std::move(one));
    }
    return out;
}

// Where pictures are not as they were filmed, in the words that the film itself shows there.
json view_changes(const ManifestInput& in) {
    json out = json::array();
    for (std::size_t i = 0; i < in.plan.items.size(); ++i) {
        const auto* p = std::get_if<Passage>(&in.plan.items[i]);
        if (!p || words_of(p->view).empty()) continue;
        json one = place_of(in, i);
        one["changed"] = words_of(p->view);
        out.push_back(std::move(one));
    }
    return out;
}

json film(const ManifestInput& in) {
    json f = {{"file", film_name(in.plan.film.format)},
              {"target", written(in.plan.film.target, kTargets)},
              {"seconds", seconds(in.schedule.length())},
              {"frames", in.schedule.frames},
              {"frames_per_second", in.schedule.frames_per_second},
              {"width", in.plan.film.size.w},
              {"height", in.plan.film.size.h},
              {"close_ups", close_ups(in)},
              {"view_changes", view_changes(in)}};
    if (in.has_sound) f["loudness_lufs"] = rounded(in.loudness.integrated, 0.1), f["true_peak_dbtp"] = rounded(in.loudness.true_peak, 0.1);
    return f;
}

}  // namespace

Result<std::string> manifest_json(const fs::path& folder, const ManifestInput& in) {
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(folder))
        if (entry.is_regular_file()) files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    json list = json::array();
    for (const auto& f : files) {
        auto hash = media::hash_file(f, {});
        if (!hash) return hash.failure();
        list.push_back({{"name", f.lexically_relative(folder).generic_string()}, {"bytes", fs::file_size(f)}, {"sha256", *hash}});
    }
    const json j = {{"canalogue_manifest", 1},
                    {"program", {{"name", "Canalogue"}, {"version", CANALOGUE_VERSION}, {"libavcodec", AV_STRINGIFY(LIBAVCODEC_VERSION)}}},
                    {"title", in.plan.title},
                    {"language", in.plan.language},
                    {"audience", name_of(in.audience)},
                    {"caution", teaching_caution()},
                    {"vocabulary", {{"id", in.vocabulary.id()}, {"version", in.vocabulary.version()}}},
                    {"film", film(in)},
                    {"identity", identity(in)},
                    {"files", list}};
    return j.dump(2) + "\n";
}

Result<bool> matches_manifest(const fs::path& folder, const Progress& progress) {
    std::ifstream in(folder / "manifest.json", std::ios::binary);
    const json j = json::parse(in, nullptr, false);
    if (!j.is_object() || !j.contains("files") || !j["files"].is_array()) return false;
    std::set<std::string> listed{"manifest.json"};
    for (const auto& entry : j["files"]) {
        if (!entry.is_object()) return false;
        const std::string name = entry.value("name", "");
        auto hash = media::hash_file(folder / name, progress);
        if (!hash) return hash.failure().trouble == Trouble::cancelled ? Result<bool>(hash.failure()) : Result<bool>(false);
        if (*hash != entry.value("sha256", "")) return false;
        listed.insert(name);
    }
    std::error_code ec;
    for (const auto& entry : fs::recursive_directory_iterator(folder, ec))
        if (entry.is_regular_file(ec) && !listed.count(entry.path().lexically_relative(folder).generic_string())) return false;
    return true;
}

}  // namespace canalogue::film
