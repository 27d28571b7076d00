// The parts of the program that benchmarks time, without what would blur the comparison.
//   canalogue-bench film RECORDING OUT SECONDS below|over FPS [LINES]   decode, cover, compose, encode
//   canalogue-bench raw  RECORDING SECONDS below|over FPS               the same frames, uncoded, on stdout
//   canalogue-bench clip RECORDING OUT CACHE WORDS                     seconds that a render of ten passages takes, the check excluded
//   canalogue-bench shares RECORDING SECONDS PRESET                    processor seconds: all, pictures, the rest that is ours
//   canalogue-bench bare FILE                                          plain libav: open, decode one frame
#include <chrono>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <atomic>
#include <fstream>
#include <string>
#include <thread>

#include "export/composer.hpp"
#include "export/film_writer.hpp"
#include "export/render.hpp"
#include "app/media/open_file.hpp"

using namespace canalogue;
using namespace canalogue::film;

namespace {

// Lines of burnt-in text of the demo at 1280x720, as a person would box them.
const std::vector<UprightBox> kBoxes{{24, 12, 400, 84}, {920, 12, 340, 64}, {24, 660, 300, 40}};

const char* const kVocabulary = R"({"id":"bench","name":"Bench","version":"1","kinds":[
  {"id":"mark","name":"Mark","heading":"found","symbol":{"shape":"disc","letter":"M","colour":"#009E73"}}]})";

struct Setting {
    Plan plan;
    std::vector<SourceRecording> sources;
    std::vector<Event> events;
    Vocabulary vocabulary;
};

Setting setting(const std::string& path, double seconds, const std::string& strip, int fps) {
    auto reader = media::FrameReader::open(path);
    auto index = media::FrameIndex::build(path, {});
    if (!reader || !index) std::exit(3);
    const auto& f = reader->facts();
    Recording r;
    r.id = "r1", r.path = path, r.stored = f.stored, r.rotation = f.rotation, r.zero = f.zero, r.frames_per_second = f.frames_per_second;
    r.only = {{0}, std::min(RecordingTime{nanos_from_seconds(seconds)}, index->end())};
    r.ears = {{r.only, Ear::right}};
    std::vector<Suspect> suspects;
    for (const auto& b : kBoxes) {
        Suspect s;
        s.recording = r.id, s.span = r.only, s.track = {{r.only.start, b}};
        suspects.push_back(s);
    }
    Setting out{{}, {{r, std::make_shared<media::FrameIndex>(*index), covers_for(r, suspects, {})}}, {}, *Vocabulary::parse(kVocabulary)};
    for (double t = 1; t < r.only.end.seconds(); t += 3) {
        Event e;
        e.id = "e", e.kind = "mark", e.recording = r.id, e.at = {nanos_from_seconds(t)};
        out.events.push_back(e);
    }
    out.plan.film.frames_per_second = fps;
    out.plan.film.strip = strip == "over" ? StripStyle::over : StripStyle::below;
    Passage p;
    p.recording = r.id, p.span = r.only, p.ear = Ear::right;
    out.plan.items.emplace_back(p);
    return out;
}

int film_job(const std::string& path, const std::string& out, double seconds, const std::string& strip, int fps, int lines) {
    Setting s = setting(path, seconds, strip, fps);
    NarrationLengths lengths(1);
    auto narration = Narration::in(std::filesystem::path(out).parent_path());
    if (!narration) return 5;
    auto& passage = std::get<Passage>(s.plan.items[0]);
    for (int i = 0; i < lines; ++i) {
        passage.narration.push_back("The canal of the right ear is looked at again.");
        if (auto kept = narration->add(*speak(passage.narration.back().text, "en-GB")); !kept) return 5;
        lengths[0].push_back(narration->length(narration->size() - 1));
    }
    const Schedule schedule = film::schedule(s.plan, s.events, lengths);
    const std::vector<Recording> recordings{s.sources[0].recording};
    const std::vector<Cue> cues;
    Composer composer(s.plan, schedule, s.events, recordings, s.vocabulary, cues, Audience::learners);
    Sound sound(s.plan, schedule, *narration, s.sources);
    if (!sound.silent())
        if (auto ok = sound.level({}); !ok) return 5;
    auto done = write_film(out, {s.plan, schedule, s.sources, composer, sound}, {});
    if (!done) std::fprintf(stderr, "%s\n", done.failure().sentence.c_str());
    return done ? 0 : 5;
}

