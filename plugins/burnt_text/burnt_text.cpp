// The spotter for text burnt into the picture. Two looks at each span:
//   single pictures, one a second and at every change of scene: text that comes and goes
//   the mean of some seconds: faint text, which stands still while the view behind it blurs away
#include <algorithm>
#include <cctype>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <tuple>

#include "plugins/burnt_text/readings.hpp"
#include "plugins/burnt_text/sightings.hpp"
#include "plugins/burnt_text/stretch.hpp"
#include "plugins/burnt_text/text_finder.hpp"
#include "plugins/burnt_text/text_reader.hpp"
#include "plugins/sdk/plugin.hpp"
#include "plugins/shared/inside.hpp"

namespace canalogue::burnt_text {

namespace {

constexpr std::int64_t kSecond = 1'000'000'000;
constexpr std::int64_t kLookEvery = kSecond, kLookAgain = kSecond / 2;
constexpr std::int64_t kJitter = kSecond / 10;   // by which a sample may come early
constexpr std::int64_t kPatience = 5 * kSecond;  // text missed for as long is still the same text
constexpr double kSurelyInside = .9, kSurelyOutside = .3;
constexpr std::size_t kMeanOf = 30;              // pictures
constexpr std::size_t kFewestForMean = 3;
constexpr int kCell = 16;               // pixels; the coarse picture for changes
constexpr double kSceneChange = 25;     // mean change of the cells, of 255
constexpr double kViewChange = 4;          // mean change of the cells; below it the view is still the one judged
constexpr double kNoChange = 2;         // largest change of a cell; noise stays below, thin text does not
constexpr float kMargin = .4f;          // of the line's height: a clock needs its whole line
constexpr float kMostSteps = 4;         // that a moving line is carried on past its last sight
constexpr std::size_t kRoomReadings = 4;  // of a line on a thing outside, where all is covered
constexpr std::size_t kMostRead = 600;  // crops of a span; reading takes its time
constexpr std::size_t kMostCropBytes = 96'000'000;  // of a span; then only the surest of some seconds are kept
constexpr double kSameStrokes = .7;     // correlation of a line's edges as long as its words stay
constexpr float kShowsAll = .8f;         // of the later box: below it the earlier crop was of a piece
constexpr double kReadAlready = .85;    // above it a crop says what the one before said; a clock's last digits are below
constexpr std::size_t kRoomForWords = 3500;  // bytes; the header allows 4096

// Whether a box stands where another stood a moment before, to within half the height of its letters.
bool at_rest(const cv::Rect2f& now, const cv::Rect2f& before) {
    const auto moved = (now.tl() + now.br() - before.tl() - before.br()) * .5f;
    const float letter = std::min(before.width, before.height);
    return one_line(now, before) && std::max(std::abs(moved.x), std::abs(moved.y)) <= letter / 2;
}

class BurntText : public plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FRAMES;
    static constexpr double samples_per_second = 4;
    static constexpr std::int32_t longest_side = 1280;
    static std::string why_not(const std::string& models_dir);

    explicit BurntText(plugin::Host h) : Spotter(h), finder_(h.models_dir()), reader_(h.models_dir()), inside_(h.models_dir()) {
        cv::setNumThreads(2);
    }

    void begin_recording(const canalogue_facts& facts) override;
    void span_begin(std::int64_t start_ns, std::int64_t end_ns) override;
    void frame(const canalogue_frame& f) override;
    void span_end() override;

  private:
    void look(std::int64_t t);
    void close_stretch();
    template <class When>
    void note(const std::vector<FoundText>& found, const cv::Mat& picture, const cv::Mat& grey, bool inside, When when);
    bool worth_keeping(const Sight& sight, const cv::Mat& crop, const cv::Mat& whole, const cv::Rect& part);
    bool surest_of_late(const Sight& sight);
    bool words_changed() const;
    cv::Rect2f upright(const cv::Rect2f& working) const;
    std::vector<Reading> read_rest(const Line& line, const Reading& surest);
    void propose_by_wording(const Line& line, const Reading& surest);
    void propose(const Line& line, const std::vector<std::string>& texts);
    bool unconfirmed(const Line& line) const;
    std::vector<canalogue_track_point> track_of(const Line& line, std::int64_t start, std::int64_t end) const;
    cv::Rect2f with_margin(const cv::Rect2f& box) const;

