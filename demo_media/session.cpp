#include "demo_media/session.hpp"

#include <cmath>
#include <exception>
#include <fstream>
#include <system_error>

#include "demo_media/chance.hpp"
#include "demo_media/film_writer.hpp"
#include "demo_media/frame_line.hpp"
#include "demo_media/invented.hpp"
#include "demo_media/recording_painter.hpp"
#include "demo_media/sound_track.hpp"
#include "demo_media/truth.hpp"

namespace canalogue::demo {

namespace {

namespace fs = std::filesystem;

constexpr int kPainters = 2, kFramesAhead = 6;
constexpr double kFirstPart = 0.6;  // of the seconds, for the right ear
// An invented Tuesday morning, long ahead.
constexpr std::int64_t kVisitStart = 1'930'383'600;  // 2031-03-04 09:40:00 UTC
constexpr std::int64_t kSecondRecordingAfter = 4 * 60;

// Files that are only kept when the whole session is complete.
class Draft {
public:
    explicit Draft(fs::path folder) : folder_(std::move(folder)) {}
    Draft(const Draft&) = delete;
    Draft& operator=(const Draft&) = delete;
    ~Draft() {
        std::error_code ignored;
        for (std::size_t i = 0; i < files_.size(); ++i) {
            fs::remove(part(files_[i]), ignored);
            if (i < renamed_ && !kept_) fs::remove(files_[i], ignored);
        }
        if (made_folder_ && !kept_) fs::remove(folder_, ignored);  // only when empty
    }

