// The educator's desk: the plan as cards in order, what each shows and says, whether the voice fits, a
// preview, and the render. Window's thread.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>

#include "app/core/plan.hpp"
#include "app/desk/captioning.hpp"
#include "app/editor/about_panel.hpp"
#include "app/editor/close_up_hand.hpp"
#include "app/editor/film_preview.hpp"
#include "app/editor/passage_panel.hpp"
#include "app/editor/set_panel.hpp"
#include "app/editor/picture_texture.hpp"
#include "app/editor/take_panel.hpp"
#include "app/editor/workplace.hpp"
#include "export/schedule.hpp"

namespace canalogue::editor {

class ClipDesk {
  public:
    explicit ClipDesk(PicturePane& pane) : box_(pane) {}

    void draw(Workplace& w);
    void key(Workplace& w, const std::string& key);
    // Reads the kept plan; after a session is opened or changed.
    void read(Workplace& w);

    const Plan* plan() const { return plan_ ? &*plan_ : nullptr; }
    std::optional<std::size_t> chosen() const { return chosen_; }
    // While a hand trims a passage on the time map.
    void trim(Workplace& w, std::size_t passage, RecordingSpan span, bool done);

    // While the close-up of the chosen passage is being placed, the picture and the arrow keys are its.
    bool placing() const;
    void stop_placing();
    void on_picture(Workplace& w, const PictureOnScreen& picture);
    void nudge(Workplace& w, int dx, int dy, bool size);

    // Where the questions of the chosen passage have their spots, at the instants at which they are asked.
    void draw_spots(const Workplace& w, const PictureOnScreen& picture) const;

    FilmPreview& preview() { return preview_; }
    void follow_preview(Workplace& w);
    const FilmPreview& preview() const { return preview_; }
    bool recording() const { return takes_.recording(); }

  private:
    void draw_tools(Workplace& w);
    void draw_cards(Workplace& w);
    void draw_card_row(Workplace& w, std::size_t i);
    void draw_chosen(Workplace& w);
    void draw_passage(Workplace& w, Passage& p);
    void draw_close_up(Workplace& w, Passage& p);
    void draw_close_up_way(Workplace& w, Passage& p);
    void draw_title(Workplace& w, Card& c);
    void draw_chapter(Workplace& w, std::string& chapter);
    bool draw_narration(Workplace& w, std::vector<NarrationLine>& lines);
    bool draw_pace(Workplace& w, Passage& p);
    void draw_render(Workplace& w);
    void draw_case(Workplace& w);
    void draw_looks(Workplace& w, FilmSettings& film);
    void draw_film(Workplace& w);
    void draw_captions(Workplace& w);
    void draw_make_up(Workplace& w);
    void draw_draft_anew(Workplace& w);
    void drag_cards(Workplace& w, const std::vector<ImVec2>& tops);
    Passage* chosen_passage();
    void close_up(Workplace& w);  // begins placing it, or ends that
    void place(Workplace& w, bool second);
    static std::string close_up_words(const Passage& p);
    static std::string passage_words(const Passage& p);
    void cut(Workplace& w, bool end);
    void draft(Workplace& w);
    void add_passage(Workplace& w);
    void add_card(Workplace& w);
    void move(Workplace& w, int by);
    void remove(Workplace& w);
    // Another card is worked at: what was typed for the one before is given up.
    void choose(std::optional<std::size_t> item);
    void draw_pointers(const Passage& passage, RecordingTime t, const PictureOnScreen& picture) const;
    void change(Workplace& w, const std::string& act);  // keeps the plan as it stands
    void render(Workplace& w);
    struct FilmPlace {
        Nanos at = 0;
        bool still = false;
    };
    void start_preview(Workplace& w, std::optional<FilmPlace> place = {});
    void show_anew(Workplace& w);
    double followed_ = -1;  // the second of the preview at which the session was brought to what it shows

    void measure_voices(Workplace& w);
    std::string fit_words(std::size_t item) const;
    Nanos film_length(std::size_t item) const;
    const RgbTexture* thumbnail(Workplace& w, std::size_t item);

    std::optional<Plan> plan_;
    std::optional<std::size_t> chosen_;
    std::string read_of_;
    Nanos voice_length(const Workplace& w, const NarrationLine& line) const;  // -1: not measured yet

    std::map<std::string, Nanos> voices_;     // line -> how long the draft voice takes to say it
    TakePanel takes_;
    AskedBox box_;
    AboutPanel about_{box_};
    PassagePanel more_{box_};
    float cards_need_ = 0;  // how high all cards together were in the last frame
    bool telling_ = false;  // what the case says about itself is shown
    std::optional<film::Schedule> schedule_;  // once every line is measured
    film::NarrationLengths lengths_;          // what it was made from
    bool measuring_ = false;
    std::optional<std::pair<std::size_t, Passage>> trimming_;  // as it was before the hand took it
    std::optional<std::size_t> dragged_;      // the card under the hand
    std::optional<std::size_t> placing_;      // the passage whose close-up is being placed
    CloseUpHand hand_;
    std::map<std::string, RgbTexture> thumbnails_;
    std::map<std::string, bool> wanted_thumbnails_;
    std::map<std::string, std::string> drafts_;
    std::string out_, reason_, result_, draft_length_, captions_language_, captions_file_, make_up_;
    Audience audience_ = Audience::learners;
    bool rendering_ = false, replace_ = false;
    bool to_top_ = false;  // what is worked at is another: it is shown from its beginning
    bool drafting_anew_ = false;  // asks before a draft takes the plan's place
    desk::CaptionFiles captions_;  // in other languages, for the next film
    enum class RenderPart { size, looks, set } render_part_ = RenderPart::size;
    SetPanel set_;
    FilmPreview preview_;
};

}  // namespace canalogue::editor
