#include "app/editor/sound_player.hpp"

#include <portaudio.h>
#include <rubberband/RubberBandStretcher.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <mutex>
#include <thread>

#include "app/editor/hush.hpp"
#include "app/media/sound_reader.hpp"

namespace canalogue::editor {

namespace {

using media::kSoundChannels;
using media::kSoundRate;
using RubberBand::RubberBandStretcher;

constexpr std::size_t kRoom = kSoundRate / 2;  // frames that wait to be heard: half a second
constexpr Nanos kStretch = kSecond / 4;        // read from the file at once, of time as heard
constexpr double kLatency = 0.06;              // seconds that wait in the device: less, and a busy machine stutters
constexpr double kMostLatency = 2;             // seconds; a device that tells of more tells nonsense
constexpr double kNever = -1;

double steady_seconds() { return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count(); }

using Split = std::array<std::vector<float>, kSoundChannels>;

void split(const std::vector<float>& interleaved, Split& out) {
    const std::size_t frames = interleaved.size() / kSoundChannels;
    for (std::size_t c = 0; c < kSoundChannels; ++c) {
        out[c].resize(frames);
        for (std::size_t i = 0; i < frames; ++i) out[c][i] = interleaved[i * kSoundChannels + c];
    }
}

// One wish to hear something, from `play` to the next or to `stop`. The reader's thread fills its ring,
// PortAudio's callback empties it. Each wish has a ring of its own, so that nothing of one is heard in another.
struct Wish {
    Recording recording;
    std::vector<RecordingSpan> hushed;
    RecordingTime from;
    double pace = 1;
    SoundPlayer::Made made;
    std::int64_t made_from = 0;

    std::vector<float> ring = std::vector<float>(kRoom * kSoundChannels);
    std::atomic<std::size_t> written{0}, given{0};  // frames, ever growing
    std::atomic<double> begins{kNever};  // steady clock's second at which the ear hears its first frame
    std::atomic<bool> over{false};       // another came, or it was stopped
    std::atomic<bool> complete{false};   // nothing more will be written

    // By the callback: fills `out`; `heard` is when the ear will hear the first frame of it.
    void give(float* out, std::size_t frames, double heard) {
        const std::size_t at = given.load(std::memory_order_relaxed), n = std::min(frames, written.load(std::memory_order_acquire) - at);
        for (std::size_t i = 0; i < n * kSoundChannels; ++i) out[i] = ring[(at * kSoundChannels + i) % ring.size()];
        if (n > 0) follow(heard - static_cast<double>(at) / kSoundRate);
        given.store(at + n, std::memory_order_release);
    }

    // What devices tell of their delay trembles by some milliseconds: a slow average is the truth, except
    // after a gap.
    void follow(double now_begins) {
        constexpr double kGap = 0.03, kWeight = 0.05;
        const double known = begins.load(std::memory_order_relaxed);
        const bool jumped = known == kNever || std::abs(now_begins - known) > kGap;
        begins.store(jumped ? now_begins : known + kWeight * (now_begins - known), std::memory_order_relaxed);
    }

    // By the reader's thread. Blocks until there is room; false when it is over.
    bool push(const Split& sound, std::size_t frames) {
        for (std::size_t done = 0; done < frames;) {
            if (over) return false;
            const std::size_t at = written.load(std::memory_order_relaxed), room = kRoom - (at - given.load(std::memory_order_acquire));
            const std::size_t n = std::min(room, frames - done);
            for (std::size_t i = 0; i < n; ++i)
                for (std::size_t c = 0; c < kSoundChannels; ++c) ring[((at + i) * kSoundChannels + c) % ring.size()] = sound[c][done + i];
            written.store(at + n, std::memory_order_release);
            done += n;
            if (done < frames) std::this_thread::sleep_for(std::chrono::milliseconds(5));
        }
        return true;
    }

    void feed() {
        if (made) feed_made();
        else if (pace == 1.0) feed_plain();
        else feed_stretched();
        complete = true;
    }

