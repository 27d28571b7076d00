#include "app/media/frame_index.hpp"

#include <algorithm>
#include <cstring>
#include <fstream>

#include "app/media/open_file.hpp"

namespace canalogue::media {

namespace {
constexpr char kMagic[8] = {'C', 'N', 'L', 'I', 'D', 'X', '0', '2'};
// Containers round declared lengths; less than this is not called a loss.
constexpr Nanos kRoundingSlack = 300 * kMillisecond;
}  // namespace

class IndexBuilder {
  public:
    IndexBuilder(std::filesystem::path path, OpenFile file, const Progress& progress)
        : path_(std::move(path)), file_(std::move(file)), progress_(progress) {}

    Result<FrameIndex> build() {
        index_.base_num_ = file_.stream()->time_base.num;
        index_.base_den_ = file_.stream()->time_base.den;
        const bool told = scan_packets();
        if (progress_.stopped()) return cancelled();
        if (!told || !labels_hold()) {
            if (auto decoded = decode_all(); !decoded) return decoded.failure();
        }
        if (index_.entries_.empty())
            return bad_media("The file holds no picture that can be decoded; export it again from the device.");
        index_.finish();
        state_loss();
        return std::move(index_);
    }

  private:
    double share_read() const {
        const std::int64_t size = avio_size(file_.format->pb);
        return size > 0 ? std::min(1.0, static_cast<double>(avio_tell(file_.format->pb)) / static_cast<double>(size)) : 0;
    }

    void tell(double offset, double scale) const {
        progress_.report("Indexing the recording", offset + scale * share_read());
    }

    // False when a packet lacks a presentation time or two share one.
    bool scan_packets() {
        PacketPtr packet(av_packet_alloc());
        bool told = true;
        while (av_read_frame(file_.format.get(), packet.get()) >= 0) {
            if (progress_.stopped()) return false;
            if (packet->stream_index == file_.video && !(packet->flags & AV_PKT_FLAG_DISCARD)) {
                told = told && packet->pts != AV_NOPTS_VALUE;
                index_.entries_.push_back({packet->pts, packet->dts, (packet->flags & AV_PKT_FLAG_KEY) != 0});
                index_.last_duration_ = packet->duration;
                if (index_.entries_.size() % 512 == 0) tell(0, 1);
            }
            av_packet_unref(packet.get());
        }
        auto& e = index_.entries_;
        std::stable_sort(e.begin(), e.end(), [](const auto& a, const auto& b) { return a.pts < b.pts; });
        const auto twin = std::adjacent_find(e.begin(), e.end(), [](const auto& a, const auto& b) { return a.pts == b.pts; });
        return told && twin == e.end();
    }

    // Decodes the beginning: drops entries of pictures that never appear (a recording that starts
    // inside a group of pictures) and finds out whether labels come back as the packets gave them.
    bool labels_hold() {
        if (!restart()) return false;
        int seen = 0;
        bool hold = true;
        decode([&](const AVFrame& frame) {
            if (seen == 0) std::erase_if(index_.entries_, [&](const auto& e) { return e.pts < frame.pts; });
            hold = hold && frame.pts != AV_NOPTS_VALUE && index_.with_pts_raw(frame.pts);
            return hold && ++seen < 8;
        });
        return hold && seen > 0;
    }

    // A fresh demuxer: not every container can be wound back to its very beginning.
    Result<void> restart() {
        auto again = OpenFile::open(path_, 0);
        if (!again) return again.failure();
        file_ = std::move(*again);
        return {};
    }

    Result<void> decode_all() {
        index_.by_count_ = true;
        std::vector<std::int64_t> key_dts;
        for (const auto& e : index_.entries_) if (e.key) key_dts.push_back(e.dts);
        std::sort(key_dts.begin(), key_dts.end());
        index_.entries_.clear();
        if (auto again = restart(); !again) return again;
        std::size_t keys = 0;
        decode([&](const AVFrame& frame) {
            FrameIndex::Entry e;
            e.pts = frame.best_effort_timestamp;
            e.key = frame.key_frame && keys < key_dts.size();
            if (e.key) e.dts = key_dts[keys++];
            auto& all = index_.entries_;
            // A label that does not advance would make two frames one instant.
            if (e.pts == AV_NOPTS_VALUE || (!all.empty() && e.pts <= all.back().pts))
                e.pts = all.empty() ? 0 : all.back().pts + std::max<std::int64_t>(1, index_.last_duration_);
            all.push_back(e);
            if (all.size() % 64 == 0) tell(0, 1);
            return !progress_.stopped();
        });
        if (progress_.stopped()) return cancelled();
        return {};
    }

    // Calls `take` for each decoded frame until it says false.
    template <class Take>
    void decode(Take take) {
        PacketPtr packet(av_packet_alloc());
        FramePtr frame(av_frame_alloc());
        bool more = true, feeding = true;
        while (more) {
            if (feeding) {
                const int read = av_read_frame(file_.format.get(), packet.get());
                feeding = read >= 0;
                if (!feeding) avcodec_send_packet(file_.decoder.get(), nullptr);
                else if (packet->stream_index == file_.video) avcodec_send_packet(file_.decoder.get(), packet.get());
                av_packet_unref(packet.get());
            }
            int got = 0;
            while (more && (got = avcodec_receive_frame(file_.decoder.get(), frame.get())) >= 0) {
                more = take(*frame);
                av_frame_unref(frame.get());
            }
            if (got == AVERROR_EOF || (!feeding && got < 0)) return;
        }
    }

