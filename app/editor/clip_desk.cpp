#include "app/editor/clip_desk.hpp"

#include <algorithm>
#include <cmath>

#include "app/desk/drafting.hpp"
#include "app/desk/planning.hpp"
#include "app/desk/rendering.hpp"
#include "app/desk/takes.hpp"
#include "app/desk/visiting.hpp"
#include "app/editor/ui.hpp"
#include "export/voice.hpp"

namespace canalogue::editor {

namespace {

constexpr Nanos kNewPassage = 6 * kSecond, kNewCard = 5 * kSecond, kShortestFilm = 5 * kSecond;

std::string number(double v) {
    char text[32];
    std::snprintf(text, sizeof text, "%g", v);
    return text;
}

bool same_item(const PlanItem& a, const PlanItem& b) {
    Plan one, other;
    one.items = {a}, other.items = {b};
    return plan_to_json(one) == plan_to_json(other);
}

// "5.4 s"
std::string in_seconds(Nanos t) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f s", static_cast<double>(t) / kSecond);
    return text;
}

}  // namespace

void ClipDesk::read(Workplace& w) {
    if (read_of_ != w.session) {
        plan_.reset();
        drafts_.clear(), about_.forget(), more_.forget();
        preview_.stop();
        chosen_.reset();
        stop_placing();
        thumbnails_.clear();
        out_.clear(), result_.clear(), captions_language_.clear(), captions_file_.clear();
        drafting_anew_ = false;
    }
    read_of_ = w.session;
    std::optional<Plan> now;
    if (!w.session.empty()) {
        auto kept = desk::kept_plan(w.desk, w.session);
        if (!kept) w.failed(kept.failure());
        else now = std::move(*kept);
        auto captions = desk::kept_captions(w.desk, w.session);
        if (!captions) w.failed(captions.failure());
        else captions_ = std::move(*captions);
    }
    // Whatever is being typed stays, unless the plan itself has changed.
    schedule_.reset();
    if (plan_.has_value() == now.has_value() && (!now || plan_to_json(*plan_) == plan_to_json(*now))) return;
    // The first item that is another now: what was undone, or done, is there.
    std::optional<std::size_t> changed;
    for (std::size_t i = 0; plan_ && now && !changed && i < now->items.size(); ++i)
        if (i >= plan_->items.size() || !same_item(plan_->items[i], now->items[i])) changed = i;
    plan_ = std::move(now);
    show_anew(w);
    if (!plan_ || plan_->items.empty() || !chosen_) return choose(std::nullopt);
    const std::size_t to = changed.value_or(std::min(*chosen_, plan_->items.size() - 1));
    if (to != *chosen_) return choose(to);
    drafts_.clear(), about_.forget(), more_.forget();  // the same card: what is being placed on the picture goes on
}

void ClipDesk::choose(std::optional<std::size_t> item) {
    chosen_ = item;
    to_top_ = true;
    stop_placing(), takes_.leave();
    drafts_.clear(), about_.forget(), more_.forget();
}

void ClipDesk::change(Workplace& w, const std::string& act) {
    schedule_.reset();
    if (w.did(desk::keep_plan(w.desk, w.session, *plan_, act))) show_anew(w);
}

void ClipDesk::draft(Workplace& w) {
    std::optional<Nanos> length;
    if (!draft_length_.empty()) {
        const auto wanted = parse_time(draft_length_);
        if (!wanted || *wanted < kShortestFilm) {
            w.failed(wrong_use("The length is not understood: write it as 3:00, or leave it empty."));
            return;
        }
        length = *wanted;
    }
    w.beside("Drafting a plan", [this, &w, session = w.session, length](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto drafted = desk::draft(own, session, length, progress);
        if (!drafted) return drafted.failure();
        return Jobs::Then([this, &w, session, drafted = std::move(*drafted)] {
            if (w.session != session) return;
            plan_ = drafted.plan;
            choose(0);
            drafting_anew_ = false;
            change(w, "draft a plan");
            if (!drafted.notes.empty()) w.complaint = drafted.notes.front();
            else if (w.complaint.empty()) w.news = "Drafted from the events, " + format_clock(drafted.length) + " long; change what you like";
        });
    });
}

