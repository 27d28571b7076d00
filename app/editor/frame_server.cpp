#include "app/editor/frame_server.hpp"

#include <GLFW/glfw3.h>

#include <algorithm>

extern "C" {
#include <libavutil/imgutils.h>
}

namespace canalogue::editor {

namespace {

constexpr std::size_t kMostBytes = 256u << 20;  // of decoded frames
constexpr std::size_t kAhead = 12, kBack = 16;  // frames
// Decoding this many frames forward costs less than a seek.
constexpr std::size_t kNear = 48;

std::size_t bytes_of(const media::Picture& p) {
    return static_cast<std::size_t>(std::max(0, av_image_get_buffer_size(static_cast<AVPixelFormat>(p.frame->format), p.frame->width, p.frame->height, 16)));
}

}  // namespace

FrameServer::FrameServer() : thread_([this] { run(); }) {}

FrameServer::~FrameServer() {
    {
        const std::lock_guard lock(mutex_);
        stop_ = true;
    }
    changed_.notify_all();
    thread_.join();
}

void FrameServer::use(std::vector<FrameSource> sources) {
    const std::lock_guard lock(mutex_);
    const auto same = [&](const std::string& recording) {
        const FrameSource* old = source(recording);
        const auto it = std::find_if(sources.begin(), sources.end(), [&](const FrameSource& s) { return s.recording == recording; });
        return old && it != sources.end() && old->path == it->path && old->index == it->index;
    };
    for (auto it = kept_.begin(); it != kept_.end();)
        if (same(it->first.first)) ++it;
        else bytes_ -= bytes_of(it->second), it = kept_.erase(it);
    sources_ = std::move(sources);
    ++generation_;
    failed_.reset();
    changed_.notify_all();
}

void FrameServer::want(const std::string& recording, std::size_t frame, int ahead) {
    const std::lock_guard lock(mutex_);
    const Key key{recording, frame};
    if (wish_.key == key && wish_.ahead == ahead) return;
    if (wish_.key != key) trouble_.clear();
    wish_ = {key, ahead, wish_.serial + 1};
    changed_.notify_all();
}

std::optional<media::Picture> FrameServer::take(const std::string& recording, std::size_t frame) {
    const std::lock_guard lock(mutex_);
    const auto it = kept_.find({recording, frame});
    return it == kept_.end() ? std::nullopt : std::optional(it->second);
}

std::string FrameServer::trouble() const {
    const std::lock_guard lock(mutex_);
    return trouble_;
}

bool FrameServer::busy() const {
    const std::lock_guard lock(mutex_);
    return source(wish_.key.first) && !kept_.count(wish_.key) && failed_ != wish_.key;
}

const FrameSource* FrameServer::source(const std::string& recording) const {
    for (const auto& s : sources_)
        if (s.recording == recording) return &s;
    return nullptr;
}

// What to decode now: the wish, then what comes next in its direction. Called with the lock held.
std::optional<FrameServer::Key> FrameServer::next_job(const Wish& wish) {
    const FrameSource* s = source(wish.key.first);
    if (!s || wish.key.second >= s->index->size()) return std::nullopt;
    if (!kept_.count(wish.key)) return failed_ == wish.key ? std::nullopt : std::optional(wish.key);
    if (wish.ahead > 0)
        for (std::size_t i = wish.key.second + 1; i <= wish.key.second + kAhead && i < s->index->size(); ++i)
            if (const Key k{wish.key.first, i}; !kept_.count(k)) return failed_ == k ? std::nullopt : std::optional(k);
    if (wish.ahead < 0)
        for (std::size_t back = 1; back <= kBack && back <= wish.key.second; ++back)
            if (const Key k{wish.key.first, wish.key.second - back}; !kept_.count(k)) return failed_ == k ? std::nullopt : std::optional(k);
    return std::nullopt;
}

void FrameServer::run() {
    for (;;) {
        Key job;
        std::uint64_t serial = 0;
        {
            std::unique_lock lock(mutex_);
            std::optional<Key> next;
            changed_.wait(lock, [&] { return stop_ || (next = next_job(wish_)); });
            if (stop_) return;
            job = *next;
            serial = wish_.serial;
        }
        decode_to(job, serial);
    }
}

// The hand has moved on, to somewhere this work does not lead to.
bool FrameServer::superseded(std::uint64_t serial, const Key& target) const {
    const std::lock_guard lock(mutex_);
    if (stop_ || reading_generation_ != generation_) return true;
    if (serial == wish_.serial) return false;
    return wish_.key.first != target.first || wish_.key.second < position_ || wish_.key.second > target.second + kNear;
}

bool FrameServer::bring_reader(const Key& target) {
    FrameSource s;
    {
        const std::lock_guard lock(mutex_);
        const FrameSource* found = source(target.first);
        if (!found) return false;
        s = *found;
        if (reading_generation_ != generation_) reader_.reset();
        reading_generation_ = generation_;
    }
    if (!reader_ || reading_ != target.first) {
        auto opened = media::FrameReader::open(s.path);
        if (!opened) return fail(opened.failure().sentence, target), false;
        reader_.emplace(std::move(*opened));
        reader_->use_index(s.index);
        reading_ = target.first;
        position_ = s.index->size() + 1;  // nowhere yet
    }
    const std::size_t key = s.index->key_before(target.second);
    const bool near = position_ <= target.second && (key <= position_ || target.second - position_ < kNear);
    if (near) return true;
    if (auto ok = reader_->seek(s.index->time(key)); !ok) return fail(ok.failure().sentence, target), false;
    position_ = key;
    return true;
}

void FrameServer::decode_to(const Key& target, std::uint64_t serial) {
    if (!bring_reader(target)) return;
    std::shared_ptr<const media::FrameIndex> index;
    {
        const std::lock_guard lock(mutex_);
        const FrameSource* s = source(target.first);
        if (!s) return;
        index = s->index;
    }
    while (position_ <= target.second) {
        auto picture = reader_->next();
        if (!picture) return fail(picture.failure().sentence, target);
        if (!*picture) return fail("This part of the recording cannot be decoded.", target);
        const std::size_t i = index->at((*picture)->time);
        position_ = i + 1;
        keep({target.first, i}, std::move(**picture));
        if (superseded(serial, target)) return;
    }
    const std::lock_guard lock(mutex_);
    // A damaged frame may have been passed over: then its place stays empty, and that is said.
    if (!kept_.count(target)) failed_ = target, trouble_ = "This frame is damaged in the file.";
}

void FrameServer::keep(Key key, media::Picture picture) {
    const std::lock_guard lock(mutex_);
    if (kept_.count(key)) return;
    bytes_ += bytes_of(picture);
    kept_.emplace(key, std::move(picture));
    // The frames farthest from the wish go first, other recordings' before all.
    while (bytes_ > kMostBytes && kept_.size() > 1) {
        const auto distance = [&](const Key& k) {
            if (k.first != wish_.key.first) return SIZE_MAX;
            return k.second > wish_.key.second ? k.second - wish_.key.second : wish_.key.second - k.second;
        };
        auto worst = kept_.begin();
        for (auto it = kept_.begin(); it != kept_.end(); ++it)
            if (distance(it->first) > distance(worst->first)) worst = it;
        bytes_ -= bytes_of(worst->second);
        kept_.erase(worst);
    }
    if (key == wish_.key) glfwPostEmptyEvent();
}

void FrameServer::fail(const std::string& sentence, const Key& key) {
    const std::lock_guard lock(mutex_);
    failed_ = key;
    if (key == wish_.key) trouble_ = sentence;
    glfwPostEmptyEvent();
}

}  // namespace canalogue::editor
