#include <algorithm>
#include <fstream>

#include "app/media/sound_reader.hpp"
#include "export/check_parts.hpp"

namespace canalogue::film {

namespace {

namespace fs = std::filesystem;
using Outcome = CheckLook::Outcome;

constexpr Nanos kSpanLength = 10 * kSecond;
constexpr double kSurelySpeech = .6;         // below it noise is often taken for a voice
constexpr Nanos kSlack = 3 * kSecond / 4;    // by which a voice may begin before its caption, or end after it
constexpr Nanos kShortest = 3 * kSecond / 10;

// "0:01:02.345" or "01:02.345" (WebVTT) as a time; nothing for anything else.
std::optional<Nanos> vtt_time(const std::string& text) {
    const auto at = text.find_first_of("0123456789");
    if (at == std::string::npos) return std::nullopt;
    const auto end = text.find_first_not_of("0123456789:.", at);
    auto parsed = parse_time(text.substr(at, end == std::string::npos ? end : end - at));
    if (!parsed) return std::nullopt;
    return *parsed;
}

// When something is said, by the captions that lie beside the film: files of its name and the ending .vtt.
std::vector<RecordingSpan> captioned(const fs::path& film) {
    std::vector<RecordingSpan> out;
    std::ifstream in(fs::path(film).replace_extension(".vtt"));
    for (std::string line; std::getline(in, line);) {
        const auto arrow = line.find("-->");
        if (arrow == std::string::npos) continue;
        const auto from = vtt_time(line.substr(0, arrow)), until = vtt_time(line.substr(arrow + 3));
        if (from && until) out.push_back({{*from - kSlack}, {*until + kSlack}});
    }
    return united(std::move(out));
}

std::vector<FilmTime> all_along(RecordingSpan span) {
    constexpr Nanos kStep = kSecond / 2;
    std::vector<FilmTime> out;
    for (Nanos t = span.start.ns; t < span.end.ns; t += kStep) out.push_back({t});
    out.push_back({span.end.ns - 1});
    return out;
}

Result<std::vector<Proposal>> spoken(SpotterProcess& spotter, media::SoundReader& sound, RecordingSpan span, const Progress& progress) {
    auto heard = sound.read(span, {}, progress);
    if (!heard) return heard.failure();
    if (auto ok = spotter.begin_span(span); !ok) return ok.failure();
    const std::size_t count = heard->size() / media::kSoundChannels;
    for (std::size_t at = 0; at < count; at += media::kSoundRate) {
        const auto mono = media::as_mono(*heard, at, std::min<std::size_t>(media::kSoundRate, count - at));
        if (auto ok = spotter.sound(span.start + static_cast<Nanos>(at / media::kSoundRate) * kSecond, mono); !ok) return ok.failure();
    }
    return spotter.end_span();
}

}  // namespace

Result<CheckLook> listen_for_speech(const fs::path& film, const CheckOptions& options, const Progress& progress) {
    CheckLook look{Outcome::clean, "Speech", "listened for where no caption says that somebody speaks", {}};
    const auto not_done = [&](const std::string& why) { return CheckLook{Outcome::not_done, look.name, why, {}}; };
    auto length = media::sound_length(film);
    if (!length) {
        look.words = "the film has no sound";
        return look;
    }
    if (!options.speech_spotter) return not_done("its spotter is not installed");
    if (!options.speech_spotter->available) return not_done(options.speech_spotter->why_not);
    auto sound = media::SoundReader::open(film, 0);
    if (!sound) return not_done(sound.failure().sentence);
    auto spotter = SpotterProcess::start(*options.speech_spotter, options.host);
    if (!spotter) return not_done(spotter.failure().sentence);
    if (auto ok = spotter->begin_recording({{}, *length}); !ok) return not_done(ok.failure().sentence);
    const auto explained = captioned(film);
    for (Nanos t = 0; t < *length; t += kSpanLength) {
        if (progress.stopped()) return cancelled();
        progress.report("Listening to the finished film", static_cast<double>(t) / static_cast<double>(*length));
        auto found = spoken(*spotter, *sound, {{t}, {std::min(t + kSpanLength, *length)}}, progress);
        if (!found && found.failure().trouble == Trouble::cancelled) return found.failure();
        if (!found) return not_done(found.failure().sentence);
        for (const auto& p : *found)
            for (const auto& rest : gaps_in(p.span, explained))
                if (p.sureness >= kSurelySpeech && rest.length() > kShortest) look.places.push_back({"speech without a caption", "in the sound at " + format_clock(rest.start.ns), SuspectKind::speech, false, all_along(rest), p.sureness});
    }
    if (!look.places.empty()) look.outcome = Outcome::finding;
    return look;
}

}  // namespace canalogue::film
