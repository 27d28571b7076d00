// Frames for the picture, decoded on a thread of their own. The newest wish wins: work for a wish that
// the hand has left behind is given up between two frames. Only exact frames are handed out.
// All functions are for the window's thread.
#pragma once

#include <condition_variable>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "app/media/frame_reader.hpp"

namespace canalogue::editor {

struct FrameSource {
    std::string recording;
    std::filesystem::path path;
    std::shared_ptr<const media::FrameIndex> index;
};

class FrameServer {
  public:
    FrameServer();
    ~FrameServer();

    // From now on these recordings; frames kept of recordings that stay are kept.
    void use(std::vector<FrameSource> sources);

    // The frame wanted now, by its number in the recording's index. `ahead`: +1 while playing, -1 while
    // going back: what will be wanted next is decoded as well.
    void want(const std::string& recording, std::size_t frame, int ahead);

    // The frame, if it is here.
    std::optional<media::Picture> take(const std::string& recording, std::size_t frame);

    // Why the last wish could not be met; empty when it could.
    std::string trouble() const;

    // True while a wish waits.
    bool busy() const;

  private:
    using Key = std::pair<std::string, std::size_t>;
    struct Wish {
        Key key;
        int ahead = 0;
        std::uint64_t serial = 0;
    };
    void run();
    std::optional<Key> next_job(const Wish& wish);
    void decode_to(const Key& target, std::uint64_t serial);
    bool bring_reader(const Key& target);
    void keep(Key key, media::Picture picture);
    void fail(const std::string& sentence, const Key& key);
    bool superseded(std::uint64_t serial, const Key& target) const;
    const FrameSource* source(const std::string& recording) const;

    mutable std::mutex mutex_;  // guards everything but the reader, which is the thread's own
    std::condition_variable changed_;
    std::vector<FrameSource> sources_;
    std::uint64_t generation_ = 0;
    Wish wish_;
    std::map<Key, media::Picture> kept_;
    std::size_t bytes_ = 0;
    std::string trouble_;
    std::optional<Key> failed_;
    bool stop_ = false;

    // The thread's own.
    std::optional<media::FrameReader> reader_;
    std::string reading_;
    std::uint64_t reading_generation_ = 0;
    std::size_t position_ = 0;

    std::thread thread_;  // last: it starts when all else is there
};

}  // namespace canalogue::editor
