#include "app/media/noise.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "app/media/libav.hpp"
#include "app/media/sound_reader.hpp"

extern "C" {
#include <libavfilter/avfilter.h>
#include <libavfilter/buffersink.h>
#include <libavfilter/buffersrc.h>
}

namespace canalogue::media {

namespace {

const Failure kCannot = machine_trouble("The noise of a take cannot be lowered: libavfilter has no 'afftdn'.");

struct Graph {
    AVFilterGraph* graph = avfilter_graph_alloc();
    AVFilterContext *source = nullptr, *sink = nullptr;
    ~Graph() { avfilter_graph_free(&graph); }

    bool build(double floor) {
        const std::string in = "time_base=1/" + std::to_string(kSoundRate) + ":sample_rate=" + std::to_string(kSoundRate) + ":sample_fmt=fltp:channel_layout=mono";
        // The filter takes floors from -80 to -20 dB.
        const std::string lower = "nr=" + std::to_string(kNoiseLowered) + ":nf=" + std::to_string(std::lround(std::clamp(floor, -80.0, -20.0)));
        AVFilterContext* filter = nullptr;
        return graph && avfilter_get_by_name("afftdn") &&
               avfilter_graph_create_filter(&source, avfilter_get_by_name("abuffer"), "in", in.c_str(), nullptr, graph) >= 0 &&
               avfilter_graph_create_filter(&filter, avfilter_get_by_name("afftdn"), "lower", lower.c_str(), nullptr, graph) >= 0 &&
               avfilter_graph_create_filter(&sink, avfilter_get_by_name("abuffersink"), "out", nullptr, nullptr, graph) >= 0 &&
               avfilter_link(source, 0, filter, 0) >= 0 && avfilter_link(filter, 0, sink, 0) >= 0 && avfilter_graph_config(graph, nullptr) >= 0;
    }
    void collect(std::vector<std::int16_t>& out) const {
        for (;;) {
            const FramePtr frame(av_frame_alloc());
            if (!frame || av_buffersink_get_frame(sink, frame.get()) < 0) return;
            const auto* samples = reinterpret_cast<const float*>(frame->data[0]);
            for (int i = 0; i < frame->nb_samples; ++i) out.push_back(static_cast<std::int16_t>(std::clamp(samples[i], -1.0f, 1.0f) * 32767.0f));
        }
    }
};

FramePtr frame_of(const std::vector<std::int16_t>& voice, std::size_t from, std::size_t count) {
    FramePtr frame(av_frame_alloc());
    if (!frame) return nullptr;
    frame->format = AV_SAMPLE_FMT_FLTP;
    frame->sample_rate = kSoundRate;
    frame->nb_samples = static_cast<int>(count);
    frame->ch_layout = AV_CHANNEL_LAYOUT_MONO;
    frame->pts = static_cast<std::int64_t>(from);
    if (av_frame_get_buffer(frame.get(), 0) < 0) return nullptr;
    auto* samples = reinterpret_cast<float*>(frame->data[0]);
    for (std::size_t i = 0; i < count; ++i) samples[i] = from + i < voice.size() ? static_cast<float>(voice[from + i]) / 32767.0f : 0.0f;
    return frame;
}

}  // namespace

Result<std::vector<std::int16_t>> lower_noise(const std::vector<std::int16_t>& voice, double floor) {
    Graph graph;
    if (!graph.build(floor)) return kCannot;
    constexpr std::size_t kPiece = 4096;
    std::vector<std::int16_t> out;
    for (std::size_t from = 0; from < voice.size(); from += kPiece) {
        const FramePtr frame = frame_of(voice, from, std::min(kPiece, voice.size() - from));
        if (!frame || av_buffersrc_add_frame(graph.source, frame.get()) < 0) return kCannot;
        graph.collect(out);
    }
    if (av_buffersrc_add_frame(graph.source, nullptr) < 0) return kCannot;
    graph.collect(out);
    out.resize(voice.size());
    return out;
}

}  // namespace canalogue::media
