#include "export/film_writer.hpp"

#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>

#include "export/film_file.hpp"
#include "export/message_rate.hpp"
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

// Decodes, covers and composes the frames of these stretches in order. Each begins with a source opened anew: what its
// pictures are cannot depend on what was decoded before.
class Maker {
  public:
    Maker(const FilmInput& in, FrameQueue& queue) : in_(in), queue_(queue), pictures_(in.sources, in.composer.picture_room(), in.plan.film.size) {}

    Result<void> run(const std::vector<Stretch>& stretches) {
        for (const auto& s : stretches) {
            pictures_.forget();
            for (long n = s.first; n < s.first + s.count; ++n) {
                auto frame = make(n);
                if (!frame) return frame.failure();
                if (!queue_.push(std::move(*frame))) return {};
            }
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

// Brings encoded pictures and the sound that belongs to them into the film's file.
class Joiner {
  public:
    Joiner(const FilmInput& in, FilmFile* file, const Progress& progress) : in_(in), file_(file), progress_(progress), with_sound_(!in.sound.silent()) {}

    // A packet of a stretch that begins with this frame; consumed.
    Result<void> take(AVPacket& packet, long first) {
        if (progress_.stopped()) return cancelled();
        packet.pts += first;
        if (file_)
            if (auto ok = file_->picture(packet); !ok) return ok;
        ++done_;
        progress_.report("Making the film", static_cast<double>(done_) / static_cast<double>(in_.schedule.frames));
        return file_ && with_sound_ ? sound_until(done_) : Result<void>{};
    }

  private:
    Result<void> sound_until(long frame) {
        const std::int64_t until = std::min(in_.sound.frames(), av_rescale(in_.schedule.time_of(frame).ns, media::kSoundRate, kSecond));
        if (until <= sounded_) return {};
        auto samples = in_.sound.next(until - sounded_);
        if (!samples) return samples.failure();
        sounded_ = until;
        return file_->sound(*samples);
    }

    const FilmInput& in_;
    FilmFile* file_;  // null: a pass that only measures
    const Progress& progress_;
    bool with_sound_;
    long done_ = 0;
    std::int64_t sounded_ = 0;
};

// Encodes one stretch from the queue, keeping it in the cache when it has a key.
Result<void> encode(const Stretch& stretch, const FilmInput& in, const Coding& coding, FrameQueue& queue, Joiner& joiner) {
    auto encoder = PictureEncoder::open(in.plan.film, coding);
    if (!encoder) return encoder.failure();
    const auto kept = in.cache && !stretch.key.empty() ? in.cache->begin(stretch.key) : nullptr;
    const auto take = [&](AVPacket& packet) {
        if (kept) kept->add(packet);
        return joiner.take(packet, stretch.first);
    };
    for (long n = 0; n < stretch.count; ++n) {
        auto frame = queue.pop();
        if (!frame) return Failure{};  // the maker says why
        if (auto ok = encoder->picture(std::move(frame), take); !ok) return ok;
    }
    if (auto ok = encoder->finish(take); !ok) return ok;
    if (kept) kept->keep();
    return {};
}

// Encodes what is not in the cache and joins it with what is. `file` null: only for what the encoder learns.
Result<void> join(FilmFile* file, const std::vector<Stretch>& stretches, const FilmInput& in, const Coding& coding, const Progress& progress) {
    std::vector<bool> there;
    std::vector<Stretch> missing;
    for (const auto& s : stretches) {
        there.push_back(in.cache && !s.key.empty() && in.cache->holds(s.key));
        if (!there.back()) missing.push_back(s);
    }
    FrameQueue queue;
    Result<void> made;
    std::thread maker([&] {
        pthread_setname_np(pthread_self(), kPicturesThread);
        made = Maker(in, queue).run(missing);
        queue.end();
    });
    Joiner joiner(in, file, progress);
    Result<void> joined;
    for (std::size_t i = 0; i < stretches.size() && joined; ++i) {
        const Stretch& s = stretches[i];
        joined = there[i] ? in.cache->replay(s.key, [&](AVPacket& packet) { return joiner.take(packet, s.first); }) : encode(s, in, coding, queue, joiner);
    }
    queue.close();
    maker.join();
    if (!made) return made;
    return joined;
}

Result<void> write_once(const std::filesystem::path& path, const std::vector<Stretch>& stretches, const FilmInput& in, const Coding& coding, const Progress& progress) {
    in.sound.rewind();
    // Every encoder of these settings writes the same head; this one writes nothing else. A second pass has a head of its own (a
    // first one would write over its notes, and has the head of none).
    auto pictures = PictureEncoder::open(in.plan.film, coding.pass == 2 ? coding : Coding{coding.preset, 0, nullptr, 0});
    if (!pictures) return pictures.failure();
    auto file = FilmFile::open(path, {in.plan.film, in.plan.language, in.schedule.chapters, in.schedule.length(), !in.sound.silent()}, *pictures);
    if (!file) return file.failure();
    if (auto ok = join(&*file, stretches, in, coding, progress); !ok) return ok;
    return file->finish();
}

Result<void> write_message(const std::filesystem::path& path, const FilmInput& in, const Progress& progress) {
    const FilmSettings& film = in.plan.film;
    MessageRate rate(film, in.schedule.length(), !in.sound.silent());
    if (auto ok = rate.possible(); !ok) return ok;
    const std::vector<Stretch> whole{{0, in.schedule.frames, ""}};
    PassNotes notes{path.parent_path() / ".passes", ""};
    const auto remove_notes = [&] {
        std::error_code ec;
        for (const char* ending : {"", ".temp", ".mbtree", ".mbtree.temp"}) std::filesystem::remove(notes.file.string() + ending, ec);
    };
    const Coding first{in.preset, 1, &notes, 0};
    // What libx264 makes while it measures is a film of full quality: if it fits, it is the message.
    auto done = film.format == FilmFormat::mp4 ? write_once(path, whole, in, first, progress) : join(nullptr, whole, in, first, progress);
    std::error_code ec;
    bool fits = done.ok() && film.format == FilmFormat::mp4 && std::filesystem::file_size(path, ec) <= rate.limit();
    while (done && !fits) {
        done = write_once(path, whole, in, {in.preset, 2, &notes, rate.bits_per_second()}, progress);
        if (done) {
            auto judged = rate.judge(std::filesystem::file_size(path, ec));
            if (!judged) done = judged.failure();
            else fits = *judged;
        }
    }
    remove_notes();
    return done;
}

}  // namespace

std::vector<Stretch> stretches_of(const Schedule& schedule, const std::vector<std::string>& keys) {
    std::vector<Stretch> out;
    std::size_t item = 0;
    for (const auto& piece : schedule.pieces) {
        if (out.empty() || piece.item != item) out.push_back({piece.first, 0, piece.item < keys.size() ? keys[piece.item] : ""});
        item = piece.item;
        out.back().count += piece.count;
    }
    return out;
}

Result<void> write_film(const std::filesystem::path& file, const FilmInput& in, const Progress& progress) {
    if (in.plan.film.target == FilmTarget::message) return write_message(file, in, progress);
    return write_once(file, stretches_of(in.schedule, in.keys), in, {in.preset, 0, nullptr, 0}, progress);
}

}  // namespace canalogue::film
