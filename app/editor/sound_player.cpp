#include "app/editor/sound_player.hpp"

#include <portaudio.h>
#include <rubberband/RubberBandStretcher.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "app/editor/hush.hpp"
#include "app/media/sound_reader.hpp"

namespace canalogue::editor {

namespace {

using media::kSoundChannels;
using media::kSoundRate;
using RubberBand::RubberBandStretcher;

constexpr std::size_t kRoom = kSoundRate / 2;   // frames that wait to be heard: half a second
constexpr Nanos kStretch = kSecond / 4;         // read from the file at once
constexpr unsigned long kBlock = 512;           // frames PortAudio asks for

}  // namespace

// The reader thread fills a ring; PortAudio's callback empties it and never waits.
struct SoundPlayer::Stream {
    PaStream* pa = nullptr;

    // The ring: one writer (the thread), one reader (the callback).
    std::vector<float> ring = std::vector<float>(kRoom * kSoundChannels);
    std::atomic<std::size_t> written{0}, heard{0};  // frames, ever growing
    std::atomic<float> level{0};
    std::atomic<bool> playing{false};
    std::atomic<double> heard_at{0};       // PortAudio time at which frame `heard_mark` reaches the ear
    std::atomic<std::size_t> heard_mark{0};

    // The job in hand.
    std::mutex mutex;
    std::condition_variable changed;
    Recording recording;
    std::vector<RecordingSpan> hushed;
    RecordingTime from;
    double pace = 1;
    Made made;                 // when it is made sound that plays
    std::int64_t made_from = 0;
    std::uint64_t serial = 0;
    bool stop = false;
    std::thread thread;

    ~Stream() {
        if (pa) Pa_StopStream(pa), Pa_CloseStream(pa);
        {
            const std::lock_guard lock(mutex);
            stop = true;
        }
        changed.notify_all();
        if (thread.joinable()) thread.join();
    }

    static int callback(const void*, void* out, unsigned long frames, const PaStreamCallbackTimeInfo* time, PaStreamCallbackFlags, void* self) {
        static_cast<Stream*>(self)->give(static_cast<float*>(out), frames, time->outputBufferDacTime);
        return paContinue;
    }

    void give(float* out, std::size_t frames, double at) {
        const std::size_t from_frame = heard.load(std::memory_order_relaxed), there = written.load(std::memory_order_acquire) - from_frame;
        const std::size_t n = playing ? std::min(frames, there) : 0;
        float peak = 0;
        for (std::size_t i = 0; i < frames * kSoundChannels; ++i) {
            out[i] = i < n * kSoundChannels ? ring[(from_frame * kSoundChannels + i) % ring.size()] : 0.0f;
            peak = std::max(peak, std::abs(out[i]));
        }
        level.store(std::max(peak, level.load() * 0.85f));
        if (n > 0) {
            heard_mark.store(from_frame);
            heard_at.store(at);
        }
        heard.store(from_frame + n, std::memory_order_release);
    }

    bool current(std::uint64_t s) {
        const std::lock_guard lock(mutex);
        return !stop && serial == s;
    }

    // Blocks until there is room, or the job has changed.
    bool push(const std::array<std::vector<float>, kSoundChannels>& sound, std::size_t frames, std::uint64_t s) {
        std::size_t done = 0;
        while (done < frames) {
            const std::size_t at = written.load(std::memory_order_relaxed), room = kRoom - (at - heard.load(std::memory_order_acquire));
            const std::size_t n = std::min(room, frames - done);
            for (std::size_t i = 0; i < n; ++i)
                for (std::size_t c = 0; c < kSoundChannels; ++c) ring[((at + i) * kSoundChannels + c) % ring.size()] = sound[c][done + i];
            written.store(at + n, std::memory_order_release);
            done += n;
            if (done < frames) {
                if (!current(s)) return false;
                std::this_thread::sleep_for(std::chrono::milliseconds(10));
            }
        }
        return true;
    }

    void run() {
        std::uint64_t done = 0;
        for (;;) {
            Recording r;
            std::vector<RecordingSpan> quiet;
            RecordingTime t;
            double speed = 1;
            Made from_made;
            std::int64_t frame = 0;
            {
                std::unique_lock lock(mutex);
                changed.wait(lock, [&] { return stop || (serial != done && playing); });
                if (stop) return;
                done = serial;
                r = recording, quiet = hushed, t = from, speed = pace, from_made = made, frame = made_from;
            }
            if (from_made) feed_made(from_made, frame, done);
            else feed(r, quiet, t, speed, done);
        }
    }