    Result<void> make_folder() {
        std::error_code trouble;
        made_folder_ = fs::create_directories(folder_, trouble);
        if (trouble || !fs::is_directory(folder_, trouble))
            return machine_trouble(
                "The folder for the demo session cannot be made; choose one you may write to.");
        return {};
    }
    fs::path add(std::string_view name) {
        files_.push_back(folder_ / name);
        return part(files_.back());
    }
    Result<void> keep() {
        std::error_code trouble;
        for (const fs::path& file : files_) {
            fs::rename(part(file), file, trouble);
            if (trouble)
                return machine_trouble(
                    "A finished demo file cannot be renamed in its folder; check that the folder may be "
                    "written to.");
            ++renamed_;
        }
        kept_ = true;
        return {};
    }

private:
    static fs::path part(const fs::path& file) { return fs::path(file) += ".part"; }
    fs::path folder_;
    std::vector<fs::path> files_;
    std::size_t renamed_ = 0;
    bool made_folder_ = false, kept_ = false;
};

std::string stamp(std::int64_t when) {
    std::string text = written_time(when);
    text[10] = 'T';
    return text + ".000000Z";
}

// A scope's recorder now and then misses a frame: the second recording leaves a few out.
std::vector<int> dropped_frames(const Script& script, int count, std::uint64_t seed) {
    std::vector<int> out;
    if (!script.drops_frames) return out;
    Chance chance(seed ^ 0xD409);
    for (int i = 3; i + 3 < count; ++i)
        if (chance.unit() < 0.012f || (out.empty() && i > count / 2)) {
            out.push_back(i);
            if (chance.unit() < 0.4f) out.push_back(++i);
            i += 4;
        }
    return out;
}

struct Order {
    Script script;
    std::uint64_t seed;
    std::string_view file, title;
    std::int64_t starts_at;
};

std::map<std::string, std::string> about(const Order& order) {
    return {
        {"title", std::string(order.title)},
        {"artist", std::string(invented::kArtist)},
        {"comment", std::string(invented::kName) + ", " + std::string(invented::kBorn) + ", " +
                        std::string(invented::kNhsNumber) + ", " + std::string(invented::kHospitalNumber)},
        {"creation_time", stamp(order.starts_at)},
        {"location", std::string(invented::kLocation)}};
}

struct Numbered {
    int number;
    FilmFramePtr frame;
};

// Paints and encodes all frames with their sound beside them; stops at the first failure.
Result<void> film(FilmWriter& writer, const RecordingPainter& painter, const std::vector<int>& numbers,
                  int rate, const std::vector<float>& samples, const Progress& progress,
                  const std::string& stage) {
    Result<void> state;
    std::size_t heard = 0;
    const auto take = [&](Numbered next) {
        if (progress.stopped())
            state = cancelled();
        else if (!next.frame)
            state = machine_trouble(
                "Memory ran out while the demo session was painted; ask for a smaller picture.");
        else
            state = writer.picture(*next.frame);
        if (!state) return false;
        const auto until =
            std::min(samples.size(), std::size_t(std::int64_t(next.number + 1) * kSoundRate / rate));
        if (until > heard) state = writer.sound(std::span(samples).subspan(heard, until - heard));
        heard = std::max(heard, until);
        progress.report(stage, double(next.number + 1) / double(numbers.back() + 1));
        return state.ok();
    };
    make_in_order(
        int(numbers.size()), kPainters, kFramesAhead,
        [&](int i) {
            const int number = numbers[std::size_t(i)];
            try {
                return Numbered{number, film_frame(painter.paint(number, double(number) / rate), number)};
            } catch (const std::exception&) {  // memory; an exception must not end a painter's thread
                return Numbered{number, nullptr};
            }
        },
        take);
    if (!state) return state;
    return writer.sound(std::span(samples).subspan(heard));
}

Result<nlohmann::ordered_json> make_recording(const fs::path& part, const Order& order,
                                              const Options& options, const Progress& progress) {
    const cv::Size size(options.size.w, options.size.h);
    const std::string stage =
        order.script.ear == Ear::right ? "drawing the right ear" : "drawing the left ear";
    progress.report(stage, 0);
    const RecordingPainter painter(order.script, order.seed, size, order.starts_at);
    if (progress.stopped()) return cancelled();
    Result<SoundTrack> sound = make_sound(order.script, order.seed);
    if (!sound) return sound.failure();

    RecordingFacts facts{std::string(order.file), options.frames_per_second, 0, {}, about(order)};
    const int count = std::max(1, int(std::lround(order.script.seconds * options.frames_per_second)));
    facts.dropped = dropped_frames(order.script, count, order.seed);
    std::vector<int> numbers;
    for (int i = 0; i < count; ++i)
        if (!std::binary_search(facts.dropped.begin(), facts.dropped.end(), i)) numbers.push_back(i);
    facts.frames = int(numbers.size());

    Result<FilmWriter> writer = FilmWriter::open(part, {size, options.frames_per_second, facts.about});
    if (!writer) return writer.failure();
    if (auto r = film(*writer, painter, numbers, options.frames_per_second, sound->samples, progress, stage);
        !r)
        return r.failure();
    if (auto r = writer->finish(); !r) return r.failure();
    return truth_of(order.script, facts, painter, sound->spoken);
}

Result<void> write_truth(const fs::path& part, const nlohmann::ordered_json& recordings,
                         const Options& options) {
    nlohmann::ordered_json truth;
    truth["about"] = "Drawn demo session; every name, number and place in it is invented.";
    truth["seed"] = options.seed;
    truth["size"] = {{"w", options.size.w}, {"h", options.size.h}};
    truth["recordings"] = recordings;
    std::ofstream out(part, std::ios::binary);
    out << truth.dump(1) << '\n';
    out.close();
    if (!out)
        return machine_trouble(
            "The demo session's truth file cannot be written; check the disk's free space.");
    return {};
}

Result<void> in_range(const Options& o) {
    const auto [w, h] = o.size;
    if (w % 2 || h % 2 || w < 160 || h < 90 || w > 3840 || h > 2160 || h > w)
        return wrong_use(
            "The demo session's picture must be even and between 160x90 and 3840x2160, not taller than wide; "
            "give such a size.");
    if (o.frames_per_second < 5 || o.frames_per_second > 60)
        return wrong_use("The demo session takes 5 to 60 frames a second; give a number in that range.");
    if (!(o.seconds >= 3 && o.seconds <= 3600))
        return wrong_use("The demo session lasts 3 to 3600 seconds; give a number in that range.");
    return {};
}

// Whole frames, so that picture and sound end together.
double whole_frames(double seconds, int rate) {
    return std::round(seconds * rate) / rate;
}

Result<Made> make_whole(const fs::path& folder, const Options& options, const Progress& progress) {
    Draft draft(folder);
    if (auto r = draft.make_folder(); !r) return r.failure();
    const int rate = options.frames_per_second;
    const double first = whole_frames(options.seconds * kFirstPart, rate);
    const double second = whole_frames(options.seconds - first, rate);
    Made made;
    nlohmann::ordered_json recordings = nlohmann::ordered_json::array();
    for (const Order& order :
         {Order{right_ear(first), options.seed, invented::kRightFile, "Brackwater A, right ear, 4 March 2031",
                kVisitStart},
          Order{left_ear(second), options.seed + 5000, invented::kLeftFile,
                "Brackwater A, left ear, 4 March 2031", kVisitStart + kSecondRecordingAfter}}) {
        Result<nlohmann::ordered_json> truth =
            make_recording(draft.add(order.file), order, options, progress);
        if (!truth) return truth.failure();
        recordings.push_back(std::move(*truth));
        made.recordings.push_back(folder / order.file);
    }
    made.truth = folder / "truth.json";
    if (auto r = write_truth(draft.add("truth.json"), recordings, options); !r) return r.failure();
    if (progress.stopped()) return cancelled();
    if (auto r = draft.keep(); !r) return r.failure();
    return made;
}

}  // namespace

Result<Made> make_session(const fs::path& folder, const Options& options, const Progress& progress) {
    if (auto r = in_range(options); !r) return r.failure();
    try {
        return make_whole(folder, options, progress);
    } catch (const std::exception&) {  // of OpenCV, the file system or memory
        return machine_trouble(
            "The demo session could not be painted; check free memory and disk and try again.");
    }
}

}  // namespace canalogue::demo
