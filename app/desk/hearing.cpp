#include "app/desk/hearing.hpp"

#include <algorithm>

#include "app/desk/knowing.hpp"
#include "app/desk/takes.hpp"
#include "app/store/vault.hpp"
#include "export/names_spoken.hpp"

namespace canalogue::desk {

namespace {

constexpr Nanos kAround = kSecond / 2;  // a voice may begin before it is taken for one

// What people say before a name, a date or a number.
const std::vector<std::string> kAnnouncing{"my name is", "date of birth", "what is your name", "hospital number"};

std::string words_of(const std::vector<film::NameSpoken>& heard, const std::vector<std::string>& listened, std::size_t known) {
    std::string out;
    for (const auto& hit : heard) {
        const std::string when = "at " + format_clock(hit.start) + " ";
        // A single name that is unsure is not told as the name: it must not pass for read.
        const std::string what = hit.name >= known ? "'" + listened[hit.name] + "'" : hit.surely ? listened[hit.name] : "perhaps a name of the list";
        out += (out.empty() ? "" : "\n") + when + what;
    }
    return out;
}

struct Listening {
    std::vector<std::string> all;
    std::size_t known = 0;
    film::NameListener listener;
};

Result<Listening> listening_for(const std::vector<std::string>& known) {
    std::vector<std::string> all = known;
    all.insert(all.end(), kAnnouncing.begin(), kAnnouncing.end());
    auto listener = film::NameListener::make(all);
    if (!listener) return listener.failure();
    return Listening{std::move(all), known.size(), std::move(*listener)};
}

// A list of short numbers alone has nothing that could be heard.
bool can_be_heard(const std::vector<std::string>& known) {
    return std::any_of(known.begin(), known.end(), [](const std::string& each) { return !film::spoken_forms(each).empty(); });
}

Result<std::vector<std::string>> heard_in(film::NameListener& listener, const Desk& desk, const std::string& session, const std::string& take, bool unsure_too, const Progress& progress) {
    auto sound = take_sound(desk, session, take, "");
    if (!sound) return sound.failure();
    auto heard = listener.hear(film::for_listening(sound->samples), progress);
    if (!heard) return heard.failure();
    std::vector<std::string> out;
    for (const auto& hit : *heard)
        if (hit.surely || unsure_too) out.push_back("at " + format_clock(hit.start));
    return out;
}

}  // namespace

Result<HearReport> hear_names(Desk& desk, const std::string& session, const std::string& passphrase, const Progress& progress) {
    HearReport report;
    auto known = open_known(desk, session, passphrase);
    if (!known) return known.failure();
    auto vault = desk.library.vault();
    if (!vault) return vault.failure();
    if (!*vault) return report;
    auto words = open_words(desk, session, passphrase);
    if (!words) return words.failure();
    auto suspects = desk.library.all<Suspect>(session);
    if (!suspects) return suspects.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    auto listening = listening_for(*known);
    if (!listening) return listening.failure();
    for (const auto& r : *recordings) {
        std::optional<media::SoundReader> sound;
        for (const auto& s : *suspects) {
            if (s.recording != r.id || s.kind != SuspectKind::speech) continue;
            if (progress.stopped()) return cancelled();
            if (!sound) {
                auto opened = media::SoundReader::open(r.path, r.zero);
                if (!opened) return opened.failure();
                sound.emplace(std::move(*opened));
            }
            const RecordingSpan span{std::max(r.only.start, s.span.start - kAround), std::min(r.only.end, s.span.end + kAround)};
            auto heard = film::names_spoken(listening->listener, *sound, span, progress);
            if (!heard) return heard.failure();
            ++report.listened;
            if (heard->empty()) continue;
            ++report.named;
            const std::string told = words_of(*heard, listening->all, listening->known);
            // Listening again says the same again: it takes the place of what it said before.
            if ((*words)[s.id] == told) continue;
            if (auto kept = desk.library.keep_sealed(session, kWordsRead, s.id, store::Vault::put(**vault, told)); !kept) return kept.failure();
        }
    }
    return report;
}

Result<std::vector<std::string>> names_in_take(const Desk& desk, const std::string& session, const std::string& take, const std::vector<std::string>& known, bool unsure_too, const Progress& progress) {
    if (!can_be_heard(known)) return std::vector<std::string>{};
    auto listener = film::NameListener::make(known);
    if (!listener) return listener.failure();
    return heard_in(*listener, desk, session, take, unsure_too, progress);
}

Result<void> look_over_takes(const Desk& desk, const std::string& session, const Plan& plan, const std::vector<std::string>& known, const Progress& progress) {
    if (!can_be_heard(known)) return {};
    std::optional<film::NameListener> listener;  // it takes half a second to start: one for all takes, none without a take
    for (std::size_t i = 0; i < plan.items.size(); ++i)
        for (const auto& line : narration_of(plan.items[i])) {
            if (line.take.empty()) continue;
            if (!listener) {
                auto made = film::NameListener::make(known);
                if (!made) return made.failure();
                listener.emplace(std::move(*made));
            }
            auto named = heard_in(*listener, desk, session, line.take, false, progress);
            if (!named) return named.failure();
            if (!named->empty())
                return refused("Item " + std::to_string(i + 1) + " of the plan is said by take " + line.take + ", in which a known identifier is heard " + named->front() + ": record it again, or choose another take.");
        }
    return {};
}

}  // namespace canalogue::desk
