#include "app/editor/workplace.hpp"

#include <algorithm>

#include "app/desk/knowing.hpp"
#include "app/desk/planning.hpp"
#include "app/desk/showing.hpp"
#include "app/desk/sources.hpp"

namespace canalogue::editor {

namespace {

template <class T>
const T* with_id(const std::vector<T>& all, const std::string& id) {
    for (const auto& each : all)
        if (each.id == id) return &each;
    return nullptr;
}

}  // namespace

const Recording* SessionView::recording(const std::string& id) const { return with_id(recordings, id); }
const Event* SessionView::event(const std::string& id) const { return with_id(events, id); }

const desk::SuspectLine* SessionView::suspect(const std::string& id) const {
    for (const auto& s : suspects)
        if (s.suspect.id == id) return &s;
    return nullptr;
}

SessionTime SessionView::time_of(const Event& e) const {
    const Recording* r = recording(e.recording);
    return r ? r->session_time(e.at) : SessionTime{e.at.ns};
}

std::optional<SessionTime> SessionView::end_of(const Event& e) const {
    const Recording* r = recording(e.recording);
    if (!e.until || !r) return std::nullopt;
    return r->session_time(*e.until);
}

bool Workplace::open(const std::string& id) {
    if (auto s = desk.session(id); !s) return failed(s.failure());
    close();
    session = id;
    complaint.clear();
    read();
    player.go(player.whole().start);
    return true;
}

void Workplace::close() {
    player.play(false);
    player.use({});
    view = {};
    session.clear();
    event.clear();
    suspect.clear();
}

void Workplace::read() {
    stale_ = false;
    ++revision_;
    if (auto head = desk.library.chain_head()) head_ = std::move(*head);
    if (session.empty()) return;
    SessionView next;
    const auto take = [&](auto result, auto& into) {
        if (result) into = std::move(*result);
        else complaint = result.failure().sentence;
    };
    take(desk.session(session), next.session);
    take(desk.vocabulary(next.session.vocabulary), next.vocabulary);
    take(desk.recordings(session), next.recordings);
    take(desk.events(session), next.events);
    take(desk.library.all<Take>(session), next.takes);
    take(desk::suspects(desk, session, passphrase), next.suspects);
    take(desk::covers_now(desk, session, Audience::learners), next.covers);
    for (const auto& r : next.recordings) {
        const Recording* old = view.recording(r.id);
        const auto it = view.indexes.find(r.id);
        if (old && it != view.indexes.end() && old->path == r.path) next.indexes.insert(*it);
        if (const auto copy = view.reduced.find(r.id); old && copy != view.reduced.end() && old->hash == r.hash) next.reduced.insert(*copy);
        std::error_code ec;
        if (!std::filesystem::exists(r.path, ec)) next.missing[r.id] = "The file of " + r.id + " is not where it was. Its drive may be away, or it was moved: show where it is now.";
    }
    view = std::move(next);
    view.placed.clear();
    for (const auto& e : view.events)
        if (const EventKind* kind = view.vocabulary.find(e.kind)) view.placed.push_back({&e, kind, view.time_of(e), view.end_of(e)});
    if (!view.event(event)) event.clear();
    if (!view.suspect(suspect)) suspect.clear();
    tell_player();
    read_missing_indexes();
    make_reduced_copies();
}

const std::string& Workplace::record() {
    if (record_revision_ != revision_) {
        auto text = desk::record_text(desk, session);
        record_ = text ? *text : text.failure().sentence;
        record_revision_ = revision_;
    }
    return record_;
}

void Workplace::tell_player() {
    std::vector<Player::Source> sources;
    for (const auto& r : view.recordings) {
        const auto it = view.indexes.find(r.id);
        const auto covers_of = view.covers.find(r.id);
        sources.push_back({r, it == view.indexes.end() ? nullptr : it->second, covers_of == view.covers.end() ? std::vector<RecordingSpan>{} : covers_of->second.hushed});
    }
    player.use(std::move(sources));
}

void Workplace::read_missing_indexes() {
    for (const auto& r : view.recordings) {
        if (view.indexes.count(r.id) || view.missing.count(r.id)) continue;
        const std::string title = "Reading " + r.id;
        if (jobs.running(title)) continue;
        const std::string of = session;
        beside(title, [this, r, of](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
            auto index = own.index(r, progress);
            if (!index) return index.failure();
            return Jobs::Then([this, index = *index, id = r.id, of] {
                if (session != of) return;
                view.indexes[id] = index;
                tell_player();
                make_reduced_copies();
            });
        }, true);
    }
}

void Workplace::make_reduced_copies() {
    for (const auto& r : view.recordings) {
        const auto index = view.indexes.find(r.id);
        const std::string title = "Copy of " + r.id;
        if (index == view.indexes.end() || view.reduced.count(r.id) || jobs.running(title) || !ReducedCopy::worth_it(*index->second)) continue;
        jobs.start(title, [this, r, index = index->second, folder = desk.library.folder() / "cache", of = session](const Progress& progress) -> Result<Jobs::Then> {
            auto copy = ReducedCopy::make(r.path, index, folder, progress);
            if (!copy) return Jobs::Then{};  // scrubbing works without it
            return Jobs::Then([this, copy = *copy, id = r.id, of] {
                if (session == of) view.reduced[id] = copy;
            });
        }, true, true);
    }
}

bool Workplace::failed(const Failure& failure) {
    complaint = failure.sentence;
    news.clear();
    return false;
}

void Workplace::succeeded(const std::string& what) {
    complaint.clear();
    news = what;
    stale_ = true;
}

const std::vector<std::string>& Workplace::known() {
    // Asked for by every field of every frame: it can only have changed with the view, or by unlocking.
    if (known_read_ == revision_ && known_unlocked_ != passphrase.empty()) return known_;
    known_read_ = revision_, known_unlocked_ = !passphrase.empty();
    const auto count = passphrase.empty() || session.empty() ? Result<int>(0) : desk::count_known(desk, session);
    const std::string of = passphrase.empty() ? "" : session + "/" + std::to_string(count ? *count : 0);
    if (of == known_of_) return known_;
    known_of_ = of;
    known_.clear(), warnings_.clear();
    if (!of.empty())
        if (auto opened = desk::open_known(desk, session, passphrase)) known_ = std::move(*opened);
    return known_;
}

const std::string& Workplace::warning_of(const std::string& text) {
    const auto& names = known();
    constexpr std::size_t kRemembered = 500;
    if (warnings_.size() > kRemembered) warnings_.clear();
    const auto [place, fresh] = warnings_.try_emplace(text);
    if (fresh && !text.empty()) {
        std::string what;
        for (const auto& hit : desk::telling(text, names)) what += (what.empty() ? "" : ", ") + hit;
        if (!what.empty()) place->second = "This could tell who the patient is (" + what + "): word it in another way.";
    }
    return place->second;
}

// What a command in a terminal has done meanwhile belongs on the screen too.
bool Workplace::others_wrote() {
    constexpr std::chrono::milliseconds kLooksAgain{500};
    const auto now = std::chrono::steady_clock::now();
    if (jobs.any() || now - looked_ < kLooksAgain) return false;
    looked_ = now;
    const auto head = desk.library.chain_head();
    return head && *head != head_;
}

void Workplace::refresh() {
    if (stale_ || others_wrote()) read();
}

void Workplace::beside(const std::string& title, DeskWork work, bool quiet) {
    const auto folder = desk.library.folder();
    const auto person = desk.person;
    const HostOptions host = desk.host;
    jobs.start(title, [folder, person, host, work = std::move(work)](const Progress& progress) -> Result<Jobs::Then> {
        // A library belongs to one thread; this one opens its own.
        auto own = desk::Desk::open(folder, person);
        if (!own) return own.failure();
        own->host = host;
        return work(*own, progress);
    }, quiet);
}

std::string Workplace::clock_of(const std::string& recording, RecordingTime t) const {
    const Recording* r = view.recording(recording);
    const Nanos moment = r ? r->session_time(t).ns : t.ns;
    return format_time(moment / (kSecond / 10) * (kSecond / 10));
}

std::optional<Ear> Workplace::ear_now() const {
    const Recording* r = recording_at(view.recordings, player.at());
    return r ? r->ear_at(r->recording_time(player.at())) : std::nullopt;
}

Workplace::Duty Workplace::duty() const {
    if (session.empty()) return {"Open or import a session", DeskName::library};
    if (view.recordings.empty()) return {"Bring in a recording", DeskName::library};
    if (!view.missing.empty()) return {"Find the recording again", DeskName::session};
    for (const auto& r : view.recordings)
        if (r.hash.empty()) return {"Finish reading the recording", DeskName::session};
    const bool tagged = std::any_of(view.events.begin(), view.events.end(), [](const Event& e) { return e.origin == Origin::person; });
    if (!tagged) return {"Tag what happened", DeskName::session};
    // What is done where one is comes first; the other duty waits at its own desk.
    if (at == DeskName::session && view.session.confirmed_by.empty()) return {"Confirm the record", DeskName::session};
    const auto open = std::count_if(view.suspects.begin(), view.suspects.end(), [](const desk::SuspectLine& l) { return !l.unscanned_by.empty(); });
    if (open > 0) return {"Scan for what may identify", DeskName::privacy};
    const auto undecided = std::count_if(view.suspects.begin(), view.suspects.end(), desk::asks_for_a_decision);
    if (undecided > 0) return {"Decide " + std::to_string(undecided) + (undecided == 1 ? " suspect" : " suspects"), DeskName::privacy};
    if (view.session.confirmed_by.empty()) return {"Confirm the record", DeskName::session};
    return {"Tell it: make a clip", DeskName::clip};
}

}  // namespace canalogue::editor
