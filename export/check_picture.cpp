#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <memory>

#include "app/media/frame_reader.hpp"
#include "app/media/open_file.hpp"
#include "export/check_parts.hpp"
#include "export/flashes.hpp"
#include "export/second_reader.hpp"
#include "export/view_changes.hpp"

namespace canalogue::film {

namespace {

using Outcome = CheckLook::Outcome;

// Sampling of the finished film; the spotter asks for its own rate.
constexpr Nanos kSpanLength = 10 * kSecond;
constexpr int kSecondReaderFrames = 48;  // spread evenly over the film
constexpr Nanos kMostStretched = 8;       // times: the quickest pace of a plan
constexpr int kMostFlashes = 60;          // reading each takes its time

// Frames of a film in order of presentation, with pictures that an edit list hides.
class WholeFilm {
  public:
    static Result<WholeFilm> open(const std::filesystem::path& film) {
        media::quiet_libav();
        WholeFilm out;
        AVFormatContext* raw = nullptr;
        AVDictionary* options = nullptr;
        av_dict_set(&options, "ignore_editlist", "1", 0);
        const int opened = avformat_open_input(&raw, ("file:" + film.string()).c_str(), nullptr, &options);
        av_dict_free(&options);
        if (opened < 0) return bad_media("The film cannot be opened: " + media::libav_words(opened) + ".");
        out.format_.reset(raw);
        const AVCodec* codec = nullptr;
        if (avformat_find_stream_info(raw, nullptr) < 0 || (out.video_ = av_find_best_stream(raw, AVMEDIA_TYPE_VIDEO, -1, -1, &codec, 0)) < 0 || !codec)
            return bad_media("The film has no pictures to read.");
        out.decoder_.reset(avcodec_alloc_context3(codec));
        if (!out.decoder_ || avcodec_parameters_to_context(out.decoder_.get(), raw->streams[out.video_]->codecpar) < 0)
            return machine_trouble("There is not enough memory to open the film; close other programs.");
        out.decoder_->thread_count = 0;
        if (avcodec_open2(out.decoder_.get(), codec, nullptr) < 0) return bad_media("The film's pictures cannot be decoded.");
        out.rotation_ = media::rotation_of(*raw->streams[out.video_]);
        if (raw->duration > 0) out.length_ = raw->duration * 1000;
        return out;
    }

    Rotation rotation() const { return rotation_; }
    Nanos length() const { return std::max<Nanos>(length_, 1); }

    // Null at the end.
    std::optional<media::Picture> next() {
        for (;;) {
            std::shared_ptr<AVFrame> frame(av_frame_alloc(), media::LibavDelete{});
            const int got = avcodec_receive_frame(decoder_.get(), frame.get());
            if (got >= 0) {
                if (zero_ == AV_NOPTS_VALUE) zero_ = frame->best_effort_timestamp;
                const RecordingTime t{media::nanos_from_ticks(frame->best_effort_timestamp - zero_, format_->streams[video_]->time_base)};
                return media::Picture{std::move(frame), t};
            }
            if (got == AVERROR_EOF || !feed()) return std::nullopt;
        }
    }

  private:
    bool feed() {
        while (av_read_frame(format_.get(), packet_.get()) >= 0) {
            const bool ours = packet_->stream_index == video_;
            if (ours) avcodec_send_packet(decoder_.get(), packet_.get());
            av_packet_unref(packet_.get());
            if (ours) return true;
        }
        return avcodec_send_packet(decoder_.get(), nullptr) >= 0;
    }

