// The single looks of the check. Internal to export/.
#pragma once

#include "export/check.hpp"

namespace canalogue::film {

CheckLook look_at_boxes(const std::filesystem::path& film);
// Container and stream tags, chapters aside; extra streams.
CheckLook look_at_tags(const std::filesystem::path& film);
// SEI messages in H.264 and H.265 pictures.
CheckLook look_at_picture_notes(const std::filesystem::path& film);
// Known identifiers as bytes (UTF-8, UTF-16), and identifier formats in text files.
CheckLook look_at_bytes(const std::vector<std::filesystem::path>& files, const CheckOptions& options);
// Text read from pictures: edit lists ignored, by two readers.
Result<CheckLook> read_pictures(const std::filesystem::path& film, const CheckOptions& options, const Progress& progress);
Result<CheckLook> read_pictures_again(const std::filesystem::path& film, const CheckOptions& options, const Progress& progress);

// What picture files and documents beside the film say about themselves, and text that stands in them.
CheckLook look_at_picture_files(const std::vector<std::filesystem::path>& files);
Result<CheckLook> read_stills(const std::vector<std::filesystem::path>& files, const CheckOptions& options, const Progress& progress);
Result<CheckLook> look_for_faces_in_stills(const std::vector<std::filesystem::path>& files, const CheckOptions& options, const Progress& progress);
// What a face must be sure of at least to be a finding: one net often takes a drum or a fold for a face, and says so softly,
// which would hold back every other film.
inline constexpr double kSureFace = .65;
// Faces and people in pictures, by the spotter for them; edit lists ignored.
Result<CheckLook> look_for_faces(const std::filesystem::path& film, const CheckOptions& options, const Progress& progress);
// Speech that the captions beside the film do not account for.
Result<CheckLook> listen_for_speech(const std::filesystem::path& film, const CheckOptions& options, const Progress& progress);

// Known identifiers that are said in the film.
Result<CheckLook> listen_for_names(const std::filesystem::path& film, const CheckOptions& options, const Progress& progress);

// All words of a PDF as they are read; none when it cannot be opened.
std::optional<std::string> text_of_pdf(const std::filesystem::path& file);

// Places in `text` that identify: formats and known identifiers. `where` is put into each, and `at` where the text was read
// in the film's pictures.
std::vector<CheckPlace> identifying(const std::string& text, const std::string& where, const CheckOptions& options, std::optional<FilmTime> at = {});

}  // namespace canalogue::film
