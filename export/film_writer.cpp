#include "export/film_writer.hpp"

#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>

#include "export/encoder.hpp"
#include "export/passage_pictures.hpp"

namespace canalogue::film {

namespace {

constexpr std::size_t kQueue = 6;  // frames in flight between the threads

// Frames from the composing thread to the encoding one. Closing from either side wakes the other.
class FrameQueue {
  public:
    // False when the other side has given up.
    bool push(media::FramePtr frame) {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [&] { return closed_ || frames_.size() < kQueue; });
        if (closed_) return false;
        frames_.push_back(std::move(frame));
        changed_.notify_all();
        return true;
    }
    // Null when no more come.
    media::FramePtr pop() {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [&] { return closed_ || ended_ || !frames_.empty(); });
        if (closed_ || frames_.empty()) return nullptr;
        media::FramePtr frame = std::move(frames_.front());
        frames_.pop_front();
        changed_.notify_all();
        return frame;
    }
    void end() { flag(ended_); }
    void close() { flag(closed_); }

  private:
    void flag(bool& which) {
        const std::lock_guard lock(mutex_);
        which = true;
        changed_.notify_all();
    }
    std::mutex mutex_;
    std::condition_variable changed_;
    std::deque<media::FramePtr> frames_;
    bool ended_ = false, closed_ = false;
};

// Decodes, covers and composes every frame in order.
class Maker {
  public:
    Maker(const FilmInput& in, FrameQueue& queue) : in_(in), queue_(queue), pictures_(in.sources, in.composer.picture_room()) {}

    Result<void> run() {
        for (long n = 0; n < in_.schedule.frames; ++n) {
            auto frame = make(n);
            if (!frame) return frame.failure();
            if (!queue_.push(std::move(*frame))) return {};
        }
        return {};
    }

  private:
    Result<media::FramePtr> make(long n) {
        const Piece& piece = in_.schedule.piece_at(n);
        const auto* passage = std::get_if<Passage>(&in_.plan.items[piece.item]);
        std::optional<ShownPictures> shown;
        if (passage) {
            auto got = pictures_.at(*passage, piece, n);
            if (!got) return got.failure();
            shown = std::move(*got);
        }
        media::FramePtr frame = in_.composer.compose(n, shown ? &*shown : nullptr);
        if (!frame) return machine_trouble("There is not enough memory to make the film; close other programs.");
        return frame;
    }

    const FilmInput& in_;
    FrameQueue& queue_;
    PassagePictures pictures_;
};

Result<void> encode(const std::filesystem::path& file, const FilmInput& in, FrameQueue& queue, const Progress& progress) {
    const bool with_sound = !in.sound.silent();
    auto encoder = Encoder::open(file, in.plan.film, in.plan.language, in.schedule.chapters, in.schedule.length(), with_sound);
    if (!encoder) return encoder.failure();
    long done = 0;
    std::int64_t sounded = 0;
    while (auto frame = queue.pop()) {
        if (progress.stopped()) return cancelled();
        if (auto ok = encoder->picture(std::move(frame)); !ok) return ok;
        ++done;
        if (with_sound) {
            const std::int64_t until = std::min(in.sound.frames(), av_rescale(in.schedule.time_of(done).ns, media::kSoundRate, kSecond));
            if (until > sounded) {
                auto samples = in.sound.next(until - sounded);
                if (!samples) return samples.failure();
                if (auto ok = encoder->sound(*samples); !ok) return ok;
                sounded = until;
            }
        }
        progress.report("Making the film", static_cast<double>(done) / static_cast<double>(in.schedule.frames));
    }
    if (done < in.schedule.frames) return Failure{};  // the maker says why
    return encoder->finish();
}

}  // namespace

Result<void> write_film(const std::filesystem::path& file, const FilmInput& input, const Progress& progress) {
    FrameQueue queue;
    Result<void> made;
    std::thread maker([&] {
        made = Maker(input, queue).run();
        queue.end();
    });
    Result<void> encoded = encode(file, input, queue, progress);
    queue.close();
    maker.join();
    if (!made) return made;
    return encoded;
}

}  // namespace canalogue::film