void ClipDesk::add_passage(Workplace& w) {
    const auto now = w.player.showing();
    if (!now) return;
    if (!plan_) plan_.emplace();
    const Recording& r = *now->recording;
    const RecordingTime at = r.recording_time(w.player.at());
    const auto ear = r.ear_at(at);
    if (!ear) {
        w.failed(wrong_use("Nothing says which ear is shown here: set the side first (Ctrl+E)."));
        return;
    }
    Passage p;
    p.recording = r.id;
    p.span = {at, std::min(at + kNewPassage, r.only.end)};
    // A passage shows one side.
    for (const auto& e : r.ears)
        if (e.span.holds(at)) p.span.end = std::min(p.span.end, e.span.end);
    p.ear = *ear;
    const std::size_t place = chosen_ ? *chosen_ + 1 : plan_->items.size();
    plan_->items.insert(plan_->items.begin() + static_cast<std::ptrdiff_t>(place), p);
    choose(place);
    change(w, "add a passage");
}

void ClipDesk::add_card(Workplace& w) {
    if (!plan_) plan_.emplace();
    Card c;
    c.title = "A note";
    c.length = kNewCard;
    const std::size_t place = chosen_ ? *chosen_ + 1 : plan_->items.size();
    plan_->items.insert(plan_->items.begin() + static_cast<std::ptrdiff_t>(place), c);
    choose(place);
    change(w, "add a card");
}

void ClipDesk::move(Workplace& w, int by) {
    if (!chosen_) return;
    const auto to = static_cast<std::ptrdiff_t>(*chosen_) + by;
    if (to < 0 || to >= static_cast<std::ptrdiff_t>(plan_->items.size())) return;
    choose(move_item(*plan_, *chosen_, static_cast<std::size_t>(by > 0 ? to + 1 : to)));
    change(w, "move in the plan");
}

void ClipDesk::remove(Workplace& w) {
    if (!chosen_ || !plan_) return;
    if (plan_->items.size() == 1) {
        w.failed(wrong_use("A plan needs one item at least; add another before this one goes."));
        return;
    }
    plan_->items.erase(plan_->items.begin() + static_cast<std::ptrdiff_t>(*chosen_));
    choose(std::min(*chosen_, plan_->items.size() - 1));
    change(w, "take out of the plan");
}

void ClipDesk::trim(Workplace& w, std::size_t i, RecordingSpan span, bool done) {
    if (!plan_ || i >= plan_->items.size()) return;
    auto* p = std::get_if<Passage>(&plan_->items[i]);
    if (!p) return;
    // From what it was when the hand took it: what a trim cuts off comes back when it goes back.
    if (!trimming_ || trimming_->first != i) trimming_ = {i, *p};
    *p = trimming_->second;
    canalogue::trim(*p, span);
    chosen_ = i;
    if (!done) return;
    const std::size_t gone = trimming_->second.questions.size() - p->questions.size();
    trimming_.reset();
    about_.forget(), more_.forget();
    change(w, "trim a passage");
    if (gone > 0) w.news = (gone == 1 ? "A question" : std::to_string(gone) + " questions") + std::string(" went with what was cut off; Ctrl+Z brings it back");
}

// The chosen passage begins, or ends, with the frame that is shown.
void ClipDesk::cut(Workplace& w, bool end) {
    const Passage* p = chosen_passage();
    const Recording* r = p ? w.view.recording(p->recording) : nullptr;
    if (!r) return;
    const RecordingTime now = r->recording_time(w.player.at());
    if (end && now > p->span.start && now <= r->only.end) trim(w, *chosen_, {p->span.start, now}, true);
    if (!end && now < p->span.end && now >= r->only.start) trim(w, *chosen_, {now, p->span.end}, true);
}

void ClipDesk::key(Workplace& w, const std::string& key) {
    if (key == "a") add_passage(w);
    else if (key == "t") add_card(w);
    else if (key == "d" && !plan_) draft(w);
    else if (key == "d") {
        drafting_anew_ = !drafting_anew_;
        if (drafting_anew_) ui().focus.go("draft length");
    }
    else if (key == "v") preview_.on() ? preview_.stop() : start_preview(w);
    else if (key == "c") close_up(w);
    else if (key == "[") cut(w, false);
    else if (key == "]") cut(w, true);
    else if (key == "del") remove(w);
    else if (key == "k") move(w, -1);
    else if (key == "j") move(w, 1);
}

// ---- Whether the voice fits -------------------------------------------------------------------------

