#include "app/media/libav.hpp"

namespace canalogue::media {

void quiet_libav() { av_log_set_level(AV_LOG_QUIET); }

std::string libav_words(int error) {
    char text[AV_ERROR_MAX_STRING_SIZE] = {};
    av_strerror(error, text, sizeof text);
    return text;
}

}  // namespace canalogue::media
