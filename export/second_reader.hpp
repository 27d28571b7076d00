// Tesseract, the check's reader that is independent of the spotter's. Internal to export/.
#pragma once

#include <memory>
#include <string>

#include "app/core/result.hpp"
#include "app/media/picture.hpp"

namespace canalogue::film {

class SecondReader {
  public:
    SecondReader();
    ~SecondReader();
    // False when its English data is missing.
    bool ready() const { return ready_; }
    // All text that it finds in the picture. One thread at a time.
    Result<std::string> read(const media::Picture& picture, Rotation rotation);

    static constexpr const char* kMissing = "Tesseract's English data is missing: install the package tesseract-ocr-eng";

  private:
    struct Api;
    std::unique_ptr<Api> api_;
    media::RgbConverter converter_;
    bool ready_ = false;
};

}  // namespace canalogue::film
