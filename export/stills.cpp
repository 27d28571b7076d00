#include "export/stills.hpp"

#include <optional>

#include "export/encoder.hpp"

namespace canalogue::film {

namespace {

constexpr Nanos kReach = kSecond / 2;      // on each side of the event
constexpr Nanos kStep = kSecond / 10;

}  // namespace

Result<CoveredPicture> sharpest_near(PictureSource& source, const Recording& recording, RecordingTime at) {
    std::optional<CoveredPicture> best;
    double best_sharpness = -1;
    for (Nanos d = -kReach; d <= kReach; d += kStep) {
        const RecordingTime t = at + d;
        if (!recording.only.holds(t) || recording.ear_at(t) != recording.ear_at(at)) continue;
        auto picture = source.at(t);
        if (!picture) return picture;
        const double value = picture->whole_covered ? 0 : sharpness(*picture->frame);
        if (value > best_sharpness) best_sharpness = value, best = *picture;
    }
    if (best) return std::move(*best);
    return source.at(at);
}

double sharpness(const AVFrame& frame) {
    double sum = 0;
    for (int y = 2; y + 2 < frame.height; y += 2) {
        const std::uint8_t* row = frame.data[0] + static_cast<std::ptrdiff_t>(y) * frame.linesize[0];
        const int up = -frame.linesize[0], down = frame.linesize[0];
        for (int x = 2; x + 2 < frame.width; x += 2) {
            const int v = 4 * row[x] - row[x - 1] - row[x + 1] - row[x + up] - row[x + down];
            sum += v * v;
        }
    }
    return sum / (static_cast<double>(frame.width) * frame.height / 4);
}

namespace {

// Makes stills one after the other, with one recording open at a time.
class Stills {
  public:
    Stills(const std::vector<SourceRecording>& sources, Composer& composer) : sources_(sources), composer_(composer) {}

    // Null when the recording is not among the sources.
    Result<media::PacketPtr> make(const StillWanted& w) {
        if (auto ok = open(w.recording); !ok) return ok.failure();
        if (!open_) return media::PacketPtr{};
        auto picture = sharpest_near(*open_, current_->recording, w.at);
        if (!picture) return picture.failure();
        media::FramePtr still = composer_.still(*picture, w.ear, w.words);
        if (!still) return machine_trouble("There is not enough memory for a still; close other programs.");
        return jpeg_of(*still);
    }

  private:
    Result<void> open(const std::string& recording) {
        for (const auto& s : sources_)
            if (s.recording.id == recording && current_ != &s) {
                auto opened = PictureSource::open(s, {1280, 1280}, 0);
                if (!opened) return opened.failure();
                open_.emplace(std::move(*opened));
                current_ = &s;
            }
        return {};
    }

    const std::vector<SourceRecording>& sources_;
    Composer& composer_;
    std::optional<PictureSource> open_;
    const SourceRecording* current_ = nullptr;
};

}  // namespace

Result<void> write_stills(const std::filesystem::path& folder, const std::vector<StillWanted>& wanted, const std::vector<SourceRecording>& sources,
                          Composer& composer, const KeptStills& kept, const Progress& progress) {
    std::error_code ec;
    std::filesystem::create_directories(folder, ec);
    Stills stills(sources, composer);
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (progress.stopped()) return cancelled();
        progress.report("Making the stills", static_cast<double>(i) / static_cast<double>(wanted.size()));
        const auto file = folder / (wanted[i].name + ".jpg");
        const std::string key = kept.cache && i < kept.keys.size() ? kept.keys[i] : "";
        if (!key.empty() && kept.cache->holds(key)) {
            if (auto ok = kept.cache->replay(key, [&](AVPacket& jpeg) { return write_packet(file, jpeg); }); !ok) return ok;
            continue;
        }
        auto jpeg = stills.make(wanted[i]);
        if (!jpeg) return jpeg.failure();
        if (!*jpeg) continue;
        if (auto ok = write_packet(file, **jpeg); !ok) return ok;
        if (key.empty()) continue;
        const auto writer = kept.cache->begin(key);
        writer->add(**jpeg);
        writer->keep();
    }
    return {};
}

}  // namespace canalogue::film
