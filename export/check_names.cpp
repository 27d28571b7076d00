#include "export/check_parts.hpp"
#include "export/names_spoken.hpp"

namespace canalogue::film {

Result<CheckLook> listen_for_names(const std::filesystem::path& film, const CheckOptions& options, const Progress& progress) {
    CheckLook look{CheckLook::Outcome::clean, "Names that are said", "listened for the known identifiers", {}};
    const auto not_done = [&](const std::string& why) { return CheckLook{CheckLook::Outcome::not_done, look.name, why, {}}; };
    if (options.known_identifiers.empty()) return not_done(options.why_none_known);
    auto length = media::sound_length(film);
    if (!length) {
        look.words = "the film has no sound";
        return look;
    }
    auto listener = NameListener::make(options.known_identifiers);
    if (!listener) return not_done(listener.failure().sentence);
    auto sound = media::SoundReader::open(film, 0);
    if (!sound) return not_done(sound.failure().sentence);
    auto heard = names_spoken(*listener, *sound, {{0}, {*length}}, progress);
    if (!heard && heard.failure().trouble == Trouble::cancelled) return heard.failure();
    if (!heard) return not_done(heard.failure().sentence);
    std::string unsure;
    for (const auto& hit : *heard) {
        if (hit.surely) look.places.push_back({"known identifier", "said in the sound at " + format_clock(hit.start)});
        else unsure += (unsure.empty() ? "; one may be said at " : ", ") + format_clock(hit.start);
    }
    if (!unsure.empty()) look.words += unsure + ": listen there";
    if (!look.places.empty()) look.outcome = CheckLook::Outcome::finding;
    return look;
}

}  // namespace canalogue::film