void ClipDesk::measure_voices(Workplace& w) {
    if (!plan_ || schedule_ || measuring_) return;
    std::vector<std::string> unknown;
    for (const auto& item : plan_->items)
        for (const auto& line : narration_of(item))
            if (voice_length(w, line) < 0) unknown.push_back(line.text);
    if (unknown.empty()) {
        lengths_.clear();
        for (const auto& item : plan_->items) {
            lengths_.emplace_back();
            for (const auto& line : narration_of(item)) lengths_.back().push_back(voice_length(w, line));
        }
        std::vector<Event> accepted = w.view.events;
        std::erase_if(accepted, [](const Event& e) { return e.origin != Origin::person; });
        schedule_ = film::schedule(*plan_, accepted, lengths_);
        return;
    }
    measuring_ = true;
    const std::string language = plan_->language;
    w.jobs.start("Measuring the voice", [this, unknown, language](const Progress& progress) -> Result<Jobs::Then> {
        std::map<std::string, Nanos> found;
        for (const auto& line : unknown) {
            if (progress.stopped()) break;
            auto spoken = film::speak(line, language);
            found[line] = spoken ? spoken->length() : 0;
        }
        return Jobs::Then([this, found] {
            voices_.insert(found.begin(), found.end());
            measuring_ = false;
        });
    }, true);
}

Nanos ClipDesk::film_length(std::size_t item) const {
    if (!schedule_) return 0;
    long frames = 0;
    for (const auto& piece : schedule_->pieces)
        if (piece.item == item) frames += piece.count;
    return schedule_->time_of(frames).ns;
}

Nanos ClipDesk::voice_length(const Workplace& w, const NarrationLine& line) const {
    for (const Take& take : w.view.takes)
        if (take.id == line.take) return take.length;
    const auto it = voices_.find(line.text);
    return it == voices_.end() ? -1 : it->second;
}

std::string ClipDesk::fit_words(std::size_t item) const {
    if (!schedule_) return "measuring the voice \u2026";
    const film::VoiceFit fit = film::voice_fit(*plan_, *schedule_, lengths_, item);
    if (fit.needed == 0) return "no voice";
    const std::string needs = "voice " + in_seconds(fit.needed);
    if (fit.too_long > 0) return needs + ": shorten by " + in_seconds(fit.too_long + kSecond / 20);
    std::string out;
    if (fit.slowed) out += ", at " + number(std::round(fit.pace * 100) / 100) + "x";
    if (fit.stands > kSecond / 5) out += std::holds_alternative<Card>(plan_->items[item]) ? ", card " + in_seconds(fit.stands) + " longer" : ", held " + in_seconds(fit.stands);
    return needs + (out.empty() ? ", fits" : out);
}

// ---- Thumbnails: covered, always ---------------------------------------------------------------------

const RgbTexture* ClipDesk::thumbnail(Workplace& w, std::size_t i) {
    const auto* p = std::get_if<Passage>(&plan_->items[i]);
    const Recording* r = p ? w.view.recording(p->recording) : nullptr;
    const auto index = r ? w.view.indexes.find(r->id) : w.view.indexes.end();
    const auto covers = r ? w.view.covers.find(r->id) : w.view.covers.end();
    if (!r || index == w.view.indexes.end() || covers == w.view.covers.end()) return nullptr;
    const RecordingTime t = p->span.start + p->span.length() / 3;
    std::string key = r->id + " " + std::to_string(t.ns);
    if (p->close_up) {
        const ShareBox b = shown_at(*p->close_up, p->span, t);
        key += " close-up " + number(b.x) + "," + number(b.y) + "," + number(b.w);
    }
    for (const auto& b : covers->second.boxes_during({t, t + 1}, r->stored)) key += " " + std::to_string(b.x) + "," + std::to_string(b.y) + "," + std::to_string(b.w) + "," + std::to_string(b.h);
    if (const auto it = thumbnails_.find(key); it != thumbnails_.end()) return &it->second;
    if (wanted_thumbnails_[key]) return nullptr;
    wanted_thumbnails_[key] = true;
    const film::SourceRecording source{*r, index->second, covers->second};
    w.jobs.start("Thumbnail " + key, [this, source, t, key, passage = *p](const Progress&) -> Result<Jobs::Then> {
        auto opened = film::PictureSource::open(source, {256, 144}, 1);
        if (!opened) return opened.failure();
        auto picture = opened->of(passage, t);
        if (!picture) return picture.failure();
        media::RgbConverter converter;
        auto rgb = converter.convert({picture->frame, picture->time}, Rotation::none);
        if (!rgb) return rgb.failure();
        return Jobs::Then([this, key, rgb = std::make_shared<media::RgbPicture>(std::move(*rgb))] {
            if (thumbnails_.size() > 300) thumbnails_.clear(), wanted_thumbnails_.clear();
            thumbnails_[key].show(*rgb);
        });
    }, true);
    return nullptr;
}

