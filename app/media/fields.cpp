#include "app/media/fields.hpp"

#include "app/media/open_file.hpp"
#include "app/media/picture_notes.hpp"

namespace canalogue::media {

namespace {

void add_tags(std::vector<FileField>& out, const std::string& owner, const AVDictionary* tags) {
    const AVDictionaryEntry* e = nullptr;
    while ((e = av_dict_get(tags, "", e, AV_DICT_IGNORE_SUFFIX)))
        out.push_back({owner + ": " + e->key, e->value});
}

// Main picture and sound are "stream N", what rides along is an "attachment" or an "extra stream".
std::string place_of(const AVStream& s) {
    const auto type = s.codecpar->codec_type;
    const std::string number = " " + std::to_string(s.index);
    if ((s.disposition & AV_DISPOSITION_ATTACHED_PIC) || type == AVMEDIA_TYPE_ATTACHMENT) return "attachment" + number;
    return (type == AVMEDIA_TYPE_VIDEO || type == AVMEDIA_TYPE_AUDIO ? "stream" : "extra stream") + number;
}

void add_folders(std::vector<FileField>& out, const std::filesystem::path& file) {
    std::error_code ec;
    auto folder = std::filesystem::absolute(file, ec).lexically_normal().parent_path();
    // Patients' folders lie near their files; further up are the system's.
    constexpr int kNearest = 2;
    for (int i = 0; i < kNearest && folder.has_filename(); ++i, folder = folder.parent_path())
        out.push_back({"folder: name", folder.filename().string()});
}

}  // namespace

Result<std::vector<FileField>> fields_of(const std::filesystem::path& file) {
    auto format = open_format(file);
    if (!format) return format.failure();
    std::vector<FileField> out;
    out.push_back({"file: name", file.filename().string()});
    add_folders(out, file);
    add_tags(out, "container", (*format)->metadata);
    for (unsigned i = 0; i < (*format)->nb_streams; ++i) {
        const AVStream& s = *(*format)->streams[i];
        const std::string place = place_of(s);
        add_tags(out, place, s.metadata);
        if (place.starts_with("attachment")) out.push_back({place + ": kind", "cover art or attached file"});
        if (place.starts_with("extra")) out.push_back({place + ": kind", avcodec_get_name(s.codecpar->codec_id)});
    }
    for (unsigned i = 0; i < (*format)->nb_chapters; ++i)
        add_tags(out, "chapter " + std::to_string(i + 1), (*format)->chapters[i]->metadata);
    for (unsigned i = 0; i < (*format)->nb_programs; ++i)
        add_tags(out, "program " + std::to_string(i + 1), (*format)->programs[i]->metadata);
    for (auto& note : notes_inside(**format)) out.push_back(std::move(note));
    return out;
}

}  // namespace canalogue::media
