#include "app/plugin_host/plugin_process.hpp"

#include <cmath>
#include <cstdlib>
#include <cstring>

#include "app/core/text.hpp"
#include "app/plugin_host/beside_program.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue {

namespace fs = std::filesystem;

namespace {

constexpr int kLargestSide = 16'384;    // pixels; beyond it a picture is a mistake
constexpr double kMostSamples = 1'000;  // a second

fs::path chosen(const fs::path& option, const char* variable, const fs::path& beside) {
    if (!option.empty()) return fs::absolute(option);
    if (const char* set = std::getenv(variable); set && *set) return fs::absolute(set);
    return beside;
}

// Beside the program as built, else where they were installed.
fs::path usual_models() {
    const auto built = program_folder().parent_path() / "models";
    std::error_code ignored;
    return fs::is_directory(built, ignored) ? built : fs::path(CANALOGUE_INSTALLED_MODELS);
}

// A sentence from a plugin, made fit to be shown.
std::string fit_to_show(std::string sentence) {
    if (sentence.empty() || sentence.size() > CANALOGUE_MOST_SENTENCE_BYTES || !is_utf8(sentence))
        return "it did not say why.";
    for (char& c : sentence)
        if (static_cast<unsigned char>(c) < ' ') c = ' ';
    return sentence;
}

std::string seconds(std::chrono::milliseconds ms) {
    if (ms.count() % 1000 == 0) return std::to_string(ms.count() / 1000) + " s";
    return std::to_string(ms.count()) + " ms";
}

}  // namespace

PluginProcess::PluginProcess(PluginInfo plugin, HostOptions options, FrameMemory memory, Role role)
    : plugin_(std::move(plugin)),
      options_(std::move(options)),
      memory_(std::move(memory)),
      role_(role),
      restarts_left_(options_.most_restarts) {
    options_.runner =
        chosen(options_.runner, "CANALOGUE_PLUGIN_RUNNER", program_folder() / "canalogue-plugin-runner");
    options_.models = chosen(options_.models, "CANALOGUE_MODELS", usual_models());
}

Failure PluginProcess::named(const std::string& what_happened) const {
    return machine_trouble(std::string("The ") + role_.name + " '" + plugin_.name + "' " + what_happened);
}

Failure PluginProcess::give_up(const std::string& what_happened) {
    helper_.reset();
    span_.reset();
    return named(what_happened + "; " + in_hand_ + " " + role_.loss + ".");
}

Result<wire::Message> PluginProcess::ask(wire::Kind kind, const std::vector<std::uint8_t>& body) {
    if (!helper_) return not_running();
    wire::Message answer;
    switch (helper_->ask(kind, body, answer, wire::Clock::now() + options_.deadline)) {
        case wire::Outcome::late:
            return give_up("stopped answering after " + seconds(options_.deadline));
        case wire::Outcome::closed:
            return give_up("crashed");
        case wire::Outcome::nonsense:
            return give_up("answered nonsense (a message beyond all measure)");
        case wire::Outcome::ok:
            break;
    }
    if (answer.kind == wire::Kind::done) return answer;
    wire::Reader in(answer.body);
    const auto sentence = fit_to_show(in.text());
    if (answer.kind == wire::Kind::refused) {
        helper_.reset();
        return named("is not available: " + sentence);
    }
    if (answer.kind != wire::Kind::failed) return give_up("answered nonsense (an unknown message)");
    span_.reset();
    return named("gave up, so that " + in_hand_ + " " + role_.loss + ": " + sentence);
}

Result<void> PluginProcess::launch() {
    in_hand_ = role_.at_start;
    auto started = HelperProcess::start(options_.runner, plugin_.library, memory_.reading_fd());
    if (!started) return started.failure();
    helper_ = std::move(*started);
    wire::Writer hello;
    hello.put(wire::kTalkVersion).put(options_.models.string()).put(role_.extension);
    auto answer = ask(wire::Kind::hello, hello.take());
    if (!answer) return answer.failure();
    return introduce(*answer);
}

Result<void> PluginProcess::introduce(const wire::Message& hello) {
    wire::Reader in(hello.body);
    const auto id = in.text(), version = in.text();
    wants_ = in.number<std::uint32_t>();
    samples_per_second_ = in.number<double>();
    longest_side_ = in.number<std::int32_t>();
    if (!in.sound() || !(samples_per_second_ >= 0 && samples_per_second_ <= kMostSamples))
        return give_up("answered nonsense (how often it wants to look)");
    if (longest_side_ < 0) return give_up("answered nonsense (a picture of no size)");
    if (id != plugin_.id || version != plugin_.version) {
        helper_.reset();
        return named("is not the one its plugin.json describes (another id or version); install it again.");
    }
    const auto nonsense = read_introduction(in);
    if (nonsense.empty() && in.sound() && in.at_end()) return {};
    return give_up("answered nonsense (" + (nonsense.empty() ? "an introduction of the wrong length" : nonsense) + ")");
}