// ---- Preview and film --------------------------------------------------------------------------------

// "Here" is the frame that is seen: the session goes to it whenever the film stands still, and before whatever a hand does.
void ClipDesk::follow_preview(Workplace& w) {
    if (!preview_.on() || !schedule_ || !plan_) return;
    const bool asked = ImGui::IsMouseClicked(0) || !ui().keys.empty();
    const double at = preview_.at();
    if (at == followed_ || (preview_.playing() && !asked)) return;
    followed_ = at;
    constexpr Nanos kRounding = 1000;
    const auto shown = film::shown_in_film(*plan_, *schedule_, {nanos_from_seconds(at) + kRounding});
    const Recording* r = shown.empty() ? nullptr : w.view.recording(shown.front().recording);
    if (r) w.player.go(r->session_time(shown.front().at));
}

// What is previewed follows the plan, from where it stands.
void ClipDesk::show_anew(Workplace& w) {
    if (!preview_.on()) return;
    if (!plan_ || plan_->items.empty()) return preview_.stop();
    start_preview(w, FilmPlace{nanos_from_seconds(preview_.at()), !preview_.playing()});
}

void ClipDesk::start_preview(Workplace& w, std::optional<FilmPlace> place) {
    if (!plan_ || plan_->items.empty()) return;
    w.player.play(false);
    stop_placing();
    FilmPreview::Wish wish;
    wish.plan = *plan_;
    wish.vocabulary = w.view.vocabulary;
    wish.folder = w.desk.library.folder() / "cache";
    wish.events = w.view.events;
    std::erase_if(wish.events, [](const Event& e) { return e.origin != Origin::person; });
    for (const auto& r : w.view.recordings) {
        const auto index = w.view.indexes.find(r.id);
        const auto covers = w.view.covers.find(r.id);
        if (index != w.view.indexes.end() && covers != w.view.covers.end()) wish.sources.push_back({r, index->second, covers->second});
    }
    if (auto fits = desk::look_over(w.desk, w.session, *plan_); !fits) {
        w.failed(fits.failure());
        return;
    }
    for (const auto& item : plan_->items)
        for (const auto& line : narration_of(item))
            if (!line.take.empty())
                if (auto sound = desk::take_sound(w.desk, w.session, line.take, line.text)) wish.takes[line.take] = std::move(*sound);
    // From the chosen card on.
    if (place) wish.from = place->at, wish.still = place->still, wish.goes_on = true;
    else if (schedule_ && chosen_)
        for (const auto& piece : schedule_->pieces)
            if (piece.item == *chosen_) {
                wish.from = schedule_->time_of(piece.first).ns;
                break;
            }
    if (desk::visits_of(*plan_, w.session).empty()) return preview_.start(std::move(wish), w.player.sound());
    // Their files are read first, to be sure that they are what was covered: beside the window.
    w.beside("Opening the other visit", [this, &w, wish = std::move(wish), session = w.session](desk::Desk& own, const Progress& progress) mutable -> Result<Jobs::Then> {
        auto visits = desk::visit_sources(own, wish.plan, session, Audience::learners, progress);
        if (!visits) return visits.failure();
        wish.sources.insert(wish.sources.end(), visits->begin(), visits->end());
        return Jobs::Then([this, &w, wish = std::move(wish), session]() mutable {
            if (w.session == session && w.at == DeskName::clip) preview_.start(std::move(wish), w.player.sound());
        });
    });
}

void ClipDesk::render(Workplace& w) {
    desk::RenderWish wish{w.session, *plan_, audience_, reason_, out_, replace_, w.passphrase, captions_};
    result_.clear();
    w.beside("Making the film", [this, &w, wish](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto done = desk::render(own, wish, progress);
        if (!done) return done.failure();
        return Jobs::Then([this, &w, report = *done] {
            if (!report.report.held) result_ = report.report.folder.string();
            w.succeeded(report.report.held ? "" : "The film is ready: " + format_clock(report.report.length));
            if (report.report.held) w.complaint = desk::why_held(report);
            else if (!report.notes.empty()) w.complaint = report.notes.front();
        });
    });
}

}  // namespace canalogue::editor
