#include "app/desk/checking.hpp"

#include "app/desk/knowing.hpp"

namespace canalogue::desk {

Result<film::CheckOptions> check_options(Desk& desk, const std::string& session, const std::string& passphrase) {
    film::CheckOptions options;
    options.host = desk.host;
    desk.ask_spotters();
    options.text_spotter = desk.plugins.find("burnt_text");
    options.face_spotter = desk.plugins.find("faces");
    options.speech_spotter = desk.plugins.find("speech");
    if (session.empty()) return options;
    auto sealed = count_known(desk, session);
    if (!sealed) return sealed.failure();
    options.why_none_known = *sealed == 0 ? "none is sealed for the session" : std::to_string(*sealed) + " are sealed, and the passphrase was not given";
    if (passphrase.empty()) return options;
    auto known = open_known(desk, session, passphrase);
    if (!known) return known.failure();
    options.known_identifiers = std::move(*known);
    return options;
}

Result<film::CheckReport> check(Desk& desk, const std::filesystem::path& place, const std::string& session, const std::string& passphrase, const Progress& progress) {
    auto options = check_options(desk, session, passphrase);
    if (!options) return options.failure();
    return film::check_export(place, *options, progress);
}

}  // namespace canalogue::desk
