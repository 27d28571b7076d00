#include "export/publishing.hpp"

#include "app/media/frame_reader.hpp"
#include "export/canvas.hpp"
#include "export/encoder.hpp"
#include "export/folder.hpp"

namespace canalogue::film {

namespace fs = std::filesystem;

namespace {

std::string in_lines(const std::vector<std::string>& lines, const char* before = "") {
    std::string out;
    for (const auto& line : lines) out += before + line + "\n";
    return out;
}

std::string tags_text(const std::vector<std::string>& tags) {
    std::string out;
    for (const auto& tag : tags) out += (out.empty() ? "" : ", ") + tag;
    return out.empty() ? "" : out + "\n";
}

// The poster, which is covered already, in the middle of a picture of the size that hosts ask for.
Result<void> write_thumbnail(const fs::path& poster, const fs::path& file) {
    auto reader = media::FrameReader::open(poster, 1);
    auto picture = reader ? reader->next() : Result<std::optional<media::Picture>>(reader.failure());
    if (!picture || !*picture) return machine_trouble("The poster cannot be read again for the thumbnail: check the disk.");
    const Size s = (*picture)->size();
    const double scale = std::min(static_cast<double>(kThumbnail.w) / s.w, static_cast<double>(kThumbnail.h) / s.h);
    const auto even = [scale](int v) { return std::max(2, static_cast<int>(v * scale / 2) * 2); };
    media::FilmConverter converter;
    auto fitted = converter.convert(*(*picture)->frame, Rotation::none, {even(s.w), even(s.h)});
    if (!fitted) return fitted.failure();
    media::FramePtr frame = media::make_frame(AV_PIX_FMT_YUV420P, kThumbnail);
    if (!frame) return machine_trouble("There is not enough memory for the thumbnail; close other programs.");
    fill_frame(*frame, {0, 0, 0});
    paste(*frame, **fitted, (kThumbnail.w - (*fitted)->width) / 2, (kThumbnail.h - (*fitted)->height) / 2);
    return write_jpeg(file, *frame);
}

}  // namespace

std::vector<Chapter> published_chapters(const std::vector<Chapter>& chapters, Nanos length) {
    std::vector<Chapter> out;
    for (std::size_t i = 0; i < chapters.size(); ++i) {
        const Chapter& c = chapters[i];
        const bool too_soon = !out.empty() && c.start - out.back().start < kShortestPublishedChapter;
        const bool too_late = !out.empty() && length - c.start.ns < kShortestPublishedChapter;
        if (too_soon || too_late) out.back().title += " / " + c.title;
        else if (out.empty() && c.start.ns >= kShortestPublishedChapter) out.push_back({{0}, "Beginning"}), out.push_back(c);
        else out.push_back({out.empty() ? FilmTime{0} : c.start, c.title});
    }
    return out;
}

std::string description_text(const CasePage& page) {
    const About& a = page.about;
    std::string out = page.title + "\n\n" + (a.case_text.empty() ? "" : a.case_text + "\n\n");
    if (!a.aims.empty()) out += "What you can learn\n" + in_lines(a.aims, "- ") + "\n";
    if (const auto chapters = published_chapters(page.chapters, page.length); !chapters.empty()) {
        out += "Chapters\n";
        for (const auto& c : chapters) out += format_clock(c.start.ns) + " " + c.title + "\n";
        out += "\n";
    }
    if (!a.outcome.empty()) out += "Outcome\n" + a.outcome + "\n\n";
    if (!a.consent.empty()) out += "Consent: " + a.consent + "\n";
    if (!a.conflicts.empty()) out += "Interests: " + a.conflicts + "\n";
    if (!a.credits.empty()) out += in_lines(a.credits);
    return out + "\n" + std::string(teaching_caution()) + "\n";
}

std::string checklist_text(const Assessment& assessment) {
    return "What a good film of a procedure shows: none, one or two marks for each of nine items (after the LAP-VEGaS video\n"
           "assessment tool, from memory). Counted from the plan; whoever watches the film may mark it otherwise.\n\n" +
           assessment_text(assessment) +
           "\nBefore it is published: a person has watched and listened to all of it; consent covers this audience; the local\n"
           "privacy reviewer has signed it off. It teaches and does not diagnose; local policy and licensed practice decide.\n";
}

Result<void> write_publishing(const fs::path& folder, const CasePage& page, const Assessment& assessment) {
    const fs::path kit = folder / kPublishingFolder;
    std::error_code ec;
    fs::create_directories(kit, ec);
    const std::pair<const char*, std::string> texts[] = {
        {"title.txt", page.title + "\n"},
        {"description.txt", description_text(page)},
        {"tags.txt", tags_text(page.about.tags)},
        {"credits.txt", in_lines(page.about.credits)},
        {"checklist.txt", checklist_text(assessment)},
    };
    for (const auto& [name, text] : texts)
        if (!text.empty())
            if (auto ok = write_text(kit / name, text); !ok) return ok;
    return write_thumbnail(folder / "poster.jpg", kit / "thumbnail.jpg");
}

}  // namespace canalogue::film
