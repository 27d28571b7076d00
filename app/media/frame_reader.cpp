#include "app/media/frame_reader.hpp"

#include "app/media/open_file.hpp"

namespace canalogue::media {

namespace {
// Decoding this many frames forward costs less than a seek and a fresh start at a keyframe.
constexpr std::size_t kWalkRatherThanSeek = 12;
}  // namespace

struct FrameReader::State {
    std::filesystem::path path;
    int threads = 0;
    OpenFile file;
    RecordingFacts facts;
    PacketPtr packet{av_packet_alloc()};
    std::int64_t zero = 0;          // label of the first presented frame
    bool feeding = true;            // the demuxer has more
    std::shared_ptr<AVFrame> held;  // decoded, not yet handed out
    std::shared_ptr<const FrameIndex> index;
    std::optional<std::size_t> upcoming;  // index number of the frame `next` will give, once known

    // Decodes one frame; null at the end.
    std::shared_ptr<AVFrame> decode() {
        if (held) return std::exchange(held, nullptr);
        std::shared_ptr<AVFrame> frame(av_frame_alloc(), LibavDelete{});
        for (;;) {
            const int got = avcodec_receive_frame(file.decoder.get(), frame.get());
            if (got >= 0) return frame;
            if (got == AVERROR_EOF) return nullptr;
            // Errors of single packets are passed over: the decoder asks for the next one.
            if (!feed()) return nullptr;
        }
    }

    bool feed() {
        if (!feeding) return false;
        while (av_read_frame(file.format.get(), packet.get()) >= 0) {
            const bool ours = packet->stream_index == file.video;
            if (ours) avcodec_send_packet(file.decoder.get(), packet.get());
            av_packet_unref(packet.get());
            if (ours) return true;
        }
        feeding = false;
        avcodec_send_packet(file.decoder.get(), nullptr);
        return true;
    }

    // The label straight decoding gave this frame: by its own, or counted from a keyframe.
    std::optional<std::size_t> number_of(const AVFrame& frame) const {
        return index->with_pts(frame.pts != AV_NOPTS_VALUE ? frame.pts : frame.best_effort_timestamp);
    }

    Picture picture(std::shared_ptr<AVFrame> frame) const {
        const std::int64_t label = frame->pts != AV_NOPTS_VALUE ? frame->pts : frame->best_effort_timestamp;
        return {std::move(frame), {nanos_from_ticks(label - zero, file.stream()->time_base)}};
    }

    Result<void> reopen() {
        auto again = OpenFile::open(path, threads);
        if (!again) return again.failure();
        file = std::move(*again);
        feeding = true;
        held = nullptr;
        return {};
    }

    // Puts the demuxer at the keyframe with this index number, or at an earlier one. Says where it
    // landed; nullopt when the container cannot be wound there.
    std::optional<std::size_t> land_on(std::size_t key) {
        const auto& wanted = (*index)[key];
        const AVRational base = file.stream()->time_base;
        const std::int64_t second = ticks_from_nanos(kSecond, base) + 1;
        // Containers seek by decoding or by presentation time, and some land late: step back until
        // the keyframe found is not after the one wanted.
        for (int attempt = 0; attempt < 4; ++attempt) {
            const std::int64_t target = std::min(wanted.dts, wanted.pts) - attempt * attempt * second;
            if (av_seek_frame(file.format.get(), file.video, target, AVSEEK_FLAG_BACKWARD) < 0) continue;
            avcodec_flush_buffers(file.decoder.get());
            feeding = true;
            held = nullptr;
            while (av_read_frame(file.format.get(), packet.get()) >= 0) {
                const bool key_packet = packet->stream_index == file.video && (packet->flags & AV_PKT_FLAG_KEY);
                if (!key_packet) {
                    av_packet_unref(packet.get());
                    continue;
                }
                const auto found = index->key_with_dts(packet->dts);
                if (found && *found <= key) {
                    avcodec_send_packet(file.decoder.get(), packet.get());
                    av_packet_unref(packet.get());
                    return found;
                }
                av_packet_unref(packet.get());
                break;
            }
        }
        return std::nullopt;
    }

