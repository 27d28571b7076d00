#include "app/media/deinterlace.hpp"

extern "C" {
#include <libavfilter/avfilter.h>
#include <libavfilter/buffersink.h>
#include <libavfilter/buffersrc.h>
}

namespace canalogue::media {

namespace {
const Failure kCannot = machine_trouble("Interlaced pictures cannot be treated: libavfilter has no 'bwdif'.");
}

struct Deinterlacer::State {
    AVFilterGraph* graph = nullptr;
    AVFilterContext* source = nullptr;
    AVFilterContext* sink = nullptr;
    Size size;
    int format = -1;

    ~State() { avfilter_graph_free(&graph); }

    bool fits(const AVFrame& f) const { return graph && size == Size{f.width, f.height} && format == f.format; }

    Result<void> build(const AVFrame& f) {
        avfilter_graph_free(&graph);
        graph = avfilter_graph_alloc();
        size = {f.width, f.height};
        format = f.format;
        const std::string args = "video_size=" + std::to_string(f.width) + "x" + std::to_string(f.height) +
                                 ":pix_fmt=" + std::to_string(f.format) + ":time_base=1/1000000000";
        AVFilterContext* filter = nullptr;
        const AVFilter* bwdif = avfilter_get_by_name("bwdif");
        if (!graph || !bwdif ||
            avfilter_graph_create_filter(&source, avfilter_get_by_name("buffer"), "in", args.c_str(), nullptr, graph) < 0 ||
            avfilter_graph_create_filter(&filter, bwdif, "fields", "mode=send_frame:deint=interlaced", nullptr, graph) < 0 ||
            avfilter_graph_create_filter(&sink, avfilter_get_by_name("buffersink"), "out", nullptr, nullptr, graph) < 0 ||
            avfilter_link(source, 0, filter, 0) < 0 || avfilter_link(filter, 0, sink, 0) < 0 ||
            avfilter_graph_config(graph, nullptr) < 0)
            return kCannot;
        return {};
    }

    void collect(std::vector<Picture>& out) const {
        for (;;) {
            std::shared_ptr<AVFrame> frame(av_frame_alloc(), LibavDelete{});
            if (!frame || av_buffersink_get_frame(sink, frame.get()) < 0) return;
            const RecordingTime t{av_rescale_q(frame->pts, av_buffersink_get_time_base(sink), kNanoBase)};
            out.push_back({std::move(frame), t});
        }
    }
};

Deinterlacer::Deinterlacer() : state_(std::make_unique<State>()) {}
Deinterlacer::~Deinterlacer() = default;
Deinterlacer::Deinterlacer(Deinterlacer&&) noexcept = default;
Deinterlacer& Deinterlacer::operator=(Deinterlacer&&) noexcept = default;

Result<std::vector<Picture>> Deinterlacer::push(const Picture& picture) {
    std::vector<Picture> out;
    if (!state_->fits(*picture.frame)) {
        if (state_->graph) {
            auto rest = drain();
            if (!rest) return rest;
            out = std::move(*rest);
        }
        if (auto built = state_->build(*picture.frame); !built) return built.failure();
    }
    FramePtr frame(av_frame_clone(picture.frame.get()));
    if (!frame) return machine_trouble("There is not enough memory for a picture; close other programs.");
    frame->pts = picture.time.ns;
    if (av_buffersrc_add_frame(state_->source, frame.get()) < 0) return kCannot;
    state_->collect(out);
    return out;
}

Result<std::vector<Picture>> Deinterlacer::drain() {
    std::vector<Picture> out;
    if (!state_->graph) return out;
    if (av_buffersrc_add_frame(state_->source, nullptr) < 0) return kCannot;
    state_->collect(out);
    avfilter_graph_free(&state_->graph);
    return out;
}

}  // namespace canalogue::media
