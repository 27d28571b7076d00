#include "app/editor/film_preview.hpp"

#include <GLFW/glfw3.h>
#include <imgui.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/media/sound_reader.hpp"
#include "export/captions.hpp"

namespace canalogue::editor {

namespace {

constexpr std::size_t kReady = 30;  // frames composed ahead

// Everything in a film is laid out by its size, so a smaller one looks the same; and it is made in time. No larger than it
// stands on the screen.
Size preview_size(Size film, Size room) {
    constexpr int kLonger = 960, kLeast = 480;
    const double scale = std::min({1.0, static_cast<double>(kLonger) / std::max(film.w, film.h),
                                   std::max(std::min(static_cast<double>(room.w) / film.w, static_cast<double>(room.h) / film.h), static_cast<double>(kLeast) / std::max(film.w, film.h))});
    const auto shrunk = [&](int v) { return (static_cast<int>(v * scale) + 1) & ~1; };
    return {shrunk(film.w), shrunk(film.h)};
}

// The narration of the film from a sample on.
SoundPlayer::Made voice_of(const std::shared_ptr<film::Narration>& voice, const film::Schedule& schedule) {
    struct Line {
        std::int64_t start;
        std::size_t number;
    };
    std::vector<Line> lines;
    for (std::size_t i = 0; i < schedule.lines.size(); ++i) lines.push_back({schedule.lines[i].start.ns * 48 / kMillisecond, i});
    const std::int64_t whole = schedule.length() * 48 / kMillisecond;
    return [voice, lines, whole](std::int64_t from, std::int64_t count) {
        count = std::min(count, whole - from);
        std::vector<float> out(count > 0 ? static_cast<std::size_t>(count) * 2 : 0);
        for (const auto& line : lines) {
            const std::int64_t a = std::max(from, line.start), b = std::min(from + count, line.start + voice->samples(line.number));
            if (a >= b) continue;
            std::size_t i = static_cast<std::size_t>(a - from) * 2;
            for (const std::int16_t s : voice->read(line.number, a - line.start, b - a)) {
                const float v = static_cast<float>(s) / 32768.0f;
                out[i++] += v;
                out[i++] += v;
            }
        }
        return out;
    };
}

std::vector<film::Cue> cues_of(const Plan& plan, const film::Schedule& schedule, const film::Narration& voice) {
    std::vector<film::Cue> cues;
    for (std::size_t i = 0; i < schedule.lines.size(); ++i) {
        const auto& placed = schedule.lines[i];
        const auto more = film::cues_for(narration_of(plan.items[placed.item])[placed.line].text, voice.words(i), placed.start, placed.length);
        cues.insert(cues.end(), more.begin(), more.end());
    }
    film::settle(cues, {schedule.length()});
    return cues;
}

}  // namespace

FilmPreview::~FilmPreview() { stop(); }

void FilmPreview::start(Wish wish, SoundPlayer& sound) {
    stop();
    wish.room = room_;
    sound_ = &sound;
    stop_ = false, ended_ = false, any_ = any_ && wish.goes_on, begun_ = false, still_ = wish.still;
    unheard_for_ = 0, shown_ = -1;
    position_ = static_cast<double>(wish.from) / kSecond;
    {
        const std::lock_guard lock(mutex_);
        trouble_.clear();
        outline_ = {};
    }
    thread_ = std::thread([this, wish = std::move(wish)]() mutable { run(std::move(wish)); });
}

void FilmPreview::stop() {
    if (!thread_.joinable()) return;
    stop_ = true;
    changed_.notify_all();
    thread_.join();
    sound_->stop();
    voice_ = nullptr;
    ready_.clear();
}

void FilmPreview::hear() {
    last_ = glfwGetTime();
    unheard_for_ = 0;
    if (voice_) sound_->play_made(voice_, static_cast<std::int64_t>(position_ * media::kSoundRate));
}

void FilmPreview::play(bool on) {
    if (!thread_.joinable() || on == !still_) return;
    still_ = !on;
    if (still_) return sound_->stop();
    if (due() + 1 >= std::lround(outline().length * rate_)) return go(0);
    const std::lock_guard lock(mutex_);
    if (begun_) hear();
}

void FilmPreview::go(double seconds) {
    if (!thread_.joinable()) return;
    sound_->stop();
    const std::lock_guard lock(mutex_);
    position_ = std::clamp(seconds, 0.0, std::max(0.0, outline_.length - 1.0 / rate_));
    ready_.clear();
    ++asked_;
    begun_ = false, ended_ = false;
    changed_.notify_all();
}

FilmPreview::Outline FilmPreview::outline() const {
    const std::lock_guard lock(mutex_);
    return outline_;
}

// The frame that belongs on the screen. What a division lost must not cost a frame.
long FilmPreview::due() const { return static_cast<long>(position_ * rate_ + 1e-6); }

void FilmPreview::fails(const Failure& failure) {
    const std::lock_guard lock(mutex_);
    trouble_ = failure.sentence;
}

// Every line, into a nameless file. None when it was stopped or could not be done, which then is told.
std::optional<FilmPreview::Spoken> FilmPreview::speak(const Wish& wish) {
    auto narration = film::Narration::in(wish.folder);
    if (!narration) return fails(narration.failure()), std::nullopt;
    Spoken out{std::make_shared<film::Narration>(std::move(*narration)), {}};
    for (const auto& item : wish.plan.items) {
        out.lengths.emplace_back();
        for (const auto& line : narration_of(item)) {
            if (stop_) return std::nullopt;
            const auto take = wish.takes.find(line.take);
            auto said = take != wish.takes.end() ? Result<film::Spoken>(take->second) : film::speak(line.text, wish.plan.language);
            if (!said) return fails(said.failure()), std::nullopt;
            out.lengths.back().push_back(said->length());
            if (auto kept = out.voice->add(*said); !kept) return fails(kept.failure()), std::nullopt;
        }
    }
    return out;
}

void FilmPreview::run(Wish wish) {
    const auto spoken = speak(wish);
    if (spoken) {
        wish.plan.film.captions = CaptionStyle::burnt;  // heard or not, they can be read
        wish.plan.film.size = preview_size(wish.plan.film.size, wish.room);
        const film::Schedule schedule = film::schedule(wish.plan, wish.events, spoken->lengths);
        const auto cues = cues_of(wish.plan, schedule, *spoken->voice);
        {
            const std::lock_guard lock(mutex_);
            voice_ = voice_of(spoken->voice, schedule);
            rate_ = schedule.frames_per_second;
            outline_.length = static_cast<double>(schedule.length()) / kSecond;
            for (const auto& piece : schedule.pieces)
                if (piece.item >= outline_.items.size()) outline_.items.push_back(schedule.time_of(piece.first).seconds());
            position_ = std::min(position_.load(), schedule.time_of(std::max(0L, schedule.frames - 1)).seconds());
        }
        std::vector<Recording> recordings;
        for (auto& s : wish.sources) s.look = wish.plan.film.covers;
        for (const auto& s : wish.sources) recordings.push_back(s.recording);
        film::Composer composer(wish.plan, schedule, wish.events, recordings, wish.vocabulary, cues, Audience::learners);
        compose(wish, schedule, composer);
    }
    ended_ = true;
    glfwPostEmptyEvent();
}

void FilmPreview::compose(const Wish& wish, const film::Schedule& schedule, film::Composer& composer) {
    film::PassagePictures pictures(wish.sources, composer.picture_room());
    Turn turn;
    while (const auto next = next_frame(turn, schedule.frames)) {
        const long n = *next;
        // Late frames are not made at all.
        if (begun_ && n < due() - 1) continue;
        const film::Piece& piece = schedule.piece_at(n);
        std::optional<film::ShownPictures> shown;
        if (const auto* passage = std::get_if<Passage>(&wish.plan.items[piece.item]))
            if (auto got = pictures.at(*passage, piece, n)) shown = std::move(*got);  // none where it cannot be read
        if (!hand_over(n, turn.asked, composer.compose(n, shown ? &*shown : nullptr))) return;
    }
}

// At the end it waits for another place to be asked for. None: it was stopped.
std::optional<long> FilmPreview::next_frame(Turn& turn, long frames) {
    std::unique_lock lock(mutex_);
    if (turn.asked == asked_ && turn.next >= frames) {
        ended_ = true;
        glfwPostEmptyEvent();
        changed_.wait(lock, [&] { return stop_ || turn.asked != asked_; });
    }
    if (stop_) return std::nullopt;
    if (turn.asked != asked_) turn = {asked_, due()};
    return turn.next++;
}

// Waits while enough is ready; what was begun before another place was asked for is thrown away. False when memory is short.
bool FilmPreview::hand_over(long number, int asked, media::FramePtr frame) {
    if (!frame) return false;
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return stop_ || asked != asked_ || ready_.size() < kReady; });
    if (asked != asked_) return true;
    const bool waited_for = ready_.empty();
    ready_.push_back({number, std::move(frame)});
    if (waited_for) glfwPostEmptyEvent();
    return true;
}