    media::FormatPtr format_;
    media::CodecPtr decoder_;
    media::PacketPtr packet_{av_packet_alloc()};
    int video_ = -1;
    std::int64_t zero_ = AV_NOPTS_VALUE;
    Rotation rotation_ = Rotation::none;
    Nanos length_ = 0;
};

void add_once(std::vector<CheckPlace>& places, const std::vector<CheckPlace>& more) {
    for (const auto& p : more)
        if (std::none_of(places.begin(), places.end(), [&](const CheckPlace& q) { return q.what == p.what && q.where == p.where; })) places.push_back(p);
}

std::string at_time(Nanos t) { return "in the picture at " + format_clock(t); }

// The film's picture with its turn and mirroring undone: mirrored pictures are undone by doing the same again.
media::Picture as_filmed(const media::Picture& picture, const ViewChange& view) {
    ViewChange undo;
    undo.mirrored = view.mirrored;
    undo.turn = view.mirrored ? view.turn : -view.turn;
    if (picture.frame->format != AV_PIX_FMT_YUV420P) return picture;
    auto frame = ViewChanger().apply(picture.frame, undo, {});
    return frame ? media::Picture{frame, picture.time} : picture;
}

MadeHow made_how(const CheckOptions& options, RecordingTime t) { return options.made_how ? options.made_how({t.ns}) : MadeHow{}; }

bool any_changed(const CheckOptions& options, Nanos length) {
    constexpr Nanos kLook = kSecond / 5;
    for (Nanos t = 0; options.made_how && t < length; t += kLook)
        if (options.made_how({t}).view.shape_changed()) return true;
    return false;
}

CheckLook not_done(const std::string& name, const std::string& why) { return {Outcome::not_done, name, why, {}}; }

// The time that a spotter is told: where the film goes by quickly, as long as it took in the recording. A spotter looks every
// so often, and somebody who was seen for seconds is in the film for a moment.
class StretchedClock {
  public:
    RecordingTime tell(RecordingTime film, double pace) {
        const Nanos passed = film - last_;
        now_ = now_ + (pace > 1 ? static_cast<Nanos>(static_cast<double>(passed) * pace) : passed);
        last_ = film;
        if (told_.empty() || told_.back().first < now_) told_.emplace_back(now_, film);
        return now_;
    }
    // Of the frame that was told last by then.
    RecordingTime film_time(RecordingTime told) const {
        const auto after = std::upper_bound(told_.begin(), told_.end(), told, [](RecordingTime t, const auto& pair) { return t < pair.first; });
        return after == told_.begin() ? RecordingTime{0} : std::prev(after)->second;
    }

  private:
    RecordingTime last_{0}, now_{0};
    std::vector<std::pair<RecordingTime, RecordingTime>> told_;  // as told, and of the film
};

// Feeds the film to a spotter span by span and takes what it proposes as places.
class Watching {
  public:
    using Take = std::function<std::vector<CheckPlace>(const Proposal&)>;
    // `undone`: only what is turned or mirrored, and that as it was filmed.
    Watching(WholeFilm& film, SpotterProcess& spotter, const Take& take, const CheckOptions& options, bool undone, const Progress& progress)
        : film_(film), spotter_(spotter), take_(take), options_(options), undone_(undone), progress_(progress) {}

    Result<CheckLook> run(CheckLook look) {
        const Nanos step = spotter_.samples_per_second() > 0 ? nanos_from_seconds(1 / spotter_.samples_per_second()) : 1;
        RecordingTime next{0}, span_end{0};
        bool begun = false;
        while (auto picture = film_.next()) {
            if (progress_.stopped()) return cancelled();
            const MadeHow how = made_how(options_, picture->time);
            const RecordingTime told = clock_.tell(picture->time, how.pace);
            if (told < next) continue;
            next = told + step;
            if (undone_ && !how.view.shape_changed()) continue;
            if (undone_) *picture = as_filmed(*picture, how.view);
            auto rgb = converter_.convert(*picture, film_.rotation(), spotter_.longest_side());
            if (!rgb) return rgb.failure();
            if (begun && told >= span_end) {
                if (auto done = close(look); !done) return done.failure();
                begun = false;
            }
            if (!begun) {
                if (auto ok = begin(*rgb, told); !ok) return not_done(look.name, ok.failure().sentence);
                span_end = told + kSpanLength;
                begun = true;
            }
            if (auto ok = spotter_.frame(told, rgb->pixels.data(), rgb->size.w, rgb->size.h, rgb->stride()); !ok)
                return not_done(look.name, ok.failure().sentence);
            progress_.report("Reading the finished film", static_cast<double>(picture->time.ns) / static_cast<double>(film_.length()));
        }
        if (begun)
            if (auto done = close(look); !done) return done.failure();
        if (!failure_.empty()) return not_done(look.name, failure_);
        if (!look.places.empty()) look.outcome = Outcome::finding;
        return look;
    }

  private:
    Result<void> begin(const media::RgbPicture& rgb, RecordingTime t) {
        if (!introduced_)
            if (auto ok = spotter_.begin_recording({rgb.size, film_.length() * kMostStretched}); !ok) return ok;
        introduced_ = true;
        return spotter_.begin_span({t, t + kSpanLength});
    }

    Result<void> close(CheckLook& look) {
        auto found = spotter_.end_span();
        if (!found) {
            failure_ = found.failure().sentence;
            if (auto again = spotter_.restart(); !again) return again;
            return {};
        }
        for (auto& p : *found) {
            p.span = {clock_.film_time(p.span.start), clock_.film_time(p.span.end)};
            for (auto& point : p.track) point.t = clock_.film_time(point.t);
            add_once(look.places, take_(p));
        }
        return {};
    }

