// A spotter at work in its helper process. Every call has a deadline. When the spotter crashes,
// hangs, answers nonsense or says that it cannot, the call returns a failure that names the spotter;
// what was being scanned counts as unscanned and the program itself has lost nothing. Then either
// restart() and offer the span again, or give it up.
//
// Thread rule: one thread at a time; it may change between calls.
#pragma once

#include <chrono>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/core/suspect.hpp"
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

struct SpotterFacts {
    Size picture;  // upright; 0 by 0 for sound alone
    Nanos duration = 0;
};

// One thing a file says about itself; the names are those of canalogue_field in the plugin header.
struct Field {
    std::string name, value;
};

class SpotterProcess {
  public:
    static Result<SpotterProcess> start(const PluginInfo& plugin, const HostOptions& options);

    // Frames of a second it wants, evenly spread; 0: every one.
    double samples_per_second() const { return samples_per_second_; }
    bool wants_frames() const;
    bool wants_fields() const;
    const PluginInfo& plugin() const { return plugin_; }

    Result<void> begin_recording(SpotterFacts facts);
    Result<void> begin_span(RecordingSpan span);
    // rgb: 24 bits a pixel, upright, of the size in the facts; copied before this returns.
    // stride: bytes from row to row.
    Result<void> frame(RecordingTime t, const std::uint8_t* rgb, int w, int h, int stride);
    // All that was found since begin_span. Only this answer means that the span was scanned.
    Result<std::vector<Proposal>> end_span();
    Result<std::vector<Proposal>> fields(const std::vector<Field>& fields);

    // False after a crash, a hang or nonsense, until restart().
    bool running() const { return helper_ != nullptr; }
    // A new process, told of the recording again; a span begun before is forgotten. Fails when
    // most_restarts is used up.
    Result<void> restart();

  private:
    SpotterProcess(PluginInfo plugin, HostOptions options, FrameMemory memory);
    Result<void> launch();
    Result<void> introduce(const wire::Message& hello);
    Result<void> tell_recording();
    Result<wire::Message> ask(wire::Kind kind, const std::vector<std::uint8_t>& body);
    Result<std::vector<Proposal>> proposals_from(const wire::Message& answer, RecordingSpan offered);
    Failure give_up(const std::string& what_happened);
    Failure named(const std::string& what_happened) const;

    PluginInfo plugin_;
    HostOptions options_;
    FrameMemory memory_;
    std::unique_ptr<HelperProcess> helper_;
    std::optional<SpotterFacts> facts_;
    std::optional<RecordingSpan> span_;
    std::string in_hand_ = "it";  // what stays unscanned when the call in hand fails
    int restarts_left_ = 0;
    std::uint32_t wants_ = 0;
    double samples_per_second_ = 0;
};

}  // namespace canalogue
