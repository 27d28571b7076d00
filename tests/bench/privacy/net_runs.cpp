// How often each neural net runs in a minute of a recording, and how long it takes: the spotters are loaded into this
// program and shown the recording as a scan shows it.
//     canalogue-net-runs [--tell] RECORDING PLUGIN.so...        --tell: what they propose, too
#include <dlfcn.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <map>
#include <memory>

#include "app/core/cover.hpp"
#include "app/desk/sampling.hpp"
#include "app/media/sound_reader.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace {

using namespace canalogue;

bool told = false;

template <class T>
T need(Result<T> r) {
    if (r) return std::move(*r);
    std::fprintf(stderr, "canalogue-net-runs: %s\n", r.failure().sentence.c_str());
    std::exit(5);
}

void tell(void*, const canalogue_proposal* p) {
    if (!told) return;
    std::printf("%u sure %.2f %.2f-%.2f", p->kind, p->sureness, static_cast<double>(p->start_ns) / 1e9, static_cast<double>(p->end_ns) / 1e9);
    for (std::uint32_t i = 0; i < p->track_count; ++i) std::printf(" [%.2f: %.0f,%.0f %.0fx%.0f]", static_cast<double>(p->track[i].time_ns) / 1e9, p->track[i].x, p->track[i].y, p->track[i].w, p->track[i].h);
    std::string words = p->words ? p->words : "";
    for (char& c : words) c = c == '\n' ? '|' : c;
    std::printf(" \"%s\"\n", words.c_str());
}

struct Spotter {
    const canalogue_spotter* calls = nullptr;
    canalogue_spotter_state* state = nullptr;
};

Spotter loaded(const char* path, const canalogue_host& host) {
    void* library = ::dlopen(path, RTLD_NOW | RTLD_LOCAL);
    const auto entry = library ? reinterpret_cast<const canalogue_plugin* (*)(std::uint32_t)>(::dlsym(library, "canalogue_plugin_entry")) : nullptr;
    if (!entry) std::fprintf(stderr, "canalogue-net-runs: %s is no plugin.\n", path), std::exit(2);
    Spotter s;
    s.calls = static_cast<const canalogue_spotter*>(entry(CANALOGUE_PLUGIN_VERSION)->extension(CANALOGUE_EXTENSION_SPOTTER));
    s.state = s.calls->create(&host);
    if (!s.state) std::fprintf(stderr, "canalogue-net-runs: %s cannot work here.\n", path), std::exit(5);
    return s;
}

void show(Spotter& s, const char* file) {
    auto reader = need(media::FrameReader::open(file));
    const auto facts = reader.facts();
    const Size size = desk::shrunk(upright_size(facts.stored, facts.rotation), s.calls->longest_side);
    const canalogue_facts about{CANALOGUE_HEAD(canalogue_facts), size.w, size.h, facts.duration, 0, 0};
    s.calls->begin_recording(s.state, &about);
    const auto sound = facts.sound.has_value() && s.calls->wants & CANALOGUE_WANTS_SOUND;
    for (const auto& span : desk::in_pieces({{{0}, {facts.duration}}})) {
        s.calls->span_begin(s.state, span.start.ns, span.end.ns);
        desk::Sampler sampler(span.start, s.calls->samples_per_second);
        media::RgbConverter converter;
        for (; s.calls->wants & CANALOGUE_WANTS_FRAMES;) {
            auto picture = need(reader.next());
            if (!picture) break;
            if (!sampler.take(picture->time, picture->time + 1)) continue;
            const auto rgb = need(converter.convert(*picture, facts.rotation, s.calls->longest_side, media::Scaler::kQuick));
            const canalogue_frame f{CANALOGUE_HEAD(canalogue_frame), picture->time.ns, rgb.pixels.data(), rgb.size.w, rgb.size.h, rgb.stride()};
            s.calls->frame(s.state, &f);
            if (picture->time + kSecond / 20 >= span.end) break;
        }
        if (sound) {
            const auto heard = need(media::read_sound(file, facts.zero, span, {}, {}));
            const std::size_t count = heard.size() / media::kSoundChannels;
            for (std::size_t at = 0; at < count; at += media::kSoundRate) {
                const auto mono = media::as_mono(heard, at, std::min<std::size_t>(media::kSoundRate, count - at));
                const canalogue_sound block{CANALOGUE_HEAD(canalogue_sound), (span.start + static_cast<Nanos>(at / media::kSoundRate) * kSecond).ns, mono.data(), static_cast<std::uint32_t>(mono.size())};
                s.calls->sound(s.state, &block);
            }
        }
        s.calls->span_end(s.state);
    }
}

}  // namespace

int main(int argc, char** argv) {
    int at = 1;
    if (at < argc && std::string(argv[at]) == "--tell") told = true, ++at;
    if (argc - at < 2) return std::fprintf(stderr, "canalogue-net-runs [--tell] RECORDING PLUGIN.so...\n"), 2;
    const std::string log = std::filesystem::temp_directory_path() / ("canalogue-net-runs-" + std::to_string(::getpid()));
    ::setenv("CANALOGUE_NET_RUNS", log.c_str(), 1);
    const char* models = std::getenv("CANALOGUE_MODELS");
    canalogue_host host{CANALOGUE_HEAD(canalogue_host), nullptr, tell, [](void*, const char* why) { std::fprintf(stderr, "%s\n", why); }, models ? models : CANALOGUE_MODELS_FOLDER, nullptr};
    const char* file = argv[at];
    const double minutes = static_cast<double>(need(media::FrameReader::open(file)).facts().duration) / kSecond / 60;
    for (int i = at + 1; i < argc; ++i) {
        Spotter s = loaded(argv[i], host);
        show(s, file);
        s.calls->destroy(s.state);
    }
    std::map<std::string, std::pair<int, double>> nets;
    std::ifstream in(log);
    for (std::string name, ms; in >> name >> ms;) ++nets[name].first, nets[name].second += std::stod(ms);
    for (const auto& [name, n] : nets) std::printf("%-44s %7.1f runs a minute of %5.1f ms\n", name.c_str(), n.first / minutes, n.second / n.first);
    std::filesystem::remove(log);
}
