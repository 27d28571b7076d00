#include "demo_media/labelled/labelled.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "demo_media/frame_line.hpp"
#include "demo_media/labelled/design.hpp"
#include "demo_media/labelled/scenes.hpp"
#include "demo_media/labelled/session_sound.hpp"
#include "demo_media/recording_painter.hpp"

namespace canalogue::demo::labelled {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

const cv::Size kPainted(640, 360);
constexpr std::uint8_t kText = 1, kPerson = 2, kRoomText = 3;
constexpr int kPainters = 2, kAhead = 6;

// Raw pictures into the ffmpeg program.
class Pipe {
  public:
    explicit Pipe(const std::string& command) : file_(::popen(command.c_str(), "w")) {}
    ~Pipe() { close(); }
    Pipe(const Pipe&) = delete;
    Pipe& operator=(const Pipe&) = delete;
    bool write(const cv::Mat& picture) { return file_ && std::fwrite(picture.data, 1, picture.total() * picture.elemSize(), file_) == picture.total() * picture.elemSize(); }
    bool close() {
        const bool good = file_ && ::pclose(file_) == 0;
        file_ = nullptr;
        return good;
    }

  private:
    std::FILE* file_;
};

std::string quoted(const fs::path& p) {
    std::string out = "'";
    for (const char c : p.string()) out += c == '\'' ? "'\\''" : std::string(1, c);
    return out + "'";
}

struct Frame {
    cv::Mat3b picture;
    cv::Mat1b labels;
    std::vector<UprightBox> writings;                        // of each writing, tight; empty: does not show
    std::vector<std::pair<std::string, UprightBox>> things;  // faces and room texts ("" is a face)
};

UprightBox joined(const UprightBox& a, const UprightBox& b) { return a.w == 0 ? b : b.w == 0 ? a : hull(a, b); }

class Maker {
  public:
    Maker(Design design, bool photographs, const Progress& progress)
        : d_(std::move(design)), progress_(progress), scenes_(scenes(d_.apart, photographs, d_.seed)), painter_(d_.script, d_.seed, kPainted, 1'930'383'600) {}

    Result<MadeSession> make(const fs::path& folder) {
        std::error_code ec;
        fs::create_directories(folder, ec);
        MadeSession made{folder / ("Tidewell M TEST-" + std::to_string(5571840 + d_.seed) + "." + d_.container), folder / "truth.json", folder / "labels.mkv"};
        auto sound = session_sound(d_, folder / "sound.wav");
        if (!sound) return sound.failure();
        if (auto ok = film(made, folder / "sound.wav"); !ok) return ok.failure();
        fs::remove(folder / "sound.wav", ec);
        std::ofstream out(made.truth, std::ios::binary);
        out << truth(made.recording.filename().string(), *sound).dump(1) << '\n';
        out.close();
        if (!out) return machine_trouble("The truth file of a labelled session cannot be written; check the disk's free space.");
        return made;
    }

  private:
    int moments() const { return static_cast<int>(std::lround(d_.seconds * d_.rate)) * (d_.interlaced ? 2 : 1); }
    double time_of(int moment) const { return static_cast<double>(moment) / (d_.rate * (d_.interlaced ? 2 : 1)); }
    const Scene& scene_of(const Away& a) const { return scenes_[a.scene % scenes_.size()]; }

    // Frames that an irregular recording leaves out: about every sixth, in no order that one sees.
    static constexpr int kStride = 7919, kOf = 97, kLeftOut = 17;
    int phase() const { return static_cast<int>(d_.seed % kOf); }
    bool kept(int frame) const { return !d_.irregular || frame == 0 || (frame * kStride + phase()) % kOf >= kLeftOut; }

    Frame draw(int moment) const {
        const double t = time_of(moment);
        Frame f;
        f.labels = cv::Mat1b(d_.size, 0);
        f.picture = seen_through(d_.look, painter_.paint_without_text(moment, t), d_.size, t, moment);
        add_room(f, t);
        for (const auto& a : d_.away)
            if (const double share = a.share(t); share > 0) add_scene(f, a, share, t);
        for (const auto& w : d_.writings) f.writings.push_back(write(w, t, f.picture, f.labels, kText));
        return f;
    }

    // The demo's own drawn room, where no other scene lies over it. Its boxes are of the painted frame, which only a
    // round rim keeps.
    void add_room(Frame& f, double t) const {
        const Moment m = moment_at(d_.script, t);
        const bool over = std::any_of(d_.away.begin(), d_.away.end(), [&](const Away& a) { return a.share(t) > .5; });
        if (m.room < .5f || over || d_.look.rim != ScopeLook::Rim::round || d_.look.water) return;
        const double shape = static_cast<double>(d_.size.width) / d_.size.height, wide = std::min<double>(kPainted.width, kPainted.height * shape), scale = d_.size.width / wide, x0 = (kPainted.width - wide) / 2;
        for (const auto& thing : painter_.room().things(m)) {
            const UprightBox b = common(UprightBox{static_cast<int>((thing.box.x - x0) * scale), static_cast<int>(thing.box.y * scale), static_cast<int>(thing.box.w * scale), static_cast<int>(thing.box.h * scale)}, UprightBox{0, 0, d_.size.width, d_.size.height});
            mark(f, b, thing.what == "face" ? "" : thing.what);
        }
    }

    void add_scene(Frame& f, const Away& a, double share, double t) const {
        cv::Matx23d into;
        cv::Mat3b scene = shown(scene_of(a), d_.size, t, d_.seed + a.scene, into);
        if (a.round) {
            cv::Mat1b rim(d_.size, 0);
            cv::circle(rim, {d_.size.width / 2, d_.size.height / 2}, static_cast<int>(d_.size.height * .475), 255, cv::FILLED, cv::LINE_AA);
            cv::Mat3b kept(d_.size, cv::Vec3b(9, 8, 8));
            scene.copyTo(kept, rim);
            scene = kept;
        }
        // As the scope is pulled out, all is a blur.
        if (share < 1) cv::blur(scene, scene, {1 + static_cast<int>((1 - share) * d_.size.width / 12), 1 + static_cast<int>((1 - share) * d_.size.height / 20)});
        cv::addWeighted(f.picture, 1 - share, scene, share, 0, f.picture);
        if (share < .5) return;
        for (const auto& face : scene_of(a).faces) mark(f, box_in_frame(face, into, d_.size), "");
        for (const auto& [box, words] : scene_of(a).texts) mark(f, box_in_frame(box, into, d_.size), words);
    }

    static void mark(Frame& f, const UprightBox& b, const std::string& words) {
        if (b.w < 8 || b.h < 8) return;
        const cv::Rect r(b.x, b.y, b.w, b.h);
        if (words.empty()) cv::ellipse(f.labels, cv::RotatedRect(cv::Point2f(static_cast<float>(b.x) + static_cast<float>(b.w) / 2, static_cast<float>(b.y) + static_cast<float>(b.h) / 2), cv::Size2f(static_cast<float>(b.w), static_cast<float>(b.h)), 0), kPerson, cv::FILLED);
        else f.labels(r).setTo(kRoomText);
        f.things.emplace_back(words, b);
    }

    // Two moments as the fields of one frame, the upper lines first.
    static Frame woven(const Frame& upper, const Frame& lower) {
        Frame out = upper;
        for (int y = 1; y < out.picture.rows; y += 2) lower.picture.row(y).copyTo(out.picture.row(y)), lower.labels.row(y).copyTo(out.labels.row(y));
        for (std::size_t i = 0; i < out.writings.size(); ++i) out.writings[i] = joined(out.writings[i], lower.writings[i]);
        out.things.insert(out.things.end(), lower.things.begin(), lower.things.end());
        return out;
    }

    std::string recorder(const MadeSession& made, const fs::path& sound) const {
        const std::string size = std::to_string(d_.size.width) + "x" + std::to_string(d_.size.height);
        std::string out = "ffmpeg -nostdin -v error -y -f rawvideo -pix_fmt bgr24 -s " + size + " -r " + std::to_string(d_.rate) + " -i - ";
        if (d_.sound) out += "-i " + quoted(sound) + " -map 0:v -map 1:a ";
        if (d_.irregular) out += "-vf \"select='eq(n,0)+gte(mod(n*" + std::to_string(kStride) + "+" + std::to_string(phase()) + "," + std::to_string(kOf) + ")," + std::to_string(kLeftOut) + ")'\" -vsync vfr ";
        if (d_.interlaced) out += "-vf setfield=tff -c:v mpeg2video -q:v 3 -flags +ildct+ilme -top 1 -g 12 -bitexact ";
        else if (d_.container == "avi") out += "-c:v mjpeg -q:v 3 ";
        else out += "-c:v libx264 -preset veryfast -crf 17 -threads 2 ";
        out += d_.container == "mkv" ? "-c:a flac " : d_.container == "avi" ? "-c:a pcm_s16le " : "-c:a aac -b:a 192k ";
        out += "-pix_fmt " + std::string(d_.container == "avi" && !d_.interlaced ? "yuvj420p " : "yuv420p ");
        for (const auto& [key, value] : metadata()) out += "-metadata " + key + "='" + value + "' ";
        return out + quoted(made.recording);
    }

    static std::vector<std::pair<std::string, std::string>> metadata() {
        return {{"title", "Tidewell M, ear toilet"}, {"artist", "R. Quayle-Test"}, {"comment", "NHS 999 000 0042, Harbour Ear Clinic"}, {"date", "2031-03-04"}};
    }

    Result<void> film(const MadeSession& made, const fs::path& sound) {
        Pipe recording(recorder(made, sound));
        Pipe labels("ffmpeg -nostdin -v error -y -f rawvideo -pix_fmt gray -s " + std::to_string(d_.size.width) + "x" + std::to_string(d_.size.height) + " -r " + std::to_string(d_.rate) + " -i - -c:v ffv1 -threads 1 " + quoted(made.labels));
        Result<void> state;
        std::optional<Frame> upper;
        int frame = 0;
        make_in_order(moments(), kPainters, kAhead, [&](int i) { return draw(i); }, [&](Frame f) {
            if (progress_.stopped()) state = cancelled();
            if (!state) return false;
            if (d_.interlaced && !upper) {
                upper = std::move(f);
                return true;
            }
            if (upper) f = woven(*upper, f), upper.reset();
            bool good = recording.write(f.picture);
            if (kept(frame)) good = labels.write(f.labels) && good, remember(f, static_cast<double>(frame) / d_.rate);
            progress_.report("drawing session " + std::to_string(d_.seed), static_cast<double>(++frame) / (d_.seconds * d_.rate));
            if (!good) state = machine_trouble("The ffmpeg program took no more pictures; check that it is installed, and the disk's free space.");
            return state.ok();
        });
        if (!state) return state;
        if (!recording.close() || !labels.close()) return machine_trouble("The ffmpeg program could not finish a labelled session; check the disk's free space.");
        return {};
    }

    void remember(const Frame& f, double t) {
        times_.push_back(t);
        boxes_.resize(d_.writings.size());
        const auto box = [t](const UprightBox& b) { return Json{{"t", rounded(t)}, {"x", b.x}, {"y", b.y}, {"w", b.w}, {"h", b.h}}; };
        for (std::size_t i = 0; i < f.writings.size(); ++i) {
            if (f.writings[i].w == 0) continue;
            Json now = box(f.writings[i]);
            // One that stays is told once.
            if (!boxes_[i].empty() && boxes_[i].back()["x"] == now["x"] && boxes_[i].back()["y"] == now["y"] && boxes_[i].back()["w"] == now["w"] && boxes_[i].back()["h"] == now["h"]) continue;
            boxes_[i].push_back(std::move(now));
        }
        for (const auto& [words, b] : f.things) {
            Json now = box(b);
            if (!words.empty()) now["words"] = words;
            (words.empty() ? faces_ : room_text_).push_back(std::move(now));
        }
    }

    static double rounded(double t) { return std::round(t * 1000) / 1000; }

    std::vector<Stretch> outside() const {
        std::vector<Stretch> all = d_.script.outside;
        for (const auto& a : d_.away) all.push_back(a.span);
        std::sort(all.begin(), all.end(), [](const Stretch& a, const Stretch& b) { return a.start < b.start; });
        std::vector<Stretch> out;
        for (const auto& s : all)
            if (!out.empty() && s.start <= out.back().end) out.back().end = std::max(out.back().end, s.end);
            else out.push_back(s);
        return out;
    }

    Json made_words() const {
        Json out = d_.look.words();
        for (const auto& w : d_.writings) {
            out.push_back("text: " + std::string(name_of(w.way)));
            out.push_back("ink: " + std::string(name_of(w.ink)));
            out.push_back("font: " + w.font);
        }
        for (const auto& a : d_.away) {
            out.push_back("outside: " + scene_of(a).what);
            if (a.span.end - a.span.start < 1.6) out.push_back("fast in and out");
        }
        out.push_back("container: " + d_.container);
        if (d_.interlaced) out.push_back("interlaced");
        if (d_.irregular) out.push_back("irregular frame times");
        if (!d_.sound) out.push_back("no sound");
        std::sort(out.begin(), out.end());
        out.erase(std::unique(out.begin(), out.end()), out.end());
        return out;
    }

    Json truth(const std::string& file, const std::vector<Heard>& heard) const {
        Json j{{"about", "Drawn session; every name, number and place in it is invented."}, {"seed", d_.seed}, {"apart", d_.apart}, {"made", made_words()}, {"file", file},
               {"size", {{"w", d_.size.width}, {"h", d_.size.height}}}, {"rate", d_.rate}, {"frames", times_.size()}, {"seconds", d_.seconds}};
        j["text"] = Json::array();
        for (std::size_t i = 0; i < d_.writings.size(); ++i) {
            const auto& w = d_.writings[i];
            j["text"].push_back({{"what", w.what}, {"words", w.text}, {"way", name_of(w.way)}, {"ink", name_of(w.ink)}, {"font", w.font}, {"height", w.height}, {"start", rounded(w.start)}, {"end", rounded(w.end)}, {"boxes", i < boxes_.size() ? boxes_[i] : Json::array()}});
        }
        j["outside"] = Json::array();
        for (const auto& s : outside()) j["outside"].push_back({{"start", rounded(s.start)}, {"end", rounded(s.end)}});
        bool photograph = false;
        for (const auto& a : d_.away) photograph |= scene_of(a).photograph;
        j["photograph"] = photograph;
        j["faces"] = faces_;
        j["room_text"] = room_text_;
        j["spoken"] = Json::array();
        for (const auto& h : heard) j["spoken"].push_back({{"words", h.words}, {"name", h.name}, {"real", h.real}, {"start", rounded(h.start)}, {"end", rounded(h.end)}});
        j["metadata"] = Json::object();
        for (const auto& [key, value] : metadata()) j["metadata"][key] = value;
        return j;
    }

    Design d_;
    const Progress& progress_;
    std::vector<Scene> scenes_;
    RecordingPainter painter_;
    std::vector<double> times_;
    std::vector<Json> boxes_;
    Json faces_ = Json::array(), room_text_ = Json::array();
};

}  // namespace

Result<MadeSession> make_labelled(const fs::path& folder, const Wish& wish, const Progress& progress) {
    try {
        return Maker(design_of(wish.seed, wish.seconds, wish.apart), wish.photographs, progress).make(folder);
    } catch (const std::exception&) {  // of OpenCV, the file system or memory
        return machine_trouble("A labelled session could not be drawn; check free memory and disk and try again.");
    }
}

}  // namespace canalogue::demo::labelled
