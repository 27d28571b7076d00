// A plugin at work in its helper process: what spotters and gauges have in common. Every call has a
// deadline. When the plugin crashes, hangs, answers nonsense or says that it cannot, the call returns
// a failure that names the plugin; what was in hand counts as not done and the program itself has
// lost nothing. Then either restart() and offer the span again, or give it up.
//
// Thread rule: one thread at a time; it may change between calls.
#pragma once

#include <chrono>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/core/geometry.hpp"
#include "app/core/time.hpp"
#include "app/plugin_host/frame_memory.hpp"
#include "app/plugin_host/helper_process.hpp"
#include "app/plugin_host/plugin_catalog.hpp"

namespace canalogue {

struct HostOptions {
    // Empty: $CANALOGUE_PLUGIN_RUNNER, else canalogue-plugin-runner beside the running program.
    std::filesystem::path runner;
    // Empty: $CANALOGUE_MODELS, else ../models from the running program's folder, else where
    // they were installed.
    std::filesystem::path models;
    std::chrono::milliseconds deadline{30'000};  // for each call, starting included
    int most_restarts = 3;
};

// What a plugin is told of a recording.
struct RecordingAbout {
    Size picture;  // upright, of the frames it will be shown; 0 by 0 for sound alone
    Nanos duration = 0;
    double marked_inside_reads = 0, marked_outside_reads = 0;  // see canalogue_facts
};

class PluginProcess {
  public:
    PluginProcess(PluginProcess&&) noexcept = default;
    PluginProcess& operator=(PluginProcess&&) noexcept = default;
    virtual ~PluginProcess() = default;

    // Frames of a second it wants, evenly spread; 0: every one.
    double samples_per_second() const { return samples_per_second_; }
    const PluginInfo& plugin() const { return plugin_; }

    Result<void> begin_recording(RecordingAbout about);
    Result<void> begin_span(RecordingSpan span);
    // rgb: 24 bits a pixel, upright, of the size in the facts; copied before this returns.
    // stride: bytes from row to row.
    Result<void> frame(RecordingTime t, const std::uint8_t* rgb, int w, int h, int stride);
    // A block of sound: mono, 48,000 samples a second, at most a second; t: of the first sample.
    Result<void> sound(RecordingTime t, const std::vector<float>& samples);

    bool wants_frames() const;
    bool wants_sound() const;
    // Frames are to be shrunk until their longer side is at most this, in pixels; 0: as recorded.
    int longest_side() const { return longest_side_; }

    // False after a crash, a hang or nonsense, until restart().
    bool running() const { return helper_ != nullptr; }
    // A new process, told of the recording again; a span begun before is forgotten. Fails when
    // most_restarts is used up.
    Result<void> restart();

  protected:
    // What a kind of plugin is called, asked for, and what its failure means.
    struct Role {
        const char* name;       // "spotter"
        const char* extension;  // of the plugin header
        const char* loss;       // "stays unscanned": what becomes of what was in hand
        const char* at_start;   // what is in hand while it starts: "what it was to look at"
        const char* rest;       // what is left when it is given up: "what it has not seen"
    };
    struct EndedSpan {
        RecordingSpan span;
        wire::Message answer;
    };

    PluginProcess(PluginInfo plugin, HostOptions options, FrameMemory memory, Role role);
    Result<void> launch();
    // The part of the plugin's introduction that is its kind's own. What was wrong; empty: nothing.
    virtual std::string read_introduction(wire::Reader& in) = 0;
    Result<wire::Message> ask(wire::Kind kind, const std::vector<std::uint8_t>& body);
    Result<EndedSpan> ask_end();
    // Ends the helper; the failure names the plugin and says what is lost.
    Failure give_up(const std::string& what_happened);
    Failure not_running() const { return named("is not running; restart it first."); }

    bool wants(std::uint32_t what) const { return wants_ & what; }
    const std::optional<RecordingAbout>& about() const { return about_; }
    const std::optional<RecordingSpan>& span_in_hand() const { return span_; }
    void now_in_hand(std::string what) { in_hand_ = std::move(what); }
    FrameMemory& memory() { return memory_; }

  private:
    Result<void> introduce(const wire::Message& hello);
    Result<void> tell_recording();
    Failure named(const std::string& what_happened) const;

    PluginInfo plugin_;
    HostOptions options_;
    FrameMemory memory_;
    Role role_;
    std::unique_ptr<HelperProcess> helper_;
    std::optional<RecordingAbout> about_;
    std::optional<RecordingSpan> span_;
    std::string in_hand_ = "it";  // what is lost when the call in hand fails
    int restarts_left_ = 0;
    std::uint32_t wants_ = 0;
    double samples_per_second_ = 0;
    int longest_side_ = 0;
};

}  // namespace canalogue
