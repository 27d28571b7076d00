#include "demo_media/labelled/make.hpp"

#include <cmath>
#include <fstream>
#include <opencv2/core/utility.hpp>
#include <optional>
#include <sodium.h>

#include "app/media/file_hash.hpp"
#include "demo_media/frame_line.hpp"
#include "demo_media/labelled/media_file.hpp"
#include "demo_media/labelled/truth_book.hpp"

namespace canalogue::demo::labelled {

namespace {

namespace fs = std::filesystem;

class Sha {
public:
    Sha() { crypto_hash_sha256_init(&state_); }
    void add(const void* bytes, std::size_t count) {
        crypto_hash_sha256_update(&state_, static_cast<const unsigned char*>(bytes), count);
    }
    std::string hexadecimal() {
        unsigned char digest[crypto_hash_sha256_BYTES];
        crypto_hash_sha256_final(&state_, digest);
        char text[2 * sizeof digest + 1];
        sodium_bin2hex(text, sizeof text, digest, sizeof digest);
        return text;
    }

private:
    crypto_hash_sha256_state state_;
};

FileForm form_of(const Recipe& r) {
    FileForm f;
    f.container = r.form.container, f.video = r.form.video, f.sound = r.form.sound;
    f.size = r.form.size, f.rate = r.form.rate, f.ticks = r.form.variable ? 1000 : r.form.rate;
    f.interlaced = r.form.interlaced, f.turned = r.form.turned, f.seconds = r.seconds;
    f.metadata = r.metadata, f.handler = r.handler, f.chapter = r.chapter, f.attachment = r.attachment;
    return f;
}

FileForm label_form(const Recipe& r) {
    FileForm f;
    f.container = "mkv", f.video = "ffv1", f.size = r.form.size;
    f.rate = r.form.rate, f.ticks = r.form.variable ? 1000 : r.form.rate;
    return f;
}

// The files being written; none when only fingerprints are asked for.
struct Files {
    MediaFile recording, labels;
};

class Session {
public:
    Session(const Asked& asked, bool pictures)
        : recipe_(recipe_for(asked.seed, asked.seconds, asked.small)), maker_(recipe_, pictures), book_(recipe_) {}

    Result<void> run(Files* files, const Progress& progress);
    const Recipe& recipe() const { return recipe_; }
    std::string file_name() const { return "recording." + recipe_.form.container; }
    std::string truth() const { return book_.written(maker_.outside(), sound_, file_name()).dump(1) + "\n"; }
    std::string labels_hash() { return labels_.hexadecimal(); }

private:
    Result<void> take(Files* files, const MadeFrame& frame, int number);

    Recipe recipe_;
    FrameMaker maker_;
    TruthBook book_;
    Sound sound_;
    std::size_t heard_ = 0;
    Sha labels_;
};

Result<void> Session::take(Files* files, const MadeFrame& frame, int number) {
    book_.add(frame, number);
    labels_.add(frame.labels.data, frame.labels.total());
    if (!files) return {};
    const double t = recipe_.times[std::size_t(number)];
    const std::int64_t tick = recipe_.form.variable ? std::llround(t * 1000) : number;
    if (auto r = files->recording.picture(frame.picture, tick); !r) return r;
    if (auto r = files->labels.picture(frame.labels, tick); !r) return r;
    const bool last = number + 1 == int(recipe_.times.size());
    const std::size_t until = last ? sound_.samples.size() : std::min(sound_.samples.size(), std::size_t((t + 0.5) * kSoundRate));
    if (until <= heard_) return {};
    const std::span<const float> now(sound_.samples.data() + heard_, until - heard_);
    heard_ = until;
    return files->recording.sound(now);
}

Result<void> Session::run(Files* files, const Progress& progress) {
    auto sound = make_sound(recipe_);
    if (!sound) return sound.failure();
    sound_ = std::move(*sound);
    Result<void> went;
    int number = 0;
    const int count = int(recipe_.times.size());
    make_in_order(count, 2, 6, [&](int n) { return maker_.make(n); }, [&](MadeFrame&& frame) {
        went = take(files, frame, number++);
        progress.report("painting", double(number) / count);
        if (progress.stopped()) went = cancelled();
        return went.ok();
    });
    return went;
}

Result<void> check(const Asked& asked) {
    if (asked.seconds >= 1 && asked.seconds <= 600) return {};
    return wrong_use("A labelled session is 1 to 600 seconds long; choose a length in between.");
}

// Removes a half-made session.
struct Part {
    fs::path path;
    ~Part() {
        std::error_code ignored;
        fs::remove_all(path, ignored);
    }
};

}  // namespace

Result<Fingerprint> fingerprint_of(const Asked& asked, const Progress& progress) {
    if (auto r = check(asked); !r) return r.failure();
    Session session(asked, false);
    if (auto r = session.run(nullptr, progress); !r) return r.failure();
    return Fingerprint{media::hash_bytes(session.truth()), session.labels_hash()};
}

Result<MadeSession> make_labelled(const fs::path& folder, const Asked& asked, const Progress& progress) {
    if (auto r = check(asked); !r) return r.failure();
    cv::setNumThreads(1);  // frames are what is shared out among threads
    std::error_code trouble;
    const Part part{folder / "part"};
    fs::create_directories(part.path, trouble);
    if (trouble) return machine_trouble("The labelled session's folder cannot be made; choose one that you may write to.");
    Session session(asked, true);
    const std::string name = session.file_name();
    std::optional<Files> files;
    {
        auto recording = MediaFile::open(part.path / name, form_of(session.recipe()));
        if (!recording) return recording.failure();
        auto labels = MediaFile::open(part.path / "labels.mkv", label_form(session.recipe()));
        if (!labels) return labels.failure();
        files.emplace(Files{std::move(*recording), std::move(*labels)});
    }
    if (auto r = session.run(&*files, progress); !r) return r.failure();
    for (MediaFile* f : {&files->recording, &files->labels})
        if (auto r = f->finish(); !r) return r.failure();
    const std::string truth = session.truth();
    std::ofstream(part.path / "truth.json", std::ios::binary) << truth;
    for (const std::string& file : {name, std::string("labels.mkv"), std::string("truth.json")}) {
        fs::rename(part.path / file, folder / file, trouble);
        if (trouble) return machine_trouble("The labelled session cannot be put into its folder; check the disk.");
    }
    return MadeSession{folder / name, folder / "truth.json", folder / "labels.mkv", {media::hash_bytes(truth), session.labels_hash()}};
}

}  // namespace canalogue::demo::labelled