    TextFinder finder_;
    TextReader reader_;
    view::Inside inside_;
    cv::Mat inside_at_;       // coarse, of the picture that was judged last
    double inside_now_ = 1;
    bool outside_ = false, surely_inside_now_ = false, was_inside_ = false;  // the sample in hand
    std::vector<std::int64_t> surely_inside_;  // looks of this span
    cv::Size picture_, working_;
    std::int64_t start_ns_ = 0, end_ns_ = 0;

    cv::Mat current_, grey_, coarse_;  // the sample in hand
    cv::Mat coarse_at_look_, grey_at_look_;
    std::int64_t now_ = 0;
    std::optional<std::int64_t> first_look_, last_look_;
    std::vector<std::int64_t> looks_;  // of single pictures, in this span
    std::vector<FoundText> last_found_;
    bool restless_ = false;  // the last look saw text that is new or moves: look again at once

    Stretch stretch_;
    bool stretch_inside_ = false;  // one of its pictures was surely of an ear's inside

    std::vector<Sight> sights_;
    std::size_t crop_bytes_ = 0, read_ = 0;
};

std::string BurntText::why_not(const std::string& models_dir) {
    return nets::why_no_nets(models_dir, {TextFinder::kFile, TextReader::kFile, TextReader::kLetters, view::ViewNet::kFile});
}

void BurntText::begin_recording(const canalogue_facts& facts) {
    picture_ = {facts.width, facts.height};
    working_ = TextFinder::working_size(picture_);
}

void BurntText::span_begin(std::int64_t start_ns, std::int64_t end_ns) {
    start_ns_ = start_ns;
    end_ns_ = end_ns;
    first_look_.reset();
    last_look_.reset();
    looks_.clear();
    surely_inside_.clear();
    last_found_.clear();
    grey_at_look_.release();
    coarse_.release();
    inside_at_.release();
    sights_.clear();
    crop_bytes_ = read_ = 0;
    stretch_.clear();
}

void BurntText::frame(const canalogue_frame& f) {
    const cv::Mat given(f.height, f.width, CV_8UC3, const_cast<std::uint8_t*>(f.rgb),
                        static_cast<std::size_t>(f.stride));
    cv::resize(given, current_, working_, 0, 0, working_.width < f.width ? cv::INTER_AREA : cv::INTER_LINEAR);
    now_ = f.time_ns;
    cv::Mat coarse;
    grey_ = cv::Mat();  // the one before may be kept elsewhere
    cv::cvtColor(current_, grey_, cv::COLOR_RGB2GRAY);
    cv::resize(grey_, coarse, {std::max(1, working_.width / kCell), std::max(1, working_.height / kCell)}, 0,
               0, cv::INTER_AREA);
    coarse.convertTo(coarse, CV_32F);
    const bool new_scene = !coarse_.empty() && cv::norm(coarse, coarse_, cv::NORM_L1) >
                                                   kSceneChange * static_cast<double>(coarse.total());
    coarse_ = coarse;
    if (inside_at_.empty() || cv::norm(coarse, inside_at_, cv::NORM_L1) > kViewChange * static_cast<double>(coarse.total())) {
        inside_now_ = inside_.of(current_);
        inside_at_ = coarse;
    }
    const double inside = inside_now_;
    surely_inside_now_ = inside >= kSurelyInside;
    // What a mean blends is of one kind of view.
    const bool went = (inside < kSurelyOutside) != outside_, came_in = surely_inside_now_ && !was_inside_;
    was_inside_ = surely_inside_now_;
    if (new_scene || went) close_stretch();
    outside_ = inside < kSurelyOutside;
    if (stretch_.size() == 0) stretch_inside_ = false;
    stretch_inside_ |= surely_inside_now_;
    stretch_.add(current_, grey_, now_);
    // Outside the whole picture is covered: what moves there need not be followed closely.
    const bool due = !last_look_ || now_ - *last_look_ >= (restless_ && !outside_ ? kLookAgain : kLookEvery) - kJitter;
    if (new_scene || came_in || due || (!outside_ && words_changed())) look(now_);
    if (stretch_.size() >= kMeanOf) close_stretch();
}

// Whether, where text stood at the last look, other text may stand now: a name that shows for half a second
// between two looks would pass for what stood there before and after.
bool BurntText::words_changed() const {
    if (grey_at_look_.size() != grey_.size()) return false;
    return std::any_of(last_found_.begin(), last_found_.end(), [&](const FoundText& found) {
        const cv::Rect part = cv::Rect(found.box) & cv::Rect({0, 0}, grey_.size());
        return part.width > 2 && part.height > 2 && same_strokes(grey_, grey_at_look_, part) < kSameStrokes;
    });
}

void BurntText::look(std::int64_t t) {
    const bool unchanged = last_look_ && cv::norm(coarse_, coarse_at_look_, cv::NORM_INF) < kNoChange;
    const auto before = last_found_;
    if (!unchanged) {
        last_found_ = finder_.find_quickly(current_);
        coarse_at_look_ = coarse_;
    }
    grey_at_look_ = grey_;
    restless_ = !std::all_of(last_found_.begin(), last_found_.end(), [&](const FoundText& now) {
        return std::any_of(before.begin(), before.end(),
                           [&](const FoundText& b) { return at_rest(now.box, b.box); });
    });
    if (!first_look_) first_look_ = t;
    looks_.push_back(t);
    if (surely_inside_now_) surely_inside_.push_back(t);
    last_look_ = t;
    note(last_found_, current_, grey_, surely_inside_now_, [&](const cv::Rect&) { return std::pair(t, t); });
}

void BurntText::close_stretch() {
    if (stretch_.size() >= kFewestForMean) {
        const cv::Mat mean = stretch_.mean();
        cv::Mat grey;
        cv::cvtColor(mean, grey, cv::COLOR_RGB2GRAY);
        note(finder_.find(mean), mean, grey, stretch_inside_, [&](const cv::Rect& box) { return stretch_.presence(box); });
    }
    stretch_.clear();
}

cv::Rect2f BurntText::upright(const cv::Rect2f& b) const {
    const float x = static_cast<float>(picture_.width) / static_cast<float>(working_.width);
    const float y = static_cast<float>(picture_.height) / static_cast<float>(working_.height);
    return {b.x * x, b.y * y, b.width * x, b.height * y};
}

// Every crop that may say something new is kept to be read.
bool BurntText::worth_keeping(const Sight& sight, const cv::Mat& crop, const cv::Mat& whole, const cv::Rect& part) {
    if (crop.empty()) return false;
    if (crop_bytes_ + crop.total() * crop.elemSize() > kMostCropBytes) return surest_of_late(sight);
    for (auto earlier = sights_.rbegin(); earlier != sights_.rend(); ++earlier) {
        if (sight.start_ns - earlier->start_ns > kPatience) break;
        if (earlier->crop.empty() || !one_line(earlier->box, sight.box)) continue;
        // A piece of it says less.
        if ((earlier->box & sight.box).area() < kShowsAll * sight.box.area()) return true;
        return same_strokes(whole, earlier->whole, part) < kReadAlready;
    }
    return true;
}

// Whether no surer sight of the same line was noted just before; takes the crop of less sure ones, so
// that a long span keeps few of them.
bool BurntText::surest_of_late(const Sight& sight) {
    for (auto earlier = sights_.rbegin(); earlier != sights_.rend(); ++earlier) {
        if (sight.start_ns - earlier->start_ns > kPatience) break;
        if (earlier->crop.empty() || !one_line(earlier->box, sight.box)) continue;
        if (earlier->sureness >= sight.sureness) return false;
        earlier->crop.release();
        earlier->whole.release();
    }
    return true;
}

// when: the time of what stands in a box of the working picture.
template <class When>
void BurntText::note(const std::vector<FoundText>& found, const cv::Mat& picture, const cv::Mat& grey, bool inside, When when) {
    std::vector<Sight> sights;
    for (const auto& text : found) sights.push_back({0, 0, text.box, text.score, {}, {}, true});
    for (auto& sight : joined(std::move(sights))) {
        const cv::Rect part = cv::Rect(sight.box) & cv::Rect({0, 0}, picture.size());
        std::tie(sight.start_ns, sight.end_ns) = when(part);
        sight.box = upright(sight.box);
        sight.inside = inside;
        if (worth_keeping(sight, picture(part), grey, part)) {
            sight.crop = picture(part).clone();
            sight.whole = grey;
            crop_bytes_ += sight.crop.total() * sight.crop.elemSize();
        }
        sights_.push_back(std::move(sight));
    }
}

cv::Rect2f BurntText::with_margin(const cv::Rect2f& box) const {
    const float m = kMargin * std::min(box.width, box.height);
    const cv::Rect2f grown(box.x - m, box.y - m, box.width + 2 * m, box.height + 2 * m);
    return grown & cv::Rect2f(0, 0, static_cast<float>(picture_.width), static_cast<float>(picture_.height));
}

// Where a moving line may be by `t`, past the sight `last`, going on as it went from `before`.
cv::Rect2f carried_on(const Sight& last, const Sight& before, std::int64_t t) {
    const auto step =
        static_cast<float>(std::max<std::int64_t>(1, std::abs(last.start_ns - before.start_ns)));
    const float steps = std::min(kMostSteps, static_cast<float>(std::abs(t - last.start_ns)) / step);
    return last.box | (last.box + (last.box.tl() - before.box.tl()) * steps);
}

std::vector<canalogue_track_point> BurntText::track_of(const Line& line, std::int64_t start,
                                                       std::int64_t end) const {
    std::vector<canalogue_track_point> track;
    const auto at = [&](std::int64_t t, const cv::Rect2f& where) {
        const auto b = with_margin(where);
        track.push_back({std::clamp(t, start, end - 1), b.x, b.y, b.width, b.height});
    };
    if (line.still()) {
        at(start, line.hull);
        at(end - 1, line.hull);
        return track;
    }
    // A line that moves has two sights at least, each of a single picture.
    const auto& s = line.sights;
    at(start, carried_on(s[0], s[1], start));
    for (const auto& sight : s) at(sight.start_ns, sight.box);
    at(end - 1, carried_on(s[s.size() - 1], s[s.size() - 2], end));
    return track;
}

// Seen in one picture and no longer in the next sample, which is looked at whenever something is new:
// with nothing legible in it that is a glint. At the ends of the span there was no second look.
bool BurntText::unconfirmed(const Line& line) const {
    const bool once = line.sights.size() == 1 && line.start_ns == line.end_ns;
    return once && !line.surest().crop.empty() && line.start_ns != first_look_ && line.end_ns != last_look_;
}

void BurntText::propose(const Line& line, const std::vector<std::string>& texts) {
    plugin::Proposal p;
    p.kind = CANALOGUE_TEXT;
    // It may have come just after the look before, and gone just before the look after.
    const auto after = std::upper_bound(looks_.begin(), looks_.end(), line.end_ns), from = std::lower_bound(looks_.begin(), looks_.end(), line.start_ns);
    p.start_ns = std::max(start_ns_, from == looks_.begin() ? start_ns_ : std::max(*std::prev(from), line.start_ns - kLookEvery));
    p.end_ns = std::max(p.start_ns + 1, after == looks_.end() ? end_ns_ : std::min(*after, line.end_ns + kLookEvery));
    if (std::none_of(line.sights.begin(), line.sights.end(), [](const Sight& s) { return s.inside; })) {
        const auto in = std::lower_bound(surely_inside_.begin(), surely_inside_.end(), line.start_ns), out = std::upper_bound(surely_inside_.begin(), surely_inside_.end(), line.end_ns);
        if (in != surely_inside_.begin()) p.start_ns = std::max(p.start_ns, *std::prev(in));
        if (out != surely_inside_.end()) p.end_ns = std::max(p.start_ns + 1, std::min(p.end_ns, *out));
    }
    p.track = track_of(line, p.start_ns, p.end_ns);
    for (const auto& sight : line.sights)
        p.sureness = std::max<double>(p.sureness, std::clamp(sight.sureness, 0.f, 1.f));
    p.words = in_lines(texts, kRoomForWords);
    host().propose(p);
}

Reading reading_of(const Sight& sight, std::string text) { return {sight.start_ns, sight.box.x, std::move(text)}; }

// What else of a line can be read, as long as there is time. Means count only where nothing else was seen:
// they blend what followed one another.
std::vector<Reading> BurntText::read_rest(const Line& line, const Reading& surest) {
    const Sight* first = &line.surest();
    const bool only_means = std::all_of(line.sights.begin(), line.sights.end(), [](const Sight& s) { return s.end_ns > s.start_ns; });
    std::vector<Reading> out;
    if (only_means || first->end_ns == first->start_ns) out.push_back(surest);
    const bool room = std::none_of(line.sights.begin(), line.sights.end(), [](const Sight& s) { return s.inside; });
    for (const auto& sight : line.sights) {
        if (room && out.size() >= kRoomReadings) break;
        if (&sight == first || sight.crop.empty() || (line.still() && line.whole(*first) && !line.whole(sight)) || (!only_means && sight.end_ns > sight.start_ns)) continue;
        if (read_++ < kMostRead) out.push_back(reading_of(sight, reader_.read(sight.crop)));
    }
    if (out.empty()) out.push_back(surest);
    return out;
}

// A bubble or a glint reads as an O at most, and moves or is gone soon. A letter that stays is kept.
bool bubble(const Line& line, const std::vector<Wording>& said) {
    constexpr std::size_t kSoon = 3;  // looks
    const auto letters = [](const std::string& text) { return std::count_if(text.begin(), text.end(), [](unsigned char c) { return std::isalnum(c) || c >= 0xC0; }); };
    const bool legible = std::any_of(said.begin(), said.end(), [&](const Wording& w) { return std::any_of(w.texts.begin(), w.texts.end(), [&](const auto& t) { return letters(t) > 1; }); });
    const bool over_time = std::any_of(line.sights.begin(), line.sights.end(), [](const Sight& s) { return s.end_ns > s.start_ns; });
    return !legible && !over_time && (!line.still() || line.sights.size() <= kSoon);
}

// One proposal for each wording of a line at rest, so that what is judged by its words is all that it says.
void BurntText::propose_by_wording(const Line& line, const Reading& surest) {
    const auto said = wordings(read_rest(line, surest));
    if (bubble(line, said)) return;
    if (said.size() < 2 || !line.still()) {
        std::vector<std::string> texts;
        for (const auto& w : said) texts.insert(texts.end(), w.texts.begin(), w.texts.end());
        return propose(line, texts);
    }
    for (std::size_t i = 0; i < said.size(); ++i) {
        const auto& w = said[i];
        const bool first = i == 0, last = i + 1 == said.size();
        const auto before = first ? std::min(line.start_ns, w.first_ns) : said[i - 1].last_ns;
        const auto after = last ? std::max(line.end_ns, w.last_ns) : said[i + 1].first_ns;
        propose(part_of(line, before, w.first_ns, w.last_ns, after), w.texts);
    }
}

void BurntText::span_end() {
    if (last_look_ && *last_look_ != now_) look(now_);
    close_stretch();
    std::vector<Line> lines;
    for (auto& line : followed(std::move(sights_), kPatience))
        for (auto& part : without_inside(std::move(line), surely_inside_)) lines.push_back(std::move(part));
    sights_.clear();
    // The surest sight of every line comes before the second of any.
    std::vector<Reading> surest;
    for (const auto& line : lines)
        surest.push_back(reading_of(line.surest(), read_++ < kMostRead ? reader_.read(line.surest().crop) : ""));
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const bool glint = surest[i].text.empty() && read_ <= kMostRead && unconfirmed(lines[i]);
        if (!glint) propose_by_wording(lines[i], surest[i]);
    }
}

}  // namespace

}  // namespace canalogue::burnt_text

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::spotter_plugin<canalogue::burnt_text::BurntText>();
    return &plugin;
}