    // Decodes forward until frame i is the next to be given; false when it was passed or never came.
    bool walk_to(std::size_t i, std::optional<std::size_t> counted_from_key) {
        std::optional<std::size_t> count;
        while (auto frame = decode()) {
            std::optional<std::size_t> number;
            if (index->by_count()) {
                if (!counted_from_key) counted_from_key = 0, count = 0;
                else if (!count && frame->key_frame) count = *counted_from_key;
                else if (count) ++*count;
                number = count;
            } else {
                number = number_of(*frame);
            }
            if (!number || *number < i) continue;
            if (*number > i) return false;
            held = std::move(frame);
            upcoming = i;
            return true;
        }
        return false;
    }

    Result<void> bring(std::size_t i) {
        if (upcoming && *upcoming <= i && i - *upcoming <= kWalkRatherThanSeek) {
            while (*upcoming < i) {
                auto frame = decode();
                if (!frame) break;
                ++*upcoming;
            }
            if (*upcoming == i) return {};
        }
        for (std::size_t key = index->key_before(i);; key = index->key_before(key - 1)) {
            if (auto landed = land_on(key); landed && walk_to(i, landed)) return {};
            if (key == 0) break;
        }
        if (auto again = reopen(); !again) return again;
        if (walk_to(i, std::nullopt)) return {};
        return bad_media("The recording is damaged at " + format_time(index->time(i).ns) +
                         "; the picture there cannot be read.");
    }
};

FrameReader::FrameReader(std::unique_ptr<State> state) : state_(std::move(state)) {}
FrameReader::FrameReader(FrameReader&&) noexcept = default;
FrameReader& FrameReader::operator=(FrameReader&&) noexcept = default;
FrameReader::~FrameReader() = default;

Result<FrameReader> FrameReader::open(const std::filesystem::path& path, int threads) {
    auto file = OpenFile::open(path, threads);
    if (!file) return file.failure();
    auto state = std::make_unique<State>();
    state->path = path;
    state->threads = threads;
    state->file = std::move(*file);
    state->held = state->decode();
    if (!state->held)
        return bad_media("No picture of the file can be decoded; export it again from the device.");
    const AVFrame& first = *state->held;
    state->zero = first.pts != AV_NOPTS_VALUE ? first.pts : first.best_effort_timestamp;
    state->facts = facts_of(state->file, first);
    const std::string_view container = state->file.format->iformat->name;
    state->facts.still = container == "image2" || container.ends_with("_pipe");  // "jpeg_pipe", "png_pipe"
    state->facts.zero = nanos_from_ticks(state->zero, state->file.stream()->time_base);
    return FrameReader(std::move(state));
}

const RecordingFacts& FrameReader::facts() const { return state_->facts; }

void FrameReader::use_index(std::shared_ptr<const FrameIndex> index) {
    state_->index = std::move(index);
    state_->upcoming.reset();
    // Only a fresh reader still holds the first frame.
    if (state_->held && state_->index && state_->number_of(*state_->held) == std::size_t{0}) state_->upcoming = 0;
}

Result<std::optional<Picture>> FrameReader::next() {
    auto frame = state_->decode();
    if (!frame) {
        state_->upcoming.reset();
        return std::optional<Picture>{};
    }
    if (state_->upcoming && state_->index) {
        Picture p{std::move(frame), state_->index->time(std::min(*state_->upcoming, state_->index->size() - 1))};
        // The number is counted on; where labels tell, they are believed over the count.
        if (!state_->index->by_count())
            if (auto n = state_->number_of(*p.frame)) state_->upcoming = *n, p.time = state_->index->time(*n);
        ++*state_->upcoming;
        return std::optional<Picture>(std::move(p));
    }
    return std::optional<Picture>(state_->picture(std::move(frame)));
}

Result<void> FrameReader::seek(RecordingTime t) { return state_->bring(state_->index->at(t)); }

Result<Picture> FrameReader::at(RecordingTime t) { return frame(state_->index->at(t)); }

Result<Picture> FrameReader::frame(std::size_t i) {
    if (i >= state_->index->size()) return wrong_use("The recording has no such frame.");
    if (auto there = state_->bring(i); !there) return there.failure();
    auto got = next();
    if (!got) return got.failure();
    if (!*got) return bad_media("The recording ends before " + format_time(state_->index->time(i).ns) + ".");
    return std::move(**got);
}

}  // namespace canalogue::media
