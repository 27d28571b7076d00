#include "app/editor/reduced_copy.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>

namespace canalogue::editor {

namespace {

constexpr int kLongSide = 480;           // pixels
constexpr int kQuality = 5;              // of MJPEG's 2 .. 31
constexpr std::size_t kFarApart = 24;    // frames between keyframes

Size reduced(Size s) {
    const int most = std::max(s.w, s.h);
    if (most <= kLongSide) return {s.w & ~1, s.h & ~1};
    return {std::max(2, s.w * kLongSide / most & ~1), std::max(2, s.h * kLongSide / most & ~1)};
}

Failure no_copy() { return machine_trouble("The reduced copy for scrubbing cannot be made; scrubbing is slower without it."); }

media::CodecPtr encoder_for(Size size) {
    const AVCodec* codec = avcodec_find_encoder(AV_CODEC_ID_MJPEG);
    media::CodecPtr c(codec ? avcodec_alloc_context3(codec) : nullptr);
    if (!c) return nullptr;
    c->width = size.w, c->height = size.h, c->pix_fmt = AV_PIX_FMT_YUVJ420P, c->time_base = {1, 25}, c->color_range = AVCOL_RANGE_JPEG;
    c->flags |= AV_CODEC_FLAG_QSCALE;
    c->global_quality = FF_QP2LAMBDA * kQuality;
    c->thread_count = 1;
    return avcodec_open2(c.get(), codec, nullptr) < 0 ? nullptr : std::move(c);
}

}  // namespace

bool ReducedCopy::worth_it(const media::FrameIndex& index) {
    std::size_t since = 0;
    for (std::size_t i = 0; i < index.size(); ++i) {
        since = index[i].key ? 0 : since + 1;
        if (since > kFarApart) return true;
    }
    return false;
}

Result<std::shared_ptr<ReducedCopy>> ReducedCopy::make(const std::filesystem::path& recording, std::shared_ptr<const media::FrameIndex> index, const std::filesystem::path& folder,
                                                       const Progress& progress) {
    auto reader = media::FrameReader::open(recording, 1);
    if (!reader) return reader.failure();
    reader->use_index(index);
    std::shared_ptr<ReducedCopy> copy(new ReducedCopy);
    std::string name = (folder / ".reduced-XXXXXX").string();
    copy->file_ = ::mkostemp(name.data(), O_CLOEXEC);
    if (copy->file_ < 0) return no_copy();
    ::unlink(name.c_str());
    copy->places_.resize(index->size());
    media::CodecPtr encoder;
    media::Scaler scaler;
    media::PacketPtr packet(av_packet_alloc());
    Size size;
    std::int64_t written = 0;
    for (;;) {
        if (progress.stopped()) return cancelled();
        auto picture = reader->next();
        if (!picture) return picture.failure();
        if (!*picture) break;
        const AVFrame& source = *(*picture)->frame;
        if (!encoder) size = reduced((*picture)->size()), encoder = encoder_for(size);
        media::FramePtr small = media::make_frame(AV_PIX_FMT_YUVJ420P, size);
        SwsContext* context = small ? scaler.prepare(source, media::colour_of(source), size, AV_PIX_FMT_YUVJ420P, {media::Colour::Matrix::bt601, true}, SWS_BILINEAR) : nullptr;
        if (!encoder || !context || sws_scale(context, source.data, source.linesize, 0, source.height, small->data, small->linesize) <= 0) return no_copy();
        small->quality = encoder->global_quality;
        if (avcodec_send_frame(encoder.get(), small.get()) < 0 || avcodec_receive_packet(encoder.get(), packet.get()) < 0) return no_copy();
        if (::pwrite(copy->file_, packet->data, static_cast<std::size_t>(packet->size), written) != packet->size) return no_copy();
        copy->places_[index->at((*picture)->time)] = {written, packet->size};
        written += packet->size;
        av_packet_unref(packet.get());
        progress.report("Making a copy for scrubbing", static_cast<double>((*picture)->time.ns) / static_cast<double>(std::max<Nanos>(1, index->end().ns)));
    }
    const AVCodec* codec = avcodec_find_decoder(AV_CODEC_ID_MJPEG);
    copy->decoder_.reset(codec ? avcodec_alloc_context3(codec) : nullptr);
    if (!copy->decoder_) return no_copy();
    copy->decoder_->thread_count = 1;
    if (avcodec_open2(copy->decoder_.get(), codec, nullptr) < 0) return no_copy();
    return copy;
}

ReducedCopy::~ReducedCopy() {
    if (file_ >= 0) ::close(file_);
}

std::optional<media::Picture> ReducedCopy::frame(std::size_t i) {
    if (i >= places_.size() || places_[i].size == 0) return std::nullopt;
    const std::lock_guard lock(mutex_);
    media::PacketPtr packet(av_packet_alloc());
    if (!packet || av_new_packet(packet.get(), places_[i].size) < 0) return std::nullopt;
    if (::pread(file_, packet->data, static_cast<std::size_t>(packet->size), places_[i].at) != packet->size) return std::nullopt;
    std::shared_ptr<AVFrame> frame(av_frame_alloc(), media::LibavDelete{});
    if (avcodec_send_packet(decoder_.get(), packet.get()) < 0 || avcodec_receive_frame(decoder_.get(), frame.get()) < 0) return std::nullopt;
    return media::Picture{std::move(frame), {0}};
}

}  // namespace canalogue::editor
