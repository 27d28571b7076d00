#include "export/narration.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <utility>

#include "app/media/libav.hpp"
#include "app/media/sound_reader.hpp"

namespace canalogue::film {

namespace {

using media::kSoundRate;

const Failure kCannotKeep = machine_trouble("The narration cannot be kept on disk: check the folder given with --out, its permissions and the free space. Nothing was left behind.");

// Mono 16-bit at any rate to 48 kHz.
std::vector<std::int16_t> at_film_rate(const Spoken& s) {
    AVChannelLayout mono = AV_CHANNEL_LAYOUT_MONO;
    SwrContext* raw = nullptr;
    swr_alloc_set_opts2(&raw, &mono, AV_SAMPLE_FMT_S16, kSoundRate, &mono, AV_SAMPLE_FMT_S16, s.rate, 0, nullptr);
    media::SwrPtr swr(raw);
    if (!swr || s.rate <= 0 || swr_init(swr.get()) < 0) return {};
    std::vector<std::int16_t> out(static_cast<std::size_t>(av_rescale(static_cast<std::int64_t>(s.samples.size()), kSoundRate, s.rate)) + 256);
    auto* to = reinterpret_cast<std::uint8_t*>(out.data());
    const auto* from = reinterpret_cast<const std::uint8_t*>(s.samples.data());
    int got = swr_convert(swr.get(), &to, static_cast<int>(out.size()), &from, static_cast<int>(s.samples.size()));
    got = std::max(got, 0);
    auto* rest = reinterpret_cast<std::uint8_t*>(out.data() + got);
    got += std::max(0, swr_convert(swr.get(), &rest, static_cast<int>(out.size()) - got, nullptr, 0));
    out.resize(static_cast<std::size_t>(got));
    return out;
}

}  // namespace

Result<Narration> Narration::in(const std::filesystem::path& folder) {
    std::string name = (folder / ".narration-XXXXXX").string();
    const int file = ::mkostemp(name.data(), O_CLOEXEC);
    if (file < 0) return kCannotKeep;
    ::unlink(name.c_str());
    return Narration(file);
}

Narration::Narration(Narration&& other) noexcept : file_(std::exchange(other.file_, -1)), written_(other.written_), lines_(std::move(other.lines_)) {}

Narration::~Narration() {
    if (file_ >= 0) ::close(file_);
}

Result<void> Narration::add(const Spoken& line) {
    const std::vector<std::int16_t> samples = at_film_rate(line);
    const auto* bytes = reinterpret_cast<const char*>(samples.data());
    const std::size_t size = samples.size() * sizeof(std::int16_t);
    for (std::size_t done = 0; done < size;) {
        const ssize_t n = ::pwrite(file_, bytes + done, size - done, static_cast<off_t>(static_cast<std::size_t>(written_) * sizeof(std::int16_t) + done));
        if (n <= 0) return kCannotKeep;
        done += static_cast<std::size_t>(n);
    }
    lines_.push_back({line.length(), line.words, written_, static_cast<std::int64_t>(samples.size())});
    written_ += static_cast<std::int64_t>(samples.size());
    return {};
}

std::vector<std::int16_t> Narration::read(std::size_t line, std::int64_t from, std::int64_t count) const {
    const Line& l = lines_[line];
    from = std::clamp<std::int64_t>(from, 0, l.count);
    count = std::clamp<std::int64_t>(count, 0, l.count - from);
    std::vector<std::int16_t> out(static_cast<std::size_t>(count));
    auto* bytes = reinterpret_cast<char*>(out.data());
    const std::size_t size = out.size() * sizeof(std::int16_t);
    std::size_t done = 0;
    while (done < size) {
        const ssize_t n = ::pread(file_, bytes + done, size - done, static_cast<off_t>(static_cast<std::size_t>(l.first + from) * sizeof(std::int16_t) + done));
        if (n <= 0) break;
        done += static_cast<std::size_t>(n);
    }
    out.resize(done / sizeof(std::int16_t));
    return out;
}

}  // namespace canalogue::film
