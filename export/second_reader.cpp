#include "export/second_reader.hpp"

#include <leptonica/allheaders.h>
#include <omp.h>
#include <tesseract/baseapi.h>

namespace canalogue::film {

namespace {
constexpr int kReadingWidth = 1280;  // pixels; more tells it no more
}

struct SecondReader::Api {
    tesseract::TessBaseAPI tesseract;
};

SecondReader::SecondReader() : api_(std::make_unique<Api>()) {
    auto& t = api_->tesseract;
    ready_ = t.Init(nullptr, "eng") == 0;
    if (!ready_) return;
    t.SetVariable("debug_file", "/dev/null");
    setMsgSeverity(L_SEVERITY_NONE);  // it would complain of odd shapes on the screen
    t.SetPageSegMode(tesseract::PSM_SPARSE_TEXT);
}

SecondReader::~SecondReader() = default;

Result<std::string> SecondReader::read(const media::Picture& picture, Rotation rotation) {
    auto rgb = converter_.convert(picture, rotation, kReadingWidth);
    if (!rgb) return rgb.failure();
    // It would share a line's work out to threads that mostly wait for one another: a tenth of a whole check's time.
    omp_set_max_active_levels(0);
    api_->tesseract.SetImage(rgb->pixels.data(), rgb->size.w, rgb->size.h, 3, rgb->stride());
    const std::unique_ptr<char[]> text(api_->tesseract.GetUTF8Text());
    return std::string(text ? text.get() : "");
}

}  // namespace canalogue::film
