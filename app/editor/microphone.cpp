#include "app/editor/microphone.hpp"

#include <portaudio.h>

#include <algorithm>
#include <atomic>
#include <cmath>

#include "app/editor/hush.hpp"
#include "app/media/sound_reader.hpp"

namespace canalogue::editor {

namespace {

using media::kSoundRate;
constexpr unsigned long kBlock = 512;
constexpr float kFall = 0.9f;  // of the meter, each block

}  // namespace

// The callback writes into room that was made before and moves `filled` on: it never waits.
struct Microphone::Stream {
    PaStream* pa = nullptr;
    std::vector<std::int16_t> room;
    std::atomic<std::size_t> filled{0};
    std::atomic<bool> keeping{false};
    std::atomic<float> level{0};

    ~Stream() {
        if (pa) Pa_StopStream(pa), Pa_CloseStream(pa);
    }

    static int callback(const void* in, void*, unsigned long frames, const PaStreamCallbackTimeInfo*, PaStreamCallbackFlags, void* self) {
        static_cast<Stream*>(self)->hear(static_cast<const float*>(in), frames);
        return paContinue;
    }

    void hear(const float* in, std::size_t frames) {
        if (!in) return;
        float peak = 0;
        for (std::size_t i = 0; i < frames; ++i) peak = std::max(peak, std::abs(in[i]));
        level.store(std::max(peak, level.load() * kFall));
        if (!keeping.load(std::memory_order_acquire)) return;
        const std::size_t at = filled.load(std::memory_order_relaxed), n = std::min(frames, room.size() - at);
        for (std::size_t i = 0; i < n; ++i) room[at + i] = static_cast<std::int16_t>(std::lround(std::clamp(in[i], -1.0f, 1.0f) * 32767));
        filled.store(at + n, std::memory_order_release);
    }
};

Microphone::Microphone() = default;

Microphone::~Microphone() { close(); }

std::string Microphone::open() {
    if (stream_) return {};
    const Hush hush;
    const std::string none = "No microphone answers: connect one and choose it in the system's sound settings, or add a recorded file with 'canalogue take'.";
    if (Pa_Initialize() != paNoError) return none;
    auto stream = std::make_unique<Stream>();
    if (Pa_GetDefaultInputDevice() == paNoDevice || Pa_OpenDefaultStream(&stream->pa, 1, 0, paFloat32, kSoundRate, kBlock, Stream::callback, stream.get()) != paNoError ||
        Pa_StartStream(stream->pa) != paNoError) {
        stream.reset();
        Pa_Terminate();
        return none;
    }
    stream_ = std::move(stream);
    return {};
}

void Microphone::close() {
    if (!stream_) return;
    stream_.reset();
    Pa_Terminate();
}

void Microphone::keep(Nanos at_most) {
    if (!stream_ || stream_->keeping) return;
    stream_->room.assign(static_cast<std::size_t>(at_most / kMillisecond) * (kSoundRate / 1000), 0);
    stream_->filled = 0;
    stream_->keeping.store(true, std::memory_order_release);
}

Nanos Microphone::kept() const { return stream_ ? static_cast<Nanos>(stream_->filled.load()) * kSecond / kSoundRate : 0; }

std::vector<std::int16_t> Microphone::taken() {
    if (!stream_) return {};
    // The callback may be in the midst of a block; stopped, it is not.
    Pa_StopStream(stream_->pa);
    stream_->room.resize(stream_->filled.load(std::memory_order_acquire));
    return std::move(stream_->room);
}

float Microphone::level() const { return stream_ ? stream_->level.load() : 0; }

}  // namespace canalogue::editor