    void feed_made() {
        Split block;
        for (std::int64_t frame = made_from; !over;) {
            split(made(frame, kSoundRate / 4), block);
            if (block[0].empty() || !push(block, block[0].size())) return;
            frame += static_cast<std::int64_t>(block[0].size());
        }
    }

    // Hands the recording's sound on, piece by piece, until `use` says no or it ends. use(piece, last).
    template <class Use>
    void read(Use use) {
        auto reader = media::SoundReader::open(recording.path, recording.zero);
        if (!reader) return;
        const Nanos piece = static_cast<Nanos>(static_cast<double>(kStretch) * std::max(1.0, pace));
        Split block;
        for (RecordingTime t = from; t < recording.only.end && !over;) {
            const RecordingTime until = std::min(t + piece, recording.only.end);
            auto sound = reader->read({t, until}, hushed, {});
            if (!sound) return;
            split(*sound, block);
            t = until;
            if (!use(block, t >= recording.only.end)) return;
        }
    }

    void feed_plain() {
        read([&](const Split& block, bool) { return push(block, block[0].size()); });
    }

    void feed_stretched() {
        RubberBandStretcher stretcher(kSoundRate, kSoundChannels, RubberBandStretcher::OptionProcessRealTime | RubberBandStretcher::OptionChannelsTogether, 1 / pace);
        // As the library's header asks for, so that what comes out begins where what went in does.
        std::size_t drop = stretcher.getStartDelay();
        Split silence, out;
        for (auto& c : silence) c.resize(stretcher.getPreferredStartPad());
        const auto process = [&](const Split& in, bool last) {
            const float* inputs[] = {in[0].data(), in[1].data()};
            stretcher.process(inputs, in[0].size(), last);
        };
        process(silence, false);
        read([&](const Split& block, bool last) {
            process(block, last);
            for (int there = stretcher.available(); there > 0; there = stretcher.available()) {
                for (auto& o : out) o.resize(static_cast<std::size_t>(there));
                float* outputs[] = {out[0].data(), out[1].data()};
                const std::size_t got = stretcher.retrieve(outputs, static_cast<std::size_t>(there)), skip = std::min(drop, got);
                drop -= skip;
                for (auto& o : out) o.erase(o.begin(), o.begin() + static_cast<std::ptrdiff_t>(skip));
                if (got > skip && !push(out, got - skip)) return false;
            }
            return !over.load();
        });
    }
};

}  // namespace

struct SoundPlayer::Stream {
    PaStream* pa = nullptr;

    std::mutex giving;           // guards `playing`. The callback never waits for it
    std::shared_ptr<Wish> playing;

    std::mutex mutex;            // guards what follows
    std::condition_variable changed;
    std::shared_ptr<Wish> next;  // for the reader's thread
    bool stop = false;

    std::atomic<float> volume{1};
    std::atomic<double> called{kNever};  // steady clock's second of the last callback
    float loud = 1;                      // the callback's own: the volume that the last block ended with
    double usual_latency = kLatency;
    std::thread thread;

    ~Stream() {
        if (pa) Pa_StopStream(pa), Pa_CloseStream(pa);
        replace(nullptr);
        {
            const std::lock_guard lock(mutex);
            stop = true;
        }
        changed.notify_all();
        if (thread.joinable()) thread.join();
    }

    bool open() {
        const PaDeviceIndex device = Pa_GetDefaultOutputDevice();
        if (device == paNoDevice) return false;
        const PaStreamParameters wish{device, kSoundChannels, paFloat32, std::max(kLatency, Pa_GetDeviceInfo(device)->defaultLowOutputLatency), nullptr};
        // Blocks as the device has them: only then does PortAudio know when each is heard.
        if (Pa_OpenStream(&pa, nullptr, &wish, kSoundRate, paFramesPerBufferUnspecified, paNoFlag, callback, this) != paNoError) return false;
        if (const PaStreamInfo* info = Pa_GetStreamInfo(pa)) usual_latency = info->outputLatency;
        if (Pa_StartStream(pa) != paNoError) return false;
        thread = std::thread([this] { run(); });
        return true;
    }