int raw_job(const std::string& path, double seconds, const std::string& strip, int fps) {
    Setting s = setting(path, seconds, strip, fps);
    const Schedule schedule = film::schedule(s.plan, s.events, {{}});
    const std::vector<Recording> recordings{s.sources[0].recording};
    const std::vector<Cue> cues;
    Composer composer(s.plan, schedule, s.events, recordings, s.vocabulary, cues, Audience::learners);
    auto source = PictureSource::open(s.sources[0], composer.picture_room(), 0);
    if (!source) return 3;
    for (long n = 0; n < schedule.frames; ++n) {
        auto picture = source->at(schedule.piece_at(n).source(n));
        if (!picture) return 3;
        ShownPictures shown{*picture, {}, std::nullopt};
        auto frame = composer.compose(n, &shown);
        for (int p = 0; p < 3; ++p)
            for (int y = 0; y < (p ? frame->height / 2 : frame->height); ++y)
                std::fwrite(frame->data[p] + static_cast<std::ptrdiff_t>(y) * frame->linesize[p], 1, static_cast<std::size_t>(p ? frame->width / 2 : frame->width), stdout);
    }
    return 0;
}

// A whole render of ten passages of three seconds, a line in each; the fourth line is WORDS. Ends where the check begins.
int clip_job(const std::string& path, const std::string& out, const std::string& cache, const std::string& words) {
    Setting s = setting(path, 30, "below", 25);
    Passage p = std::get<Passage>(s.plan.items[0]);
    s.plan.items.clear();
    for (int i = 0; i < 10; ++i) {
        p.span = {{i * 3 * kSecond}, {(i + 1) * 3 * kSecond}};
        p.narration = {i == 3 ? words : "The canal of the right ear is looked at again."};
        s.plan.items.emplace_back(p);
    }
    s.sources[0].recording.hash = std::string(64, 'b');
    RenderJob job;
    job.plan = s.plan, job.sources = s.sources, job.events = s.events, job.vocabulary = &s.vocabulary, job.out = out;
    // Sealed like the library's passages are, as far as copying goes: the cipher's cost is below a hundredth of a second.
    job.cache = CachePlace{cache, [](std::string_view plain) { return std::string(plain); }, [](std::string_view sealed) { return std::optional(std::string(sealed)); }};
    using Clock = std::chrono::steady_clock;
    const auto start = Clock::now();
    std::optional<double> took;
    std::atomic<bool> stop = false;
    Progress progress;
    progress.report = [&](std::string_view stage, double) {
        if (took || stage != "Checking the film") return;
        took = std::chrono::duration<double>(Clock::now() - start).count();
        stop = true;
    };
    progress.stop = &stop;
    auto done = render(job, progress);
    if (!took && !done) std::fprintf(stderr, "%s\n", done.failure().sentence.c_str());
    std::printf("%.4f\n", took.value_or(-1));
    return took ? 0 : 5;
}

double seconds_of(clockid_t clock) {
    timespec t{};
    clock_gettime(clock, &t);
    return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) / 1e9;
}

// Watches the processor time of the thread of this name, from when it appears to when it ends.
class ThreadWatch {
  public:
    explicit ThreadWatch(std::string name) : name_(std::move(name)), watcher_([this] { watch(); }) {}
    ~ThreadWatch() { end(); }
    // Seconds of the watched thread, to the last two milliseconds.
    double end() {
        stop_ = true;
        if (watcher_.joinable()) watcher_.join();
        return seen_;
    }
    double own_cost() const { return cost_; }

  private:
    std::optional<int> thread_there() const {
        std::error_code ec;
        for (const auto& task : std::filesystem::directory_iterator("/proc/self/task", ec)) {
            std::string word;
            std::getline(std::ifstream(task.path() / "comm"), word);
            if (word == name_) return std::stoi(task.path().filename());
        }
        return std::nullopt;
    }
    void watch() {
        std::optional<int> thread;
        while (!stop_) {
            if (!thread) thread = thread_there();
            timespec t{};
            // The kernel's number for the processor clock of a thread (man 3 pthread_getcpuclockid gives the same).
            if (thread && clock_gettime(static_cast<clockid_t>(~static_cast<unsigned>(*thread) << 3 | 6), &t) == 0)
                seen_ = static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) / 1e9;
            std::this_thread::sleep_for(std::chrono::milliseconds(2));
        }
        cost_ = seconds_of(CLOCK_THREAD_CPUTIME_ID);
    }

    std::string name_;
    std::atomic<bool> stop_ = false;
    double seen_ = 0, cost_ = 0;
    std::thread watcher_;
};