    void state_loss() {
        Nanos declared = 0;
        const AVStream& s = *file_.stream();
        if (s.duration > 0 && s.duration != AV_NOPTS_VALUE) declared = nanos_from_ticks(s.duration, s.time_base);
        else if (file_.format->duration > 0 && file_.format->duration_estimation_method != AVFMT_DURATION_FROM_BITRATE)
            declared = file_.format->duration * 1000;
        const Nanos missing = declared - index_.end_.ns;
        index_.lost_ = missing > kRoundingSlack ? missing : 0;
    }

    std::filesystem::path path_;
    OpenFile file_;
    const Progress& progress_;
    FrameIndex index_;
};

Result<FrameIndex> FrameIndex::build(const std::filesystem::path& path, const Progress& progress) {
    auto file = OpenFile::open(path, 0);
    if (!file) return file.failure();
    return IndexBuilder(path, std::move(*file), progress).build();
}

void FrameIndex::finish() {
    const AVRational base{base_num_, base_den_};
    times_.clear();
    times_.reserve(entries_.size());
    for (const auto& e : entries_) times_.push_back({nanos_from_ticks(e.pts - entries_[0].pts, base)});
    std::int64_t last = last_duration_;
    if (last <= 0 && entries_.size() > 1) last = entries_.back().pts - entries_[entries_.size() - 2].pts;
    end_ = {nanos_from_ticks(entries_.back().pts - entries_[0].pts + std::max<std::int64_t>(last, 1), base)};
}

std::size_t FrameIndex::at(RecordingTime t) const {
    const auto after = std::upper_bound(times_.begin(), times_.end(), t);
    return after == times_.begin() ? 0 : static_cast<std::size_t>(after - times_.begin()) - 1;
}

RecordingSpan FrameIndex::shown(std::size_t i) const {
    return {times_[i], i + 1 < times_.size() ? times_[i + 1] : std::max(end_, times_[i] + 1)};
}

RecordingSpan FrameIndex::shown_within(RecordingSpan part) const {
    if (part.empty() || times_.empty()) return part;
    return {std::min(part.start, shown(at(part.start)).start), std::max(part.end, shown(at(part.end - 1)).end)};
}

std::size_t FrameIndex::key_before(std::size_t i) const {
    while (i > 0 && !entries_[i].key) --i;
    return i;
}

bool FrameIndex::with_pts_raw(std::int64_t pts) const { return with_pts(pts).has_value(); }

std::optional<std::size_t> FrameIndex::with_pts(std::int64_t pts) const {
    const auto it = std::lower_bound(entries_.begin(), entries_.end(), pts,
                                     [](const Entry& e, std::int64_t p) { return e.pts < p; });
    if (it == entries_.end() || it->pts != pts) return std::nullopt;
    return static_cast<std::size_t>(it - entries_.begin());
}

std::optional<std::size_t> FrameIndex::key_with_dts(std::int64_t dts) const {
    // Keys keep their order in both clocks, but plain entries do not, hence the walk over keys.
    for (std::size_t i = 0; i < entries_.size(); ++i)
        if (entries_[i].key && entries_[i].dts == dts) return i;
    return std::nullopt;
}

namespace {
template <class T>
void put(std::string& out, const T& v) { out.append(reinterpret_cast<const char*>(&v), sizeof v); }
template <class T>
bool take(std::string_view& in, T& v) {
    if (in.size() < sizeof v) return false;
    std::memcpy(&v, in.data(), sizeof v);
    in.remove_prefix(sizeof v);
    return true;
}
}  // namespace

Result<void> FrameIndex::save(const std::filesystem::path& cache) const {
    std::string out(kMagic, sizeof kMagic);
    put(out, base_num_), put(out, base_den_), put(out, last_duration_), put(out, lost_);
    put(out, static_cast<std::uint8_t>(by_count_));
    put(out, static_cast<std::uint64_t>(entries_.size()));
    for (const auto& e : entries_) put(out, e.pts), put(out, e.dts), put(out, static_cast<std::uint8_t>(e.key));
    std::error_code ec;
    std::filesystem::create_directories(cache.parent_path(), ec);
    const auto part = cache.string() + ".part";
    {
        std::ofstream file(part, std::ios::binary);
        file.write(out.data(), static_cast<std::streamsize>(out.size()));
        if (!file.flush())
            return machine_trouble("The index could not be kept in the library's cache; free some disk space.");
    }
    std::filesystem::rename(part, cache, ec);
    if (ec) return machine_trouble("The index could not be kept in the library's cache; check its permissions.");
    return {};
}

std::optional<FrameIndex> FrameIndex::load(const std::filesystem::path& cache) {
    std::ifstream file(cache, std::ios::binary);
    if (!file) return std::nullopt;
    const std::string all((std::istreambuf_iterator<char>(file)), {});
    std::string_view in = all;
    if (in.substr(0, sizeof kMagic) != std::string_view(kMagic, sizeof kMagic)) return std::nullopt;
    in.remove_prefix(sizeof kMagic);
    FrameIndex index;
    std::uint8_t flag = 0;
    std::uint64_t count = 0;
    if (!take(in, index.base_num_) || !take(in, index.base_den_) || !take(in, index.last_duration_) ||
        !take(in, index.lost_) || !take(in, flag) || !take(in, count))
        return std::nullopt;
    constexpr std::size_t kEntryBytes = 17;
    if (index.base_num_ <= 0 || index.base_den_ <= 0 || count == 0 || in.size() != count * kEntryBytes)
        return std::nullopt;
    index.by_count_ = flag != 0;
    index.entries_.resize(count);
    for (auto& e : index.entries_) {
        take(in, e.pts), take(in, e.dts), take(in, flag);
        e.key = flag != 0;
    }
    index.finish();
    return index;
}

}  // namespace canalogue::media
