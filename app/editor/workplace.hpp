// What the window's parts share: the open desk, what the session holds, where the film stands, what is
// chosen, and what went wrong last. Everything that changes the library is a call into app/desk, after
// which the session is read again. Window's thread.
#pragma once

#include <chrono>
#include <deque>
#include <map>
#include <optional>
#include <string>

#include "app/desk/deciding.hpp"
#include "app/desk/desk.hpp"
#include "app/editor/jobs.hpp"
#include "app/editor/player.hpp"
#include "app/editor/reduced_copy.hpp"
#include "app/editor/settings.hpp"

namespace canalogue::editor {

enum class DeskName { session, privacy, clip, library };
enum class CoverLook { outlines, as_rendered, off };

// A session as it stood when it was last read.
struct SessionView {
    Session session;
    Vocabulary vocabulary;
    std::vector<Recording> recordings;
    std::map<std::string, std::shared_ptr<const media::FrameIndex>> indexes;  // those that are read
    std::map<std::string, std::shared_ptr<ReducedCopy>> reduced;              // for scrubbing, once made
    std::map<std::string, std::string> missing;  // recording -> why its file cannot be read
    std::vector<Event> events;                   // suggestions included
    std::vector<desk::SuspectLine> suspects;
    std::map<std::string, Covers> covers;        // for learners
    std::vector<Take> takes;                     // recorded narration

    // The events again, with what drawing them asks for every time; in session order.
    struct Placed {
        const Event* event;
        const EventKind* kind;
        SessionTime at;
        std::optional<SessionTime> end;
    };
    std::vector<Placed> placed;

    const Recording* recording(const std::string& id) const;
    const Event* event(const std::string& id) const;
    const desk::SuspectLine* suspect(const std::string& id) const;
    SessionTime time_of(const Event& e) const;
    std::optional<SessionTime> end_of(const Event& e) const;
};

class Workplace {
  public:
    explicit Workplace(desk::Desk& own) : desk(own) {}

    desk::Desk& desk;
    Settings settings;
    Player player;
    Jobs jobs;
    SessionView view;
    std::string session;  // empty: none is open
    DeskName at = DeskName::session;
    CoverLook covers = CoverLook::outlines;
    std::string event, suspect;  // what is chosen
    std::string passphrase;      // given in this run; empty: locked
    std::string complaint;       // one sentence; until the next act
    std::string news;            // what was just done
    double news_at = 0;          // when; it goes by itself after a while

    // Opens a session; false and a complaint when it cannot.
    bool open(const std::string& id);
    void close();
    // Reads what the session holds now. Indexes that are missing are read beside the window.
    void read();
    bool others_wrote();
    // Reads again if something was done since. Called between two frames: while one is drawn, the view
    // stays as it is, so that nothing that is being drawn goes away under the hand.
    void refresh();
    int revision() const { return revision_; }  // of the view
    // The record as text; made when it is asked for, once for each revision.
    const std::string& record();

    // After an act: keeps the complaint, or the news; the session is read again before the next frame.
    template <class T>
    bool did(const Result<T>& result, const std::string& what = "") {
        if (!result) return failed(result.failure());
        succeeded(what);
        return true;
    }
    bool failed(const Failure& failure);
    void succeeded(const std::string& what);

    // Work beside the window on a desk of its own; `then` runs on the window's thread.
    using DeskWork = std::function<Result<Jobs::Then>(desk::Desk&, const Progress&)>;
    void beside(const std::string& title, DeskWork work, bool quiet = false);

    // A moment of a recording as the time map tells it, in tenths of a second.
    std::string clock_of(const std::string& recording, RecordingTime t) const;

    // The side that is shown now, if anything says so.
    std::optional<Ear> ear_now() const;

    // The session's known identifiers, while the library is unlocked; opened once and kept until more are sealed.
    const std::vector<std::string>& known();
    // In a sentence, what in typed words could tell who the patient is; empty when nothing is seen.
    const std::string& warning_of(const std::string& text);

    // What the session asks for next, and of whom: in words, and which desk does it.
    struct Duty {
        std::string words;
        DeskName desk;
    };
    Duty duty() const;

  private:
    bool stale_ = false;
    std::string head_;  // of the journal, when it was read last
    std::chrono::steady_clock::time_point looked_{};
    int revision_ = 0, record_revision_ = -1;
    std::string record_;
    int known_read_ = -1;  // the revision
    bool known_unlocked_ = false;
    std::string known_of_;
    std::vector<std::string> known_;
    std::map<std::string, std::string> warnings_;  // by the text; forgotten when the known list changes
    void read_missing_indexes();
    void make_reduced_copies();
    void tell_player();
};

}  // namespace canalogue::editor