// Encoding of ready frames alone: seconds of the thread that gives them to the encoder.
std::optional<double> seconds_giving(const Setting& s, const Schedule& schedule, Composer& composer, const char* preset) {
    std::vector<media::FramePtr> frames;
    auto source = PictureSource::open(s.sources[0], composer.picture_room(), 0);
    if (!source) return std::nullopt;
    for (long n = 0; n < schedule.frames; ++n) {
        auto picture = source->at(schedule.piece_at(n).source(n));
        if (!picture) return std::nullopt;
        ShownPictures shown{*picture, {}, std::nullopt};
        frames.push_back(composer.compose(n, &shown));
    }
    const double before = seconds_of(CLOCK_THREAD_CPUTIME_ID);
    auto encoder = PictureEncoder::open(s.plan.film, {preset, 0, nullptr, 0});
    if (!encoder) return std::nullopt;
    const auto take = [](AVPacket&) { return Result<void>{}; };
    for (auto& frame : frames)
        if (!encoder->picture(std::move(frame), take)) return std::nullopt;
    if (!encoder->finish(take)) return std::nullopt;
    return seconds_of(CLOCK_THREAD_CPUTIME_ID) - before;
}

// All of a film's making, by the clocks of its threads: the thread of the pictures only asks the decoder's threads for them, so it
// counts whole; the thread that gives frames to the encoder counts by what it needs beyond giving. The rest is decoder and encoder.
int shares_job(const std::string& path, double seconds, const char* preset) {
    Setting s = setting(path, seconds, "below", 25);
    const Schedule schedule = film::schedule(s.plan, s.events, {{}});
    const std::vector<Recording> recordings{s.sources[0].recording};
    const std::vector<Cue> cues;
    Composer composer(s.plan, schedule, s.events, recordings, s.vocabulary, cues, Audience::learners);
    auto narration = Narration::in(std::filesystem::temp_directory_path());
    if (!narration) return 5;
    Sound sound(s.plan, schedule, *narration, s.sources);
    FilmInput film{s.plan, schedule, s.sources, composer, sound};
    film.preset = preset;
    const auto file = std::filesystem::temp_directory_path() / "canalogue-bench-shares.mp4";
    ThreadWatch pictures(kPicturesThread);
    const double begun = seconds_of(CLOCK_PROCESS_CPUTIME_ID), giving_begun = seconds_of(CLOCK_THREAD_CPUTIME_ID);
    if (!write_film(file, film, {})) return 5;
    const double giving = seconds_of(CLOCK_THREAD_CPUTIME_ID) - giving_begun, of_pictures = pictures.end();
    const double all = seconds_of(CLOCK_PROCESS_CPUTIME_ID) - begun - pictures.own_cost();
    std::filesystem::remove(file);
    const auto giving_alone = seconds_giving(s, schedule, composer, preset);
    if (!giving_alone || of_pictures <= 0) return 5;
    std::printf("%.4f %.4f %.4f\n", all, of_pictures, std::max(0.0, giving - *giving_alone));
    return 0;
}

// As short as libav allows, with its defaults.
int bare_job(const char* path) {
    av_log_set_level(AV_LOG_QUIET);
    AVFormatContext* format = nullptr;
    if (avformat_open_input(&format, path, nullptr, nullptr) < 0 || avformat_find_stream_info(format, nullptr) < 0) return 3;
    const AVCodec* codec = nullptr;
    const int stream = av_find_best_stream(format, AVMEDIA_TYPE_VIDEO, -1, -1, &codec, 0);
    if (stream < 0) return 3;
    AVCodecContext* decoder = avcodec_alloc_context3(codec);
    avcodec_parameters_to_context(decoder, format->streams[stream]->codecpar);
    if (avcodec_open2(decoder, codec, nullptr) < 0) return 3;
    AVPacket* packet = av_packet_alloc();
    AVFrame* frame = av_frame_alloc();
    while (av_read_frame(format, packet) >= 0) {
        if (packet->stream_index == stream) avcodec_send_packet(decoder, packet);
        av_packet_unref(packet);
        if (avcodec_receive_frame(decoder, frame) >= 0) {
            std::printf("%dx%d\n", frame->width, frame->height);
            return 0;
        }
    }
    return 3;
}

}  // namespace

int main(int argc, char** argv) {
    const std::string what = argc > 1 ? argv[1] : "";
    if (what == "film" && argc >= 7) return film_job(argv[2], argv[3], std::atof(argv[4]), argv[5], std::atoi(argv[6]), argc > 7 ? std::atoi(argv[7]) : 0);
    if (what == "raw" && argc == 6) return raw_job(argv[2], std::atof(argv[3]), argv[4], std::atoi(argv[5]));
    if (what == "clip" && argc == 6) return clip_job(argv[2], argv[3], argv[4], argv[5]);
    if (what == "shares" && argc == 5) return shares_job(argv[2], std::atof(argv[3]), argv[4]);
    if (what == "bare" && argc == 3) return bare_job(argv[2]);
    std::fprintf(stderr, "Use: canalogue-bench film|raw|clip|shares|bare ...\n");
    return 2;
}
