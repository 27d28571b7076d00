#include "app/desk/sampling.hpp"

#include <algorithm>
#include <chrono>

#include "app/desk/work_queue.hpp"
#include "app/media/sound_reader.hpp"
#include "export/cover_fill.hpp"

namespace canalogue::desk {

namespace {

constexpr std::size_t kMostWaiting = 8;  // pictures before each plugin, 6 MB each at 1080 lines
constexpr std::chrono::milliseconds kBlink{50};

}  // namespace

std::vector<RecordingSpan> in_pieces(const std::vector<RecordingSpan>& spans) {
    std::vector<RecordingSpan> out;
    for (const auto& s : spans)
        for (RecordingTime t = s.start; t < s.end; t = t + kPluginSpan) out.push_back({t, std::min(t + kPluginSpan, s.end)});
    return out;
}

Size shrunk(Size size, int longest) {
    const int longer = std::max(size.w, size.h);
    if (longest <= 0 || longer <= longest) return size;
    return {std::max(1, size.w * longest / longer), std::max(1, size.h * longest / longer)};
}

Sampler::Sampler(RecordingTime start, double per_second) : step_(per_second > 0 ? nanos_from_seconds(1 / per_second) : 1), next_(start) {}

std::optional<RecordingTime> Sampler::take(RecordingTime shown, RecordingTime until) {
    if (until <= next_) return std::nullopt;
    const RecordingTime instant = std::max(shown, next_);
    next_ = next_ + ((std::max<Nanos>(0, shown - next_) / step_) + 1) * step_;
    return instant;
}

bool Offering::Turn::sees() const { return size.w > 0 && !queue->failed(); }

Offering::Offering(const Desk& desk, const Recording& recording, Times times, std::string stage, const Progress& progress)
    : desk_(desk), recording_(recording), times_(times), stage_(std::move(stage)), progress_(progress) {}
Offering::~Offering() = default;

Size Offering::shown_to(const PluginProcess& plugin) const {
    if (!plugin.wants_frames() || recording_.stored.w == 0) return {};
    return shrunk(upright_size(recording_.stored, recording_.rotation), plugin.longest_side());
}

Result<std::vector<Result<void>>> Offering::offer(const std::vector<PluginProcess*>& plugins, RecordingSpan span, const End& end) {
    auto started = start(plugins, span, end);
    if (!started) return started.failure();
    return finish(std::move(*started));
}

Result<Offering::Started> Offering::start(const std::vector<PluginProcess*>& plugins, RecordingSpan span, const End& end) {
    Started turns;
    for (auto* plugin : plugins) {
        auto& queue = queues_[plugin];
        if (!queue) queue = std::make_shared<WorkQueue>(kMostWaiting);
        turns.push_back({plugin, Sampler(span.start, plugin->samples_per_second()), shown_to(*plugin), queue, std::make_shared<std::atomic<bool>>(false)});
        queue->give([plugin, span] { return plugin->begin_span(span); });
    }
    if (auto ok = show(turns, span); !ok) return ok.failure();
    if (auto ok = play(turns, span); !ok) return ok.failure();
    for (std::size_t i = 0; i < turns.size(); ++i)
        turns[i].queue->give([end, i, ended = turns[i].ended]() -> Result<void> {
            auto done = end(i);
            if (done) *ended = true;
            return done;
        });
    return turns;
}

Result<std::vector<Result<void>>> Offering::finish(Started turns) {
    std::vector<Result<void>> out;
    for (auto& turn : turns) {
        while (!*turn.ended && !turn.queue->failed()) {
            if (progress_.stopped()) {
                // What `end` writes to may be gone when this returns.
                for (auto& t : turns) t.queue->drop();
                queues_.clear();
                return cancelled();
            }
            turn.queue->wait(kBlink);
        }
        if (*turn.ended) {
            out.emplace_back();
            continue;
        }
        out.push_back(turn.queue->finish());
        // Whoever tries again begins anew.
        if (const auto of = queues_.find(turn.plugin); of != queues_.end() && of->second == turn.queue) queues_.erase(of);
    }
    return out;
}

void Offering::settle(PluginProcess& plugin) {
    const auto of = queues_.find(&plugin);
    if (of == queues_.end()) return;
    while (!of->second->wait(kBlink)) {
    }
    // A failed one ends its thread and makes room for another.
    if (of->second->failed()) (void)of->second->finish(), queues_.erase(of);
}

Result<void> Offering::open() {
    if (reader_) return {};
    auto index = desk_.index(recording_, progress_);
    if (!index) return index.failure();
    auto reader = media::FrameReader::open(recording_.path);
    if (!reader) return reader.failure();
    index_ = *index;
    reader_.emplace(std::move(*reader));
    reader_->use_index(index_);
    return {};
}

Result<void> Offering::show(std::vector<Turn>& turns, RecordingSpan span) {
    if (std::none_of(turns.begin(), turns.end(), [](const Turn& t) { return t.sees(); })) return {};
    if (auto ok = open(); !ok) return ok;
    if (auto ok = reader_->seek(span.start); !ok) return ok;
    for (;;) {
        if (progress_.stopped()) return cancelled();
        auto picture = reader_->next();
        if (!picture) return picture.failure();
        if (!*picture || (*picture)->time >= span.end) return {};
        // The frame that is on screen when the span begins may have begun before it.
        const RecordingTime shown = std::max((*picture)->time, span.start);
        const std::size_t i = index_->at((*picture)->time);
        const RecordingTime until = i + 1 < index_->size() ? index_->time(i + 1) : index_->end();
        if (auto ok = show_frame(turns, **picture, shown, until, span); !ok) return ok;
    }
}

Result<void> Offering::show_frame(std::vector<Turn>& turns, media::Picture& picture, RecordingTime shown, RecordingTime until, RecordingSpan span) {
    std::map<int, std::shared_ptr<const media::RgbPicture>> converted;
    for (auto& turn : turns) {
        if (!turn.sees()) continue;
        const auto instant = turn.sampler.take(shown, until);
        if (!instant || (times_ == Times::instants && !span.holds(*instant))) continue;
        const int side = turn.plugin->longest_side();
        auto& rgb = converted[side];
        if (!rgb) {
            if (covers_ && converted.size() == 1)
                if (auto laid = film::lay_covers(picture, covers_->boxes_during({shown, until}, picture.size()), CoverLook::soft); !laid) return laid;
            auto made = converters_[side].convert(picture, recording_.rotation, side, media::Scaler::kQuick);
            if (!made) return made.failure();
            rgb = std::make_shared<const media::RgbPicture>(std::move(*made));
        }
        const RecordingTime told = times_ == Times::instants ? *instant : shown;
        turn.queue->give([plugin = turn.plugin, rgb, told] { return plugin->frame(told, rgb->pixels.data(), rgb->size.w, rgb->size.h, rgb->stride()); });
    }
    if (!converted.empty()) tell(shown);
    return {};
}

void Offering::tell(RecordingTime t) const {
    progress_.report(stage_, static_cast<double>(t.ns) / static_cast<double>(std::max<Nanos>(1, recording_.only.end.ns)));
}

Result<void> Offering::play(std::vector<Turn>& turns, RecordingSpan span) {
    const auto hears = [&](const Turn& t) { return recording_.has_sound && t.plugin->wants_sound() && !t.queue->failed(); };
    if (std::none_of(turns.begin(), turns.end(), hears)) return {};
    auto heard = media::read_sound(recording_.path, recording_.zero, span, {}, progress_);
    if (!heard) return heard.failure();
    const std::size_t count = heard->size() / media::kSoundChannels;
    for (std::size_t at = 0; at < count; at += media::kSoundRate) {
        if (progress_.stopped()) return cancelled();
        const auto mono = std::make_shared<const std::vector<float>>(media::as_mono(*heard, at, std::min<std::size_t>(media::kSoundRate, count - at)));
        const RecordingTime t = span.start + static_cast<Nanos>(at / media::kSoundRate) * kSecond;
        for (auto& turn : turns)
            if (hears(turn)) turn.queue->give([plugin = turn.plugin, mono, t] { return plugin->sound(t, *mono); });
        tell(t);
    }
    return {};
}

}  // namespace canalogue::desk
