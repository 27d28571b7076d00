#include "export/handout.hpp"

#include <cairo-pdf.h>

#include <algorithm>
#include <fstream>
#include <set>

#include "export/canvas.hpp"

namespace canalogue::film {

namespace fs = std::filesystem;

namespace {

// Points: A4, its margin, and the sizes of type at scale 1.
constexpr double kWidth = 595.28, kHeight = 841.89, kMargin = 42, kFoot = 30, kBody = 10.5, kHeading = 12.5, kTitle = 21, kSmall = 8;
constexpr double kScales[] = {1, 0.94, 0.88, 0.82, 0.76, 0.7};
constexpr std::size_t kStills = 4;
constexpr Rgb kBlack{0x10, 0x18, 0x1c}, kGrey{0x46, 0x5c, 0x64};

struct Jpeg {
    std::string bytes;
    Size size;
};

// Its size stands in the frame header (ITU-T T.81, SOF0 to SOF2).
std::optional<Jpeg> read_jpeg(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    Jpeg out{{(std::istreambuf_iterator<char>(in)), {}}, {}};
    const auto byte = [&](std::size_t i) { return static_cast<int>(static_cast<std::uint8_t>(out.bytes[i])); };
    for (std::size_t at = 2; at + 9 < out.bytes.size() && byte(at) == 0xFF;) {
        const int marker = byte(at + 1);
        if (marker >= 0xC0 && marker <= 0xC2) {
            out.size = {byte(at + 7) << 8 | byte(at + 8), byte(at + 5) << 8 | byte(at + 6)};
            return out;
        }
        at += 2 + static_cast<std::size_t>(byte(at + 2) << 8 | byte(at + 3));
    }
    return {};
}

// One page, written from top to bottom.
class Sheet {
  public:
    Sheet(cairo_t* cairo, double scale) : cairo_(cairo), scale_(scale) {}

    void words(const std::string& text, double size, bool bold = false, Rgb colour = kBlack, double indent = 0, double after = 3) {
        if (text.empty()) return;
        const TextStyle style{size * scale_, bold, colour, Align::left, static_cast<int>(kWidth - 2 * kMargin - indent)};
        const double height = Canvas::measure(text, style).h;
        if (y_ + height > kHeight - kMargin - kFoot) return void(full_ = true);
        draw_text(cairo_, kMargin + indent, y_, text, style);
        y_ += height + after * scale_;
    }
    void heading(const std::string& text) {
        y_ += 6 * scale_;
        words(text, kHeading, true);
    }
    void body(const std::string& text) { words(text, kBody); }
    // A mark or a time, and words beside it.
    void row(const std::string& mark, const std::string& text, double size = kBody) {
        const double begun = y_, indent = 40 * scale_;
        words(text, size, false, kBlack, indent, 2);
        if (y_ > begun) draw_text(cairo_, kMargin + (mark.size() > 2 ? 0 : 18 * scale_), begun, mark, {size * scale_, false, kGrey});
    }
    void bullet(const std::string& text) {
        const double begun = y_;
        words(text, kBody, false, kBlack, 12, 2);
        if (y_ > begun) draw_text(cairo_, kMargin, begun, "\u2022", {kBody * scale_, false, kGrey});
    }
    void rule() {
        cairo_set_source_rgb(cairo_, kAmber.r / 255.0, kAmber.g / 255.0, kAmber.b / 255.0);
        cairo_rectangle(cairo_, kMargin, y_ + 2, 70, 3);
        cairo_fill(cairo_);
        y_ += 12;
    }
    // Pictures side by side, as they lie in their files.
    void pictures(const std::vector<std::pair<Jpeg, std::string>>& all) {
        constexpr double kGap = 14;
        const double width = (kWidth - 2 * kMargin - kGap) / 2;
        for (std::size_t i = 0; i < all.size(); i += 2) {
            double lowest = y_;
            for (std::size_t k = i; k < std::min(i + 2, all.size()); ++k) lowest = std::max(lowest, picture(all[k], kMargin + static_cast<double>(k - i) * (width + kGap), width));
            y_ = lowest + 8 * scale_;
        }
    }
    void foot(const std::string& text) { draw_text(cairo_, kMargin, kHeight - kMargin - 14, text, {kSmall, false, kGrey, Align::left, static_cast<int>(kWidth - 2 * kMargin)}); }
    bool full() const { return full_; }