    void feed_made(const Made& samples, std::int64_t frame, std::uint64_t s) {
        std::array<std::vector<float>, kSoundChannels> split;
        while (current(s)) {
            const std::vector<float> block = samples(frame, kSoundRate / 4);
            const std::size_t frames = block.size() / kSoundChannels;
            if (frames == 0) return;
            for (std::size_t c = 0; c < kSoundChannels; ++c) {
                split[c].resize(frames);
                for (std::size_t i = 0; i < frames; ++i) split[c][i] = block[i * kSoundChannels + c];
            }
            if (!push(split, frames, s)) return;
            frame += static_cast<std::int64_t>(frames);
        }
    }

    void feed(const Recording& r, const std::vector<RecordingSpan>& quiet, RecordingTime t, double speed, std::uint64_t s) {
        RubberBandStretcher stretcher(kSoundRate, kSoundChannels, RubberBandStretcher::OptionProcessRealTime | RubberBandStretcher::OptionChannelsTogether, 1 / speed);
        std::array<std::vector<float>, kSoundChannels> in, out;
        // What the stretcher puts before the sound is thrown away, so that sound and picture begin together.
        std::size_t drop = speed == 1.0 ? 0 : stretcher.getLatency();
        while (t < r.only.end && current(s)) {
            const RecordingTime until = std::min(t + kStretch, r.only.end);
            auto sound = media::read_sound(r.path, r.zero, {t, until}, quiet, {});
            if (!sound) return;
            const std::size_t frames = sound->size() / kSoundChannels;
            for (std::size_t c = 0; c < kSoundChannels; ++c) {
                in[c].resize(frames);
                for (std::size_t i = 0; i < frames; ++i) in[c][i] = (*sound)[i * kSoundChannels + c];
            }
            t = until;
            if (speed == 1.0) {
                if (!push(in, frames, s)) return;
                continue;
            }
            const float* inputs[] = {in[0].data(), in[1].data()};
            stretcher.process(inputs, frames, t >= r.only.end);
            for (int there = stretcher.available(); there > 0; there = stretcher.available()) {
                for (auto& o : out) o.resize(static_cast<std::size_t>(there));
                float* outputs[] = {out[0].data(), out[1].data()};
                std::size_t got = stretcher.retrieve(outputs, static_cast<std::size_t>(there));
                const std::size_t skip = std::min(drop, got);
                drop -= skip;
                for (auto& o : out) o.erase(o.begin(), o.begin() + static_cast<std::ptrdiff_t>(skip));
                got -= skip;
                if (got > 0 && !push(out, got, s)) return;
            }
        }
    }
};

SoundPlayer::SoundPlayer() {
    const Hush hush;
    if (Pa_Initialize() != paNoError) return;
    auto stream = std::make_unique<Stream>();
    if (Pa_GetDefaultOutputDevice() == paNoDevice ||
        Pa_OpenDefaultStream(&stream->pa, 0, kSoundChannels, paFloat32, kSoundRate, kBlock, Stream::callback, stream.get()) != paNoError || Pa_StartStream(stream->pa) != paNoError)
        return;
    stream_ = std::move(stream);
    stream_->thread = std::thread([s = stream_.get()] { s->run(); });
    device_ = true;
}

SoundPlayer::~SoundPlayer() {
    stream_.reset();
    Pa_Terminate();
}

void SoundPlayer::play(const Recording& recording, RecordingTime from, double pace, std::vector<RecordingSpan> hushed) {
    if (!stream_) return;
    stop();
    {
        const std::lock_guard lock(stream_->mutex);
        stream_->recording = recording;
        stream_->hushed = std::move(hushed);
        stream_->made = nullptr;
        stream_->from = from;
        stream_->pace = pace;
        ++stream_->serial;
        stream_->playing = recording.has_sound;
    }
    stream_->changed.notify_all();
}

void SoundPlayer::play_made(Made samples, std::int64_t from) {
    if (!stream_) return;
    stop();
    {
        const std::lock_guard lock(stream_->mutex);
        stream_->made = std::move(samples);
        stream_->made_from = from;
        stream_->pace = 1;
        ++stream_->serial;
        stream_->playing = true;
    }
    stream_->changed.notify_all();
}

void SoundPlayer::stop() {
    if (!stream_) return;
    const std::lock_guard lock(stream_->mutex);
    ++stream_->serial;
    stream_->playing = false;
    // What still waits belongs to the past. The callback no longer reads, so the ring may be emptied.
    stream_->heard.store(stream_->written.load());
    stream_->heard_mark.store(stream_->written.load());
    stream_->heard_at.store(0);
}

std::optional<RecordingTime> SoundPlayer::now() const {
    if (!stream_ || !stream_->playing || stream_->heard_at.load() == 0) return std::nullopt;
    const std::lock_guard lock(stream_->mutex);
    const double since = Pa_GetStreamTime(stream_->pa) - stream_->heard_at.load();
    return RecordingTime{stream_->from.ns + static_cast<Nanos>(since * stream_->pace * kSecond)};
}

float SoundPlayer::level() const { return stream_ ? stream_->level.load() : 0; }

}  // namespace canalogue::editor
