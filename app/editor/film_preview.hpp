// The film as it will be, played at once: frames are composed by the code that makes films, on a thread of
// their own, at the film's rate; what is late is left out. Narration is heard. Window's thread.
#pragma once

#include <atomic>
#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

#include "app/core/audience.hpp"
#include "app/core/plan.hpp"
#include "app/core/vocabulary.hpp"
#include <imgui.h>

#include "app/editor/picture_texture.hpp"
#include "app/editor/sound_player.hpp"
#include "export/composer.hpp"
#include "export/narration.hpp"
#include "export/picture_source.hpp"
#include "export/voice.hpp"

namespace canalogue::editor {

class FilmPreview {
  public:
    struct Wish {
        Plan plan;
        std::vector<film::SourceRecording> sources;  // with covers
        std::vector<Event> events;
        Vocabulary vocabulary;
        Nanos from = 0;  // of film time
        bool still = false;    // it shows that frame and waits
        bool goes_on = false;  // the picture before stays until there is one
        std::map<std::string, film::Spoken> takes;  // those that the plan names, ready to be heard
        std::filesystem::path folder;  // where narration waits, in a nameless file
        Size room{};                   // set by `start`
    };
    ~FilmPreview();

    // Narration is heard through `sound`, which outlives the preview and plays nothing else meanwhile.
    void start(Wish wish, SoundPlayer& sound);
    void stop();
    // The area in which it will be drawn, in pixels: it is composed no larger than that.
    void set_room(Size room) { room_ = room; }
    bool on() const { return thread_.joinable(); }
    // It plays from where it stands (at the end: from the beginning), or stands still.
    void play(bool on);
    bool playing() const { return on() && !still_; }
    // To the frame at that second of the film, and so many frames on; playing or not as before.
    void go(double seconds);
    void step(long frames) { play(false), go(position_ + static_cast<double>(frames) / rate_); }
    // What the film is like, once its narration is spoken; a length of 0 before.
    struct Outline {
        double length = 0;          // seconds
        std::vector<double> items;  // when each item begins
    };
    Outline outline() const;
    double at() const { return position_; }

    // Whether another frame is still to come.
    bool moving() const;
    // In how many seconds from now it is due; the window is woken when one comes late.
    double until_next() const;

    // Draws the newest frame that is due into the area.
    void draw(ImVec2 from, ImVec2 size);
    std::string trouble() const;
    // The film's frame on the screen and the second where the film stands; -1 while there is none.
    struct Standing {
        long frame = -1;
        double at = -1;
        int rate = 25;
    };
    Standing standing() const { return on() ? Standing{shown_, position_, rate_} : Standing{}; }

  private:
    // Everything a film is made from, once its narration is spoken.
    struct Spoken {
        std::shared_ptr<film::Narration> voice;
        film::NarrationLengths lengths;
    };
    void run(Wish wish);
    std::optional<Spoken> speak(const Wish& wish);
    void compose(const Wish& wish, const film::Schedule& schedule, film::Composer& composer);
    // How often the window had asked for another place when a frame was begun, and which frame is next.
    struct Turn {
        int asked = -1;
        long next = 0;
    };
    std::optional<long> next_frame(Turn& turn, long frames);
    bool hand_over(long number, int asked, media::FramePtr frame);
    void hear();
    long due() const;
    void fails(const Failure& failure);
    void move_on();
    struct Ready {
        long number;
        media::FramePtr frame;
    };
    std::thread thread_;
    mutable std::mutex mutex_;  // guards ready_, trouble_, outline_, asked_
    std::condition_variable changed_;
    std::deque<Ready> ready_;
    std::string trouble_;
    Outline outline_;
    int asked_ = 0;
    bool still_ = false;  // it stands still; the window's thread alone
    SoundPlayer::Made voice_;  // guarded by mutex_, too; set once the narration is spoken
    SoundPlayer* sound_ = nullptr;
    std::atomic<bool> stop_{false}, ended_{false};
    std::atomic<int> rate_{25};
    std::atomic<bool> begun_{false};  // the first frame was shown
    std::atomic<double> position_{0}; // seconds of film
    double last_ = 0, unheard_for_ = 0;  // glfw time of the last move; seconds
    PictureTexture texture_;
    bool any_ = false;
    long shown_ = -1;
    Size room_;
};

}  // namespace canalogue::editor