  private:
    // Returns where it ends.
    double picture(const std::pair<Jpeg, std::string>& each, double x, double room) {
        const auto& [jpeg, caption] = each;
        const double height = std::min(room * jpeg.size.h / jpeg.size.w, 150 * scale_), width = height * jpeg.size.w / jpeg.size.h;
        const TextStyle style{8.5 * scale_, false, kBlack, Align::left, static_cast<int>(room), 3};
        const double ends = y_ + height + 4 + Canvas::measure(caption, style).h;
        if (ends > kHeight - kMargin - kFoot) return full_ = true, y_;
        // Cairo puts the bytes of a JPEG into a PDF as they are; the surface only lends its size.
        cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, jpeg.size.w, jpeg.size.h);
        auto* bytes = new std::string(jpeg.bytes);
        const auto release = [](void* p) { delete static_cast<std::string*>(p); };
        if (cairo_surface_set_mime_data(surface, CAIRO_MIME_TYPE_JPEG, reinterpret_cast<const unsigned char*>(bytes->data()), bytes->size(), release, bytes) != CAIRO_STATUS_SUCCESS) delete bytes;
        cairo_save(cairo_);
        cairo_translate(cairo_, x, y_);
        cairo_scale(cairo_, width / jpeg.size.w, height / jpeg.size.h);
        cairo_set_source_surface(cairo_, surface, 0, 0);
        cairo_paint(cairo_);
        cairo_restore(cairo_);
        cairo_surface_destroy(surface);
        draw_text(cairo_, x, y_ + height + 4, caption, style);
        return ends;
    }

    cairo_t* cairo_;
    double scale_, y_ = kMargin;
    bool full_ = false;
};

const char* const kMore = "There is more on the case page.";

std::string foot_of(const CasePage& page, int number) {
    return (page.notice.empty() ? "" : page.notice + ". ") + std::string(teaching_caution()) + " Page " + std::to_string(number) + " of 2.";
}

void first_page(Sheet& sheet, const CasePage& page, const std::vector<std::pair<Jpeg, std::string>>& stills) {
    if (!page.notice.empty()) sheet.words(page.notice, kHeading, true, {0x8a, 0x1f, 0x11});
    sheet.words(page.title, kTitle, true);
    sheet.rule();
    std::string by = page.about.made_by.empty() ? "" : "By " + page.about.made_by + ". ";
    if (!page.about.made_for.empty()) by += "For " + page.about.made_for + ". ";
    sheet.words(by + format_clock(page.length) + " of film.", kBody, false, kGrey);
    sheet.words(std::string(teaching_caution()), kBody, true);
    if (!page.about.case_text.empty()) sheet.heading("The case"), sheet.body(page.about.case_text);
    if (!page.about.aims.empty()) sheet.heading("What you can learn");
    for (const auto& aim : page.about.aims) sheet.bullet(aim);
    if (!stills.empty()) sheet.heading("Stills"), sheet.pictures(stills);
    sheet.foot(foot_of(page, 1));
}

void questions(Sheet& sheet, const CasePage& page) {
    if (page.questions.empty()) return;
    sheet.heading("Questions");
    for (std::size_t i = 0; i < page.questions.size(); ++i) {
        const Question& q = page.questions[i].question;
        sheet.row(std::to_string(i + 1), q.asks + " (" + format_clock(page.questions[i].at.ns) + ")");
        for (std::size_t n = 0; n < q.choices.size(); ++n) sheet.words(letter_of_choice(n) + "  " + q.choices[n], kBody, false, kBlack, 56, 1);
    }
}

void answers(Sheet& sheet, const CasePage& page) {
    std::string all;
    for (std::size_t i = 0; i < page.questions.size(); ++i) {
        const Question& q = page.questions[i].question;
        all += (i ? "  " : "") + std::to_string(i + 1) + ": " + (q.choices.empty() ? "" : letter_of_choice(static_cast<std::size_t>(q.right)) + ". ") + q.reveals;
    }
    if (!all.empty()) sheet.heading(""), sheet.words("Answers. " + all, kSmall, false, kGrey);
}

void second_page(Sheet& sheet, const CasePage& page) {
    if (!page.chapters.empty()) sheet.heading("Chapters");
    for (const auto& c : page.chapters) sheet.row(format_clock(c.start.ns), c.title);
    if (!page.about.outcome.empty()) sheet.heading("The outcome"), sheet.body(page.about.outcome);
    questions(sheet, page);
    const About& a = page.about;
    if (!a.consent.empty()) sheet.heading("Consent"), sheet.body(a.consent);
    if (!a.conflicts.empty()) sheet.heading("Interests"), sheet.body(a.conflicts);
    if (!a.credits.empty()) sheet.heading("Credits");
    for (const auto& c : a.credits) sheet.body(c);
    answers(sheet, page);
    sheet.foot(foot_of(page, 2));
}

std::vector<std::pair<Jpeg, std::string>> chosen_stills(const fs::path& folder, const CasePage& page) {
    std::vector<PageStill> best = page.stills;
    std::stable_sort(best.begin(), best.end(), [](const PageStill& a, const PageStill& b) { return a.weight > b.weight; });
    // What is told once more shows nothing new: it comes after all that is told for the first time.
    std::set<std::pair<Ear, std::string>> told;
    std::vector<PageStill> again;
    std::erase_if(best, [&](const PageStill& s) { return !told.insert({s.ear, s.words}).second && (again.push_back(s), true); });
    best.insert(best.end(), again.begin(), again.end());
    if (best.size() > kStills) best.resize(kStills);
    std::stable_sort(best.begin(), best.end(), [](const PageStill& a, const PageStill& b) { return a.at < b.at; });
    std::vector<std::pair<Jpeg, std::string>> out;
    for (const auto& s : best)
        if (auto jpeg = read_jpeg(folder / s.file)) out.emplace_back(std::move(*jpeg), std::string(s.ear == Ear::right ? "Right ear" : "Left ear") + ", " + format_clock(s.at.ns) + ": " + s.words);
    return out;
}

// Cairo writes the hour into every PDF. Blanks of the same length, so that all its offsets stay.
void forget_dates(std::string& pdf) {
    for (const std::string_view field : {"/CreationDate", "/ModDate"})
        for (std::size_t at = 0; (at = pdf.find(field, at)) != std::string::npos;) {
            const std::size_t end = pdf.find(')', at);
            if (end == std::string::npos) break;
            std::fill(pdf.begin() + static_cast<std::ptrdiff_t>(at), pdf.begin() + static_cast<std::ptrdiff_t>(end + 1), ' ');
        }
}

}  // namespace

