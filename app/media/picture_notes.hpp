// What a recording says inside its streams, beside pictures and sound: notes that devices and programs write into pictures
// (SEI user data of H.264 and H.265: ITU-T H.264 D.1.7; EXIF and comments of JPEG pictures: ITU-T T.81 B.2.4), and the words of
// subtitle and data streams. Looked for in the first packets: such notes come with the first picture or with each.
#pragma once

#include <vector>

#include "app/media/facts.hpp"
#include "app/media/libav.hpp"

namespace canalogue::media {

// Reads packets from where `format` stands. Names are "stream 0: note in pictures", "stream 0: exif in pictures",
// "stream 0: comment in pictures" and "extra stream 2: words"; values hold printable text alone, cut at some length.
std::vector<FileField> notes_inside(AVFormatContext& format);

}  // namespace canalogue::media
