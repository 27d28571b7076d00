#include "demo_media/labelled/found_files.hpp"

#include <cstdint>
#include <cstring>
#include <fstream>
#include <iterator>
#include <memory>
#include <opencv2/imgcodecs.hpp>

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libswscale/swscale.h>
}

namespace canalogue::demo::labelled {

namespace {

constexpr const char* kPictures = "/usr/share/doc/opencv-doc/examples/data/";
constexpr const char* kScience = "/usr/lib/python3/dist-packages/skimage/data/";  // python3-skimage
constexpr const char* kSpeech = "/usr/share/pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0";

struct ClipRow {
    const char *number, *words;
};
// The words are those of the package's own transcription file.
constexpr ClipRow kClipRows[kClips] = {
    {"870", "and mister john dashwood had then leisure to consider how much there might be prudently in his power to do for them"},
    {"880", "he was not an ill disposed young man"},
    {"890", "unless to be rather cold hearted and rather selfish is to be ill disposed"},
    {"920", "had he married a more amiable woman he might have been made still more respectable than he was"},
    {"930", "he might even have been made amiable himself"}};

Region oval(const char* what, double x, double y, double half_w, double half_h) {
    return {what, "", true, {{x, y}, {half_w, half_h}}};
}
Region shape(const char* what, std::vector<cv::Point2d> corners) {
    return {what, "", false, std::move(corners)};
}
Region block(const char* what, double x, double y, double x2, double y2) {
    return shape(what, {{x, y}, {x2, y}, {x2, y2}, {x, y2}});
}

struct Free {
    void operator()(AVFormatContext* f) const { avformat_close_input(&f); }
    void operator()(AVCodecContext* c) const { avcodec_free_context(&c); }
    void operator()(AVFrame* f) const { av_frame_free(&f); }
    void operator()(AVPacket* p) const { av_packet_free(&p); }
    void operator()(SwsContext* s) const { sws_freeContext(s); }
};
template <class T>
using Owned = std::unique_ptr<T, Free>;

cv::Mat3b converted(const AVFrame* f) {
    cv::Mat3b out(f->height, f->width);
    const Owned<SwsContext> sws(sws_getContext(f->width, f->height, AVPixelFormat(f->format), f->width, f->height,
                                               AV_PIX_FMT_BGR24, SWS_BILINEAR | SWS_BITEXACT, nullptr, nullptr, nullptr));
    std::uint8_t* to[] = {out.data};
    const int stride[] = {int(out.step[0])};
    if (sws) sws_scale(sws.get(), f->data, f->linesize, 0, f->height, to, stride);
    return out;
}

// The frame of that number, counted from 0; empty when it cannot be decoded.
cv::Mat3b film_frame(const Photograph& photograph) {
    AVFormatContext* raw = nullptr;
    if (avformat_open_input(&raw, photograph.file.c_str(), nullptr, nullptr) < 0) return {};
    const Owned<AVFormatContext> file(raw);
    const int v = avformat_find_stream_info(raw, nullptr) < 0 ? -1 : av_find_best_stream(raw, AVMEDIA_TYPE_VIDEO, -1, -1, nullptr, 0);
    if (v < 0) return {};
    const AVCodecParameters* about = raw->streams[v]->codecpar;
    const Owned<AVCodecContext> c(avcodec_alloc_context3(avcodec_find_decoder(about->codec_id)));
    if (avcodec_parameters_to_context(c.get(), about) < 0 || avcodec_open2(c.get(), nullptr, nullptr) < 0) return {};
    const Owned<AVPacket> packet(av_packet_alloc());
    const Owned<AVFrame> frame(av_frame_alloc());
    for (int number = 0; av_read_frame(raw, packet.get()) >= 0; av_packet_unref(packet.get())) {
        if (packet->stream_index != v || avcodec_send_packet(c.get(), packet.get()) < 0) continue;
        while (avcodec_receive_frame(c.get(), frame.get()) == 0)
            if (number++ == photograph.frame) return av_packet_unref(packet.get()), converted(frame.get());
    }
    return {};
}

}  // namespace

const std::vector<Photograph>& photographs() {
    // Outlined by hand on the pictures themselves.
    static const std::vector<Photograph> list{
        {std::string(kScience) + "astronaut.png",
         {shape("person", {{.05, 1}, {.05, .6}, {.15, .42}, {.24, .30}, {.60, .30}, {.70, .55}, {.72, 1}}),
          oval("face", .444, .205, .148, .175), block("text", .26, .68, .41, .83), block("text", .545, .655, .645, .745)}},
        {std::string(kPictures) + "messi5.jpg",
         {block("person", 0, 0, 1, .68),
          shape("person", {{.125, .26}, {.29, .34}, {.375, .35}, {.485, .33}, {.556, .38}, {.684, .46}, {.662, .52},
                           {.54, .46},  {.55, .62}, {.66, .69},  {.826, .78}, {.805, .84}, {.60, .78},  {.484, .82},
                           {.563, .94}, {.456, .98}, {.406, .83}, {.42, .74}, {.356, .48}, {.285, .41}, {.142, .30}}),
          oval("face", .429, .287, .055, .110), block("text", .375, .41, .49, .47), block("text", .80, .87, .985, .98)}},
        {std::string(kPictures) + "basketball1.png",
         {shape("person", {{.06, .30}, {.17, .29}, {.256, .27}, {.25, .45}, {.19, .5}, {.22, .98}, {.10, .98}, {.07, .6}, {.05, .4}}),
          shape("person", {{.80, .26}, {1, .26}, {1, 1}, {.75, 1}, {.80, .65}, {.68, .52}, {.69, .46}, {.78, .48}}),
          oval("face", .131, .22, .045, .070), oval("face", .875, .155, .085, .120)}},
        // People at a distance; the smallest are a hundredth of the picture.
        {std::string(kPictures) + "vtest.avi",
         {block("person", .268, .095, .312, .17), block("person", .448, .335, .502, .48), block("person", .490, .30, .535, .45),
          block("person", .555, .30, .595, .45), block("person", .636, .245, .676, .375), block("person", .670, .255, .708, .38),
          block("person", .762, .26, .81, .41), block("text", .535, .345, .585, .425)},
         100}};
    return list;
}

cv::Mat3b read_photograph(const Photograph& photograph) {
    std::error_code ignored;
    if (!std::filesystem::exists(photograph.file, ignored)) return {};
    return photograph.frame < 0 ? cv::Mat3b(cv::imread(photograph.file.string(), cv::IMREAD_COLOR)) : film_frame(photograph);
}

std::string clip_words(int clip) {
    return kClipRows[clip].words;
}

std::optional<Clip> read_clip(int clip) {
    std::ifstream in(std::string(kSpeech) + kClipRows[clip].number + ".wav", std::ios::binary);
    if (!in) return std::nullopt;
    const std::string bytes{std::istreambuf_iterator<char>(in), {}};
    const std::size_t data = bytes.find("data");
    if (bytes.size() < 48 || data == std::string::npos) return std::nullopt;
    Clip out;
    std::uint32_t rate = 0;
    std::memcpy(&rate, bytes.data() + 24, sizeof rate);
    out.rate = int(rate);
    for (std::size_t i = data + 8; i + 1 < bytes.size(); i += 2) {
        std::int16_t s = 0;
        std::memcpy(&s, bytes.data() + i, sizeof s);
        out.samples.push_back(float(s) / 32768.0f);
    }
    return out;
}

}  // namespace canalogue::demo::labelled
