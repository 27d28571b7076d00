// The film's file: MP4 (faststart) or WebM, with chapters and sound, nothing in it that the film does not need (no
// dates, no encoder strings, no user data). Pictures come encoded.
#pragma once

#include <filesystem>
#include <memory>
#include <vector>

#include "app/media/sound_reader.hpp"
#include "export/encoder.hpp"
#include "export/schedule.hpp"

namespace canalogue::film {

struct FilmHead {
    FilmSettings film;
    std::string language;
    std::vector<Chapter> chapters;
    Nanos length = 0;
    bool with_sound = false;  // a sound track is written, and sound() must be fed alongside
};

class FilmFile {
  public:
    // `pictures`: of the stream, as the encoder tells it. A file that is there is written over.
    static Result<FilmFile> open(const std::filesystem::path& file, const FilmHead& head, const PictureEncoder& pictures);

    FilmFile(FilmFile&&) noexcept;
    FilmFile& operator=(FilmFile&&) noexcept;
    ~FilmFile();

    // In coding order, without gaps; pts is the number of the picture in the film. The packet's data is taken.
    Result<void> picture(AVPacket& packet);
    // In order, from the film's beginning.
    Result<void> sound(const media::Samples& samples);
    // Flushes and closes; the file is whole only when this succeeded.
    Result<void> finish();

  private:
    struct State;
    explicit FilmFile(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

}  // namespace canalogue::film
