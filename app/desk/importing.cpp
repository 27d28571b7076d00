#include "app/desk/importing.hpp"

#include <algorithm>

#include "app/media/file_hash.hpp"
#include "app/media/frame_reader.hpp"

namespace canalogue::desk {

namespace fs = std::filesystem;

namespace {

struct Probed {
    fs::path path;
    media::RecordingFacts facts;
};

Result<std::vector<Probed>> probe(const ImportWish& wish) {
    std::vector<Probed> out;
    for (const auto& file : wish.files) {
        auto reader = media::FrameReader::open(file);
        if (!reader) {
            Failure why = reader.failure();
            if (wish.files.size() > 1) why.sentence = "File " + std::to_string(out.size() + 1) + ": " + why.sentence;
            return why;
        }
        if (reader->facts().still) return bad_media("File " + std::to_string(out.size() + 1) + " is a single picture, not a recording; name the film that it was taken from.");
        std::error_code ec;
        out.push_back({fs::absolute(file, ec), reader->facts()});
    }
    if (wish.by_time_stamps) {
        if (std::any_of(out.begin(), out.end(), [](const Probed& p) { return !p.facts.made_at; }))
            return wrong_use("Not every file carries a time stamp: name the files in order without --by-time-stamps, or place them with --at.");
        std::stable_sort(out.begin(), out.end(), [](const Probed& a, const Probed& b) { return *a.facts.made_at < *b.facts.made_at; });
    }
    return out;
}

Recording recording_from(const Probed& p, const ImportWish& wish, SessionTime offset, Nanos duration) {
    Recording r;
    r.path = p.path.string();
    r.offset = offset;
    r.only = {wish.from.value_or(RecordingTime{0}), wish.until.value_or(RecordingTime{duration})};
    if (wish.ear) r.ears = {{r.only, *wish.ear}};
    r.stored = p.facts.stored;
    r.rotation = p.facts.rotation;
    r.frames_per_second = p.facts.frames_per_second;
    r.interlaced = p.facts.interlaced;
    r.has_sound = p.facts.sound.has_value();
    r.zero = p.facts.zero;
    return r;
}

Result<std::optional<std::string>> session_holding(Desk& desk, const std::string& hash, const std::string& session, const std::string& own_id) {
    auto sessions = desk.library.sessions();
    if (!sessions) return sessions.failure();
    // This session first: the same file twice in it is a slip, whoever else holds it, too.
    std::stable_partition(sessions->begin(), sessions->end(), [&](const std::string& s) { return s == session; });
    for (const auto& s : *sessions) {
        auto recordings = desk.library.all<Recording>(s);
        if (!recordings) return recordings.failure();
        for (const auto& r : *recordings)
            if (r.hash == hash && !(s == session && r.id == own_id)) return std::optional<std::string>(s);
    }
    return std::optional<std::string>{};
}

// Reads the hash and the index; with them the recording is no longer provisional.
Result<void> settle(Desk& desk, const std::string& session, Recording& r, bool whole, const Progress& progress) {
    auto hash = media::hash_file(r.path, progress);
    if (!hash) return hash.failure();
    auto index = media::FrameIndex::build(r.path, progress);
    if (!index) return index.failure();
    r.hash = *hash;
    r.lost = index->lost();
    const RecordingTime end = index->end();
    // The index knows the true length; a span that was asked for is kept, cut to what is there.
    if (r.only.start >= end)
        return wrong_use("The recording ends at " + format_time(end.ns) + ", before the span asked for begins; give an earlier --from.");
    const RecordingTime old_end = r.only.end;
    r.only.end = whole ? end : std::min(r.only.end, end);
    for (auto& e : r.ears)
        if (e.span.end == old_end) e.span.end = r.only.end;
    (void)index->save(desk.index_cache(r.hash));
    auto done = desk.library.commit({session, "read recording " + r.id, desk.person, {store::put(r)}, false});
    if (!done) return done.failure();
    return {};
}

Result<fs::path> adopted(Desk& desk, const fs::path& from, const Recording& r) {
    const fs::path to = desk.library.folder() / "recordings" / (r.hash + from.extension().string());
    std::error_code ec;
    fs::create_directories(to.parent_path(), ec);
    if (!fs::exists(to, ec)) {
        const fs::path part = to.string() + ".part";
        fs::copy_file(from, part, fs::copy_options::overwrite_existing, ec);
        if (!ec) fs::rename(part, to, ec);
        if (ec) return machine_trouble("The recording could not be copied into the library; free some disk space. It stays where it is.");
    }
    return to;
}

Result<void> ensure_session(Desk& desk, const ImportWish& wish) {
    auto found = desk.library.find<Session>(wish.session, wish.session);
    if (!found) return found.failure();
    if (*found) return {};
    auto vocabulary = desk.vocabulary(wish.vocabulary);
    if (!vocabulary) return vocabulary.failure();
    Session s;
    s.id = wish.session;
    s.vocabulary = wish.vocabulary;
    auto done = desk.library.commit({wish.session, "new session", desk.person, {store::put(s)}, false});
    if (!done) return done.failure();
    return {};
}

bool good_session_name(const std::string& name) {
    return !name.empty() && name.size() <= 64 && std::isalnum(static_cast<unsigned char>(name[0])) && std::all_of(name.begin(), name.end(), [](unsigned char c) { return std::isalnum(c) || c == '-' || c == '_'; });
}

}  // namespace

Result<std::vector<Imported>> import_recordings(Desk& desk, const ImportWish& wish, const std::function<void(const Imported&)>& shown, const Progress& progress) {
    if (!good_session_name(wish.session))
        return wrong_use("A session's name has letters, digits, '-' and '_' only and begins with a letter or digit, such as s1 or 2nd-visit; do not use the patient's name.");
    if (wish.from && wish.until && *wish.until <= *wish.from) return wrong_use("--until must be later than --from.");
    auto probed = probe(wish);
    if (!probed) return probed.failure();
    if (auto ok = ensure_session(desk, wish); !ok) return ok.failure();
    auto before = desk.recordings(wish.session);
    if (!before) return before.failure();

    SessionTime next{0};
    for (const auto& r : *before) next = std::max(next, r.session_span().end);
    if (wish.at) next = *wish.at;
    const SessionTime first = next;
    std::vector<Imported> out;
    for (std::size_t i = 0; i < probed->size(); ++i) {
        const Probed& p = (*probed)[i];
        Imported now;
        now.facts = p.facts;
        SessionTime offset = next;
        if (wish.by_time_stamps) offset = first + (*p.facts.made_at - *(*probed)[0].facts.made_at) * kSecond;
        // A cut-out part begins where its neighbours end, not where its file does.
        if (wish.from && !wish.by_time_stamps) offset = offset - wish.from->ns;
        now.recording = recording_from(p, wish, offset, std::max<Nanos>(p.facts.duration, kSecond / 25));
        auto id = desk.library.next_id(wish.session, "r");
        if (!id) return id.failure();
        now.recording.id = *id;
        auto done = desk.library.commit({wish.session, "import recording " + *id, desk.person, {store::put(now.recording)}, false});
        if (!done) return done.failure();
        shown(now);
        if (auto ok = settle(desk, wish.session, now.recording, !wish.until, progress); !ok) {
            // Stopped by hand it stays provisional and is finished next time; refused it goes.
            if (ok.failure().trouble != Trouble::cancelled)
                (void)desk.library.commit({wish.session, "recording " + *id + " cannot be used", desk.person, {{store::Stored<Recording>::kind, *id, std::nullopt}}, false});
            return ok.failure();
        }
        if (wish.until && *wish.until > now.recording.only.end)
            now.notes.push_back("--until lies beyond the end of " + *id + ", which is at " + format_time(now.recording.only.end.ns / kMillisecond * kMillisecond) + ": all of the rest is used.");
        auto seen = session_holding(desk, now.recording.hash, wish.session, *id);
        if (!seen) return seen.failure();
        now.seen_before = *seen;
        if (now.seen_before == wish.session && !wish.from && !wish.until) {
            // The same content twice in one session is a slip: the second goes again.
            auto gone = desk.library.commit({wish.session, "recording " + *id + " is here already", desk.person, {{store::Stored<Recording>::kind, *id, std::nullopt}}, false});
            if (!gone) return gone.failure();
        } else {
            if (wish.adopt) {
                auto copy = adopted(desk, p.path, now.recording);
                if (!copy) return copy.failure();
                now.recording.path = copy->string();
                auto moved = desk.library.commit({wish.session, "adopt recording " + *id, desk.person, {store::put(now.recording)}, false});
                if (!moved) return moved.failure();
            }
            next = std::max(next, now.recording.session_span().end);
        }
        out.push_back(std::move(now));
    }
    return out;
}

Result<int> finish_provisional(Desk& desk, const std::string& session, const Progress& progress) {
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    int finished = 0;
    for (auto& r : *recordings) {
        if (!r.hash.empty()) continue;
        if (auto ok = settle(desk, session, r, true, progress); !ok) return ok.failure();
        ++finished;
    }
    return finished;
}

Result<void> move_recording(Desk& desk, const std::string& session, const std::string& recording, SessionTime offset) {
    auto r = desk.library.find<Recording>(session, recording);
    if (!r) return r.failure();
    if (!*r) return wrong_use("There is no recording '" + recording + "' in this session.");
    (*r)->offset = offset;
    auto done = desk.library.commit({session, "move recording " + recording, desk.person, {store::put(**r)}, true});
    if (!done) return done.failure();
    return {};
}

Result<void> find_again(Desk& desk, const std::string& session, const fs::path& file, const Progress& progress) {
    auto hash = media::hash_file(file, progress);
    if (!hash) return hash.failure();
    auto recordings = desk.recordings(session);
    if (!recordings) return recordings.failure();
    std::vector<store::Change> changes;
    std::error_code ec;
    for (auto& r : *recordings)
        if (r.hash == *hash) {
            r.path = fs::absolute(file, ec).string();
            changes.push_back(store::put(r));
        }
    if (changes.empty()) return wrong_use("This file is none of the session's recordings: its content is another.");
    auto done = desk.library.commit({session, "find a recording again", desk.person, std::move(changes), false});
    if (!done) return done.failure();
    return {};
}

}  // namespace canalogue::desk
