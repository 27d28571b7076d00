#include "app/desk/takes.hpp"

#include <algorithm>
#include <cstring>

#include "app/core/text.hpp"
#include "app/desk/planning.hpp"
#include "app/media/sound_reader.hpp"
#include "export/take_sound.hpp"

namespace canalogue::desk {

namespace {

std::string as_bytes(const std::vector<std::int16_t>& sound) {
    std::string out(sound.size() * sizeof(std::int16_t), '\0');
    std::memcpy(out.data(), sound.data(), out.size());
    return out;
}

std::vector<std::int16_t> as_samples(const std::string& bytes) {
    std::vector<std::int16_t> out(bytes.size() / sizeof(std::int16_t));
    std::memcpy(out.data(), bytes.data(), out.size() * sizeof(std::int16_t));
    return out;
}

Failure no_such_take(const std::string& id) { return wrong_use("There is no take '" + legible(id) + "' in this session; 'canalogue takes' lists them."); }

}  // namespace

Result<std::vector<Take>> takes(const Desk& desk, const std::string& session) {
    if (auto s = desk.session(session); !s) return s.failure();
    return desk.library.all<Take>(session);
}

Result<std::string> keep_take(Desk& desk, const std::string& session, const std::vector<std::int16_t>& sound, const std::string& says, const PlanWith& plan) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto words = one_line(says, "What the take says");
    if (!words) return words.failure();
    if (words->empty()) return wrong_use("What does the take say? Captions need its words.");
    const auto length = static_cast<Nanos>(sound.size()) * kSecond / media::kSoundRate;
    if (length > kLongestTake) return wrong_use("A take has five minutes at most: record it in parts, a line each.");
    auto spoken = film::without_silent_ends(sound);
    if (!spoken) return spoken.failure();
    auto id = desk.library.next_id(session, "t");
    if (!id) return id.failure();
    // The sound first: an item never names a sound that is not there.
    if (auto kept = desk.library.keep_take(session, *id, as_bytes(*spoken)); !kept) return kept.failure();
    const Take take{*id, *words, static_cast<Nanos>(spoken->size()) * kSecond / media::kSoundRate};
    std::vector<store::Change> changes{store::put(take)};
    if (plan) changes.push_back(kept(plan(*id)));
    auto done = desk.library.commit({session, "record take " + *id, desk.person, std::move(changes)});
    if (!done) return done.failure();
    return *id;
}

Result<std::string> keep_take_from(Desk& desk, const std::string& session, const std::filesystem::path& file, const std::string& says, const Progress& progress) {
    // The sentences about recordings would send nobody to a take's file.
    std::error_code ec;
    if (!std::filesystem::is_regular_file(file, ec)) return bad_media("There is no such sound file: check the name of the take's file.");
    auto length = media::sound_length(file);
    if (!length && length.failure().trouble == Trouble::bad_media) return bad_media("The take's file has no sound that can be read: give a WAV, FLAC or another sound file, copied completely.");
    if (!length) return length.failure();
    if (*length > kLongestTake) return wrong_use("A take has five minutes at most: cut the file into parts, a line each.");
    auto sound = media::read_sound(file, 0, {{0}, {*length}}, {}, progress);
    if (!sound) return sound.failure();
    return keep_take(desk, session, film::as_mono(*sound), says);
}

Result<void> drop_take(Desk& desk, const std::string& session, const std::string& id) {
    if (auto s = desk.session(session); !s) return s.failure();
    auto take = desk.library.find<Take>(session, id);
    if (!take) return take.failure();
    if (!*take) return no_such_take(id);
    auto done = desk.library.commit({session, "drop take " + id, desk.person, {{store::Stored<Take>::kind, id, std::nullopt}}});
    if (!done) return done.failure();
    return {};
}

Result<film::Spoken> take_sound(const Desk& desk, const std::string& session, const std::string& id, const std::string& says) {
    auto take = desk.library.find<Take>(session, id);
    if (!take) return take.failure();
    if (!*take) return no_such_take(id);
    auto bytes = desk.library.take(session, id);
    if (!bytes) return bytes.failure();
    return film::as_spoken(as_samples(*bytes), says);
}

Result<void> takes_are_there(const Desk& desk, const std::string& session, const Plan& plan) {
    auto there = takes(desk, session);
    if (!there) return there.failure();
    for (std::size_t i = 0; i < plan.items.size(); ++i)
        for (const auto& line : narration_of(plan.items[i])) {
            const bool found = line.take.empty() || std::any_of(there->begin(), there->end(), [&](const Take& t) { return t.id == line.take; });
            if (!found) return wrong_use("Item " + std::to_string(i + 1) + " of the plan names the take '" + legible(line.take) + "', which this session does not have.");
        }
    return {};
}

}  // namespace canalogue::desk