bool FilmPreview::moving() const {
    if (!on()) return false;
    const std::lock_guard lock(mutex_);
    if (ended_ && ready_.empty()) return false;
    return !still_ || !begun_;
}

double FilmPreview::until_next() const {
    constexpr double kLong = 0.05;
    const std::lock_guard lock(mutex_);
    if (!begun_ || ready_.empty()) return kLong;
    return static_cast<double>(ready_.front().number) / rate_ - (position_ + glfwGetTime() - last_);
}

// To what is heard; by the wall clock where nothing is.
void FilmPreview::move_on() {
    const double now = glfwGetTime(), passed = now - last_;
    last_ = now;
    if (const auto heard = sound_->heard(0)) {
        unheard_for_ = 0;
        position_ = std::max(position_.load(), static_cast<double>(heard->ns) / kSecond);
        return;
    }
    unheard_for_ += passed;
    if (!sound_->device() || unheard_for_ > SoundPlayer::kPatience) position_ = position_ + passed;
}

std::string FilmPreview::trouble() const {
    const std::lock_guard lock(mutex_);
    return trouble_;
}

void FilmPreview::draw(ImVec2 from, ImVec2 size) {
    media::FramePtr frame;
    if (begun_ && !still_) move_on();
    {
        const std::lock_guard lock(mutex_);
        if (!ready_.empty() && !begun_) {
            begun_ = true;
            if (!still_) hear();
        }
        while (!ready_.empty() && ready_.front().number <= due()) {
            frame = std::move(ready_.front().frame);
            shown_ = ready_.front().number;
            ready_.pop_front();
        }
        // Its last frame stays.
        if (ended_ && begun_ && ready_.empty() && !still_) {
            still_ = true;
            sound_->stop();
            position_ = std::max(0.0, outline_.length - 1.0 / rate_);
        }
    }
    changed_.notify_all();
    if (frame) {
        // What the composer makes is BT.709, limited range.
        frame->colorspace = AVCOL_SPC_BT709;
        frame->color_range = AVCOL_RANGE_MPEG;
        any_ = texture_.show({std::shared_ptr<AVFrame>(frame.release(), media::LibavDelete{}), {0}}, Rotation::none, Size{static_cast<int>(size.x), static_cast<int>(size.y)});
    }
    probe().mark("film", from.x, from.y, size.x, size.y, std::to_string(static_cast<long>(position_ * 1000)));
    const std::string sad = trouble();
    if (!any_ || !sad.empty()) {
        ImDrawList* draw_list = ImGui::GetWindowDrawList();
        draw_list->AddRectFilled(from, {from.x + size.x, from.y + size.y}, IM_COL32(0, 0, 0, 255));
        draw_list->AddText({from.x + px(20), from.y + px(20)}, colour(film::kMist), sad.empty() ? "Getting the film ready \u2026" : sad.c_str());
        return;
    }
    const float scale = std::min(size.x / static_cast<float>(texture_.size().w), size.y / static_cast<float>(texture_.size().h));
    const float w = static_cast<float>(texture_.size().w) * scale, h = static_cast<float>(texture_.size().h) * scale;
    const ImVec2 at{std::round(from.x + (size.x - w) / 2), std::round(from.y + (size.y - h) / 2)};
    picture_in(from, size, texture_.texture(), at, {at.x + w, at.y + h});
}

}  // namespace canalogue::editor