    WholeFilm& film_;
    SpotterProcess& spotter_;
    const Take& take_;
    const CheckOptions& options_;
    bool undone_;
    const Progress& progress_;
    media::RgbConverter converter_;
    bool introduced_ = false;
    std::string failure_;
    StretchedClock clock_;
};

}  // namespace

namespace {

Result<CheckLook> watch(const std::filesystem::path& path, const PluginInfo* plugin, const CheckOptions& options, CheckLook look, Watching::Take take, const Progress& progress) {
    if (!plugin) return not_done(look.name, "its spotter is not installed");
    if (!plugin->available) return not_done(look.name, plugin->why_not);
    for (const bool undone : {false, true}) {
        auto film = WholeFilm::open(path);
        if (!film) return not_done(look.name, film.failure().sentence);
        if (undone && !any_changed(options, film->length())) break;
        auto spotter = SpotterProcess::start(*plugin, options.host);
        if (!spotter) return not_done(look.name, spotter.failure().sentence);
        auto watched = Watching(*film, *spotter, take, options, undone, progress).run(std::move(look));
        if (!watched || watched->outcome == Outcome::not_done) return watched;
        look = std::move(*watched);
        if (undone) look.words += "; what is turned or mirrored, as it was filmed as well";
    }
    return look;
}

// When a face was really seen: the spotter adds an instant before and one after, at which it was not.
std::vector<FilmTime> seen_at(const Proposal& p) {
    std::vector<FilmTime> out;
    for (std::size_t i = 1; i + 1 < p.track.size(); ++i) out.push_back({p.track[i].t.ns});
    if (out.empty()) out.push_back({p.track.size() > 1 ? p.track[1].t.ns : p.span.start.ns});
    return out;
}

}  // namespace

Result<CheckLook> read_pictures(const std::filesystem::path& path, const CheckOptions& options, const Progress& progress) {
    const CheckLook look{Outcome::clean, "Text in pictures", "read by the burnt-in text spotter, several times a second", {}};
    return watch(path, options.text_spotter, options, look, [&](const Proposal& p) { return identifying(p.words, at_time(p.span.start.ns), options, FilmTime{p.span.start.ns}); }, progress);
}

Result<CheckLook> look_for_faces(const std::filesystem::path& path, const CheckOptions& options, const Progress& progress) {
    const CheckLook look{Outcome::clean, "Faces and people", "looked for by three nets, once or twice a second", {}};
    return watch(path, options.face_spotter, options, look, [](const Proposal& p) {
        if (p.kind != SuspectKind::face || p.sureness < kSureFace) return std::vector<CheckPlace>{};
        const auto seen = seen_at(p);
        return std::vector<CheckPlace>{{"a face or a person", at_time(seen.front().ns), SuspectKind::outside, false, seen, p.sureness}};
    }, progress);
}

Result<CheckLook> read_pictures_again(const std::filesystem::path& path, const CheckOptions& options, const Progress& progress) {
    CheckLook look{Outcome::clean, "Text in pictures, again", "read by Tesseract, a second and independent reader; what flashes for a few frames, too", {}};
    auto film = WholeFilm::open(path);
    if (!film) return not_done(look.name, film.failure().sentence);
    SecondReader reader;
    if (!reader.ready()) return not_done(look.name, SecondReader::kMissing);
    const Nanos step = std::max<Nanos>(film->length() / kSecondReaderFrames, 2 * kSecond);
    RecordingTime next{std::min<Nanos>(step / 2, film->length() / 2)};
    Flashes flashes;
    int flashes_read = 0;
    const auto read = [&](const media::Picture& picture) -> Result<void> {
        auto text = reader.read(picture, film->rotation());
        if (!text) return text.failure();
        add_once(look.places, identifying(*text, at_time(picture.time.ns), options, FilmTime{picture.time.ns}));
        return {};
    };
    while (auto picture = film->next()) {
        if (progress.stopped()) return cancelled();
        // Players make something up for what they cannot decode, and so would the eyes of this check see it.
        if (picture->frame->decode_error_flags != 0 || (picture->frame->flags & AV_FRAME_FLAG_CORRUPT) != 0)
            add_once(look.places, {{"a picture that cannot be decoded", at_time(picture->time.ns)}});
        if (auto flash = flashes.see(*picture); flash && flashes_read < kMostFlashes) {
            ++flashes_read;
            if (auto ok = read(*flash); !ok) return ok.failure();
        }
        if (picture->time < next) continue;
        next = picture->time + step;
        if (auto ok = read(*picture); !ok) return ok.failure();
        if (const auto view = made_how(options, picture->time).view; view.shape_changed())
            if (auto ok = read(as_filmed(*picture, view)); !ok) return ok.failure();
        progress.report("Reading the finished film again", static_cast<double>(picture->time.ns) / static_cast<double>(film->length()));
    }
    if (flashes_read == kMostFlashes) look.words += " (the first " + std::to_string(kMostFlashes) + ")";
    if (!look.places.empty()) look.outcome = Outcome::finding;
    return look;
}

}  // namespace canalogue::film
