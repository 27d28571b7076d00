// Two seconds of film from our own encoder: grey pictures, a tone, two chapters.
#pragma once

#include <catch2/catch.hpp>

#include <cmath>

#include "export/canvas.hpp"
#include "export/film_file.hpp"
#include "tests/support/media_files.hpp"

namespace canalogue::test {

// `draw` may paint onto a canvas of the film's size.
template <class Draw>
fs::path film_with(const fs::path& file, double seconds, Draw draw) {
    const FilmSettings settings;
    const long frames = std::lround(seconds * settings.frames_per_second);
    auto encoder = film::PictureEncoder::open(settings, {});
    REQUIRE(encoder.ok());
    auto out = film::FilmFile::open(file, {settings, "en-GB", {{{0}, "Start"}, {{kSecond}, "Right ear"}}, nanos_from_seconds(seconds), true}, *encoder);
    REQUIRE(out.ok());
    const auto take = [&](AVPacket& packet) { return out->picture(packet); };
    film::Canvas canvas(settings.size);
    canvas.fill({0x80, 0x60, 0x50});
    draw(canvas);
    const film::Overlay overlay(canvas);
    for (long f = 0; f < frames; ++f) {
        media::FramePtr frame = media::make_frame(AV_PIX_FMT_YUV420P, settings.size);
        overlay.lay_on(*frame, 0, 0);
        frame->data[0][(f * 17) % 1000 + 400 * frame->linesize[0]] = 235;  // no two pictures alike
        REQUIRE(encoder->picture(std::move(frame), take).ok());
        media::Samples tone;
        const long per = 48000 / settings.frames_per_second;
        for (long i = f * per; i < (f + 1) * per; ++i) tone.insert(tone.end(), 2, static_cast<float>(0.2 * std::sin(0.0576 * static_cast<double>(i))));
        REQUIRE(out->sound(tone).ok());
    }
    REQUIRE(encoder->finish(take).ok());
    REQUIRE(out->finish().ok());
    return file;
}

inline fs::path clean_film(const TempFolder& folder) {
    const fs::path file = folder / "clean.mp4";
    if (!fs::exists(file)) film_with(file, 2, [](film::Canvas&) {});
    return file;
}

}  // namespace canalogue::test
