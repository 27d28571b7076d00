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
        std::map<std::string, film::Spoken> takes;  // those that the plan names, ready to be heard
        std::filesystem::path folder;  // where narration waits, in a nameless file
    };
    ~FilmPreview();

    void start(Wish wish);
    void stop();
    bool on() const { return thread_.joinable(); }
    // Whether another frame is still to come.
    bool moving() const;

    // Draws the newest frame that is due into the area.
    void draw(ImVec2 from, ImVec2 size);
    double position() const;  // seconds of film
    std::string trouble() const;

  private:
    // Everything a film is made from, once its narration is spoken.
    struct Spoken {
        std::shared_ptr<film::Narration> voice;
        film::NarrationLengths lengths;
    };
    void run(Wish wish);
    std::optional<Spoken> speak(const Wish& wish);
    void compose(const Wish& wish, const film::Schedule& schedule, film::Composer& composer);
    bool hand_over(long number, media::FramePtr frame);
    void fails(const Failure& failure);
    struct Ready {
        long number;
        media::FramePtr frame;
    };
    std::thread thread_;
    mutable std::mutex mutex_;  // guards ready_, trouble_
    std::condition_variable changed_;
    std::deque<Ready> ready_;
    std::string trouble_;
    SoundPlayer::Made voice_;  // guarded by mutex_, too; set once the narration is spoken
    SoundPlayer sound_;
    std::atomic<bool> stop_{false}, ended_{false};
    std::atomic<int> rate_{25};
    std::atomic<double> began_{-1};   // glfw time at which film time from_ was shown
    std::atomic<double> from_{0};
    PictureTexture texture_;
    bool any_ = false;
};

}  // namespace canalogue::editor