Result<void> PluginProcess::begin_recording(RecordingAbout about) {
    const auto [w, h] = about.picture;
    if (w < 0 || h < 0 || w > kLargestSide || h > kLargestSide || about.duration < 0)
        return wrong_use("A recording cannot be of that size or length; import it again.");
    about_ = about;
    span_.reset();
    return tell_recording();
}

Result<void> PluginProcess::tell_recording() {
    in_hand_ = "the recording";
    const auto [w, h] = about_->picture;
    const auto sound = (wants_ & CANALOGUE_WANTS_SOUND) ? CANALOGUE_MOST_SOUND_SAMPLES * sizeof(float) : 0;
    if (auto held = memory_.hold(std::max(static_cast<std::size_t>(w) * h * 3, sound)); !held) return held;
    wire::Writer body;
    body.put<std::int32_t>(w).put<std::int32_t>(h).put<std::int64_t>(about_->duration).put<double>(about_->marked_inside_reads).put<double>(about_->marked_outside_reads);
    if (auto answer = ask(wire::Kind::begin_recording, body.take()); !answer) return answer.failure();
    return {};
}

Result<void> PluginProcess::begin_span(RecordingSpan span) {
    if (!about_ || span.empty()) return wrong_use("A span to look at needs a recording and a length.");
    in_hand_ = "this span";
    span_.reset();
    wire::Writer body;
    body.put<std::int64_t>(span.start.ns).put<std::int64_t>(span.end.ns);
    if (auto answer = ask(wire::Kind::span_begin, body.take()); !answer) return answer.failure();
    span_ = span;
    return {};
}

Result<void> PluginProcess::frame(RecordingTime t, const std::uint8_t* rgb, int w, int h, int stride) {
    if (!helper_) return not_running();
    if (!span_ || Size{w, h} != about_->picture || stride < 3 * w)
        return wrong_use("A frame to look at needs a begun span and the size of its recording.");
    const auto row = static_cast<std::size_t>(w) * 3;
    for (int y = 0; y < h; ++y)
        std::memcpy(memory_.bytes() + row * y, rgb + static_cast<std::ptrdiff_t>(stride) * y, row);
    wire::Writer body;
    body.put<std::int64_t>(t.ns).put<std::int32_t>(w).put<std::int32_t>(h).put<std::int32_t>(3 * w);
    if (auto answer = ask(wire::Kind::frame, body.take()); !answer) return answer.failure();
    return {};
}

bool PluginProcess::wants_frames() const { return wants(CANALOGUE_WANTS_FRAMES); }
bool PluginProcess::wants_sound() const { return wants(CANALOGUE_WANTS_SOUND); }

Result<void> PluginProcess::sound(RecordingTime t, const std::vector<float>& samples) {
    if (!helper_) return not_running();
    if (!span_ || !wants_sound() || samples.empty() || samples.size() > CANALOGUE_MOST_SOUND_SAMPLES)
        return wrong_use("Sound to listen to needs a begun span and at most a second in one block.");
    std::memcpy(memory_.bytes(), samples.data(), samples.size() * sizeof(float));
    wire::Writer body;
    body.put<std::int64_t>(t.ns).put(static_cast<std::uint32_t>(samples.size()));
    if (auto answer = ask(wire::Kind::sound, body.take()); !answer) return answer.failure();
    return {};
}

Result<PluginProcess::EndedSpan> PluginProcess::ask_end() {
    if (!helper_) return not_running();
    if (!span_) return wrong_use("There is no begun span to end.");
    const auto span = *span_;
    auto answer = ask(wire::Kind::span_end, {});
    if (!answer) return answer.failure();
    span_.reset();
    return EndedSpan{span, std::move(*answer)};
}

Result<void> PluginProcess::restart() {
    if (restarts_left_ == 0)
        return named(std::string("failed too often and was not started again; ") + role_.rest + " " + role_.loss + ".");
    --restarts_left_;
    helper_.reset();
    span_.reset();
    if (auto launched = launch(); !launched) return launched;
    return about_ ? tell_recording() : Result<void>{};
}

}  // namespace canalogue
