#include "app/media/fields.hpp"

#include "app/media/open_file.hpp"

namespace canalogue::media {

namespace {

void add_tags(std::vector<FileField>& out, const std::string& owner, const AVDictionary* tags) {
    const AVDictionaryEntry* e = nullptr;
    while ((e = av_dict_get(tags, "", e, AV_DICT_IGNORE_SUFFIX)))
        out.push_back({owner + ": " + e->key, e->value});
}

std::string stream_name(const AVStream& s) {
    const char* type = av_get_media_type_string(s.codecpar->codec_type);
    return std::string(type ? type : "unknown") + " stream " + std::to_string(s.index + 1);
}

}  // namespace

Result<std::vector<FileField>> fields_of(const std::filesystem::path& file) {
    auto format = open_format(file);
    if (!format) return format.failure();
    std::vector<FileField> out;
    out.push_back({"file: name", file.filename().string()});
    const auto folder = std::filesystem::absolute(file).parent_path();
    out.push_back({"file: folder", folder.filename().string()});
    add_tags(out, "container", (*format)->metadata);
    for (unsigned i = 0; i < (*format)->nb_streams; ++i) {
        const AVStream& s = *(*format)->streams[i];
        add_tags(out, stream_name(s), s.metadata);
        const auto type = s.codecpar->codec_type;
        if (s.disposition & AV_DISPOSITION_ATTACHED_PIC)
            out.push_back({stream_name(s) + ": cover art", "picture"});
        else if (type == AVMEDIA_TYPE_SUBTITLE || type == AVMEDIA_TYPE_DATA || type == AVMEDIA_TYPE_ATTACHMENT)
            out.push_back({stream_name(s) + ": content", avcodec_get_name(s.codecpar->codec_id)});
    }
    for (unsigned i = 0; i < (*format)->nb_chapters; ++i)
        add_tags(out, "chapter " + std::to_string(i + 1), (*format)->chapters[i]->metadata);
    for (unsigned i = 0; i < (*format)->nb_programs; ++i)
        add_tags(out, "program " + std::to_string(i + 1), (*format)->programs[i]->metadata);
    return out;
}

}  // namespace canalogue::media