Result<void> write_handout(const fs::path& folder, const CasePage& page) {
    const auto stills = chosen_stills(folder, page);
    std::string pdf;
    for (const double scale : kScales) {
        pdf.clear();
        const auto append = [](void* to, const unsigned char* data, unsigned length) {
            static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), length);
            return CAIRO_STATUS_SUCCESS;
        };
        cairo_surface_t* surface = cairo_pdf_surface_create_for_stream(append, &pdf, kWidth, kHeight);
        cairo_t* cairo = cairo_create(surface);
        Sheet first(cairo, scale), second(cairo, scale);
        first_page(first, page, stills);
        const bool last = scale == kScales[std::size(kScales) - 1];
        if (last && first.full()) draw_text(cairo, kMargin, kHeight - kMargin - kFoot, kMore, {kSmall, true, kBlack});
        cairo_show_page(cairo);
        second_page(second, page);
        if (last && second.full()) draw_text(cairo, kMargin, kHeight - kMargin - kFoot, kMore, {kSmall, true, kBlack});
        cairo_show_page(cairo);
        cairo_destroy(cairo);
        cairo_surface_finish(surface);
        const cairo_status_t status = cairo_surface_status(surface);
        cairo_surface_destroy(surface);
        if (status != CAIRO_STATUS_SUCCESS) return machine_trouble("The handout cannot be drawn: there may not be enough memory; close other programs.");
        if (!first.full() && !second.full()) break;
    }
    forget_dates(pdf);
    std::ofstream out(folder / kHandoutFile, std::ios::binary);
    out.write(pdf.data(), static_cast<std::streamsize>(pdf.size()));
    if (!out.flush()) return machine_trouble("The handout cannot be written: check the disk's free space.");
    return {};
}

}  // namespace canalogue::film