    static int callback(const void*, void* out, unsigned long frames, const PaStreamCallbackTimeInfo* time, PaStreamCallbackFlags, void* self) {
        static_cast<Stream*>(self)->give(static_cast<float*>(out), frames, time->outputBufferDacTime - time->currentTime);
        return paContinue;
    }

    void give(float* out, std::size_t frames, double latency) {
        const double now = steady_seconds();
        called.store(now, std::memory_order_relaxed);
        std::fill_n(out, frames * kSoundChannels, 0.0f);
        if (latency < 0 || latency > kMostLatency) latency = usual_latency;
        // Held only while another wish is put in its place: then a block of silence does no harm.
        if (const std::unique_lock lock(giving, std::try_to_lock); lock && playing) playing->give(out, frames, now + latency);
        const float to = volume.load(std::memory_order_relaxed), step = (to - loud) / static_cast<float>(std::max<std::size_t>(1, frames));
        for (std::size_t i = 0; i < frames; ++i) {
            loud += step;  // in a block's time: a jump would click
            for (std::size_t c = 0; c < kSoundChannels; ++c) out[i * kSoundChannels + c] *= loud;
        }
        loud = to;
    }

    void replace(std::shared_ptr<Wish> wish) {
        std::shared_ptr<Wish> old = wish;
        {
            const std::lock_guard lock(giving);
            playing.swap(old);
        }
        if (old) old->over = true;
        {
            const std::lock_guard lock(mutex);
            next = std::move(wish);
        }
        changed.notify_all();
    }

    void run() {
        for (;;) {
            std::shared_ptr<Wish> wish;
            {
                std::unique_lock lock(mutex);
                changed.wait(lock, [&] { return stop || next; });
                if (stop) return;
                wish.swap(next);
            }
            wish->feed();
        }
    }
};

SoundPlayer::SoundPlayer() {
    const Hush hush;
    if (Pa_Initialize() != paNoError) return;
    auto stream = std::make_unique<Stream>();
    if (stream->open()) stream_ = std::move(stream);
}

SoundPlayer::~SoundPlayer() {
    stream_.reset();
    Pa_Terminate();
}

void SoundPlayer::play(const Recording& recording, RecordingTime from, double pace, std::vector<RecordingSpan> hushed) {
    if (!stream_) return;
    if (!recording.has_sound) return stop();
    auto wish = std::make_shared<Wish>();
    wish->recording = recording;
    wish->hushed = std::move(hushed);
    wish->from = from;
    wish->pace = pace;
    stream_->replace(std::move(wish));
}

void SoundPlayer::play_made(Made samples, std::int64_t from) {
    if (!stream_) return;
    auto wish = std::make_shared<Wish>();
    wish->from = {from * kSecond / kSoundRate};
    wish->made = std::move(samples);
    wish->made_from = from;
    stream_->replace(std::move(wish));
}

void SoundPlayer::stop() {
    if (stream_) stream_->replace(nullptr);
}

std::optional<RecordingTime> SoundPlayer::heard(double ahead) const {
    if (!stream_) return std::nullopt;
    // Only this thread puts wishes in, so it may look without the lock.
    const Wish* wish = stream_->playing.get();
    if (!wish) return std::nullopt;
    constexpr double kDead = 1;  // seconds without a callback: the device is gone
    const double begins = wish->begins.load(std::memory_order_relaxed), now = steady_seconds();
    if (begins == kNever || now + ahead < begins || now - stream_->called.load(std::memory_order_relaxed) > kDead) return std::nullopt;
    double heard = now + ahead - begins;
    // Nothing can be heard that was not given; at the end, silence is heard.
    if (!wish->complete) heard = std::min(heard, static_cast<double>(wish->given.load(std::memory_order_acquire)) / kSoundRate);
    return RecordingTime{wish->from.ns + static_cast<Nanos>(heard * wish->pace * kSecond)};
}

void SoundPlayer::set_volume(double volume) {
    const double v = std::clamp(volume, 0.0, 1.0);
    if (stream_) stream_->volume.store(static_cast<float>(v * v), std::memory_order_relaxed);
}

}  // namespace canalogue::editor
