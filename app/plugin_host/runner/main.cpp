// canalogue-plugin-runner: the helper process around one plugin. Started by the program only, with
// the library's path as its argument and its two descriptors in place (wire.hpp). Reads messages,
// calls the plugin, answers. Everything the program must be sure of is checked again over there.
#include <poll.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <string>
#include <thread>

#include "app/plugin_host/runner/collected.hpp"
#include "app/plugin_host/runner/loaded_plugin.hpp"
#include "app/plugin_host/runner/measured.hpp"
#include "app/plugin_host/wire.hpp"

namespace canalogue::runner {

namespace {

using wire::Kind;
using Bytes = std::vector<std::uint8_t>;

// The program's pictures and sound, mapped for reading; mapped anew when a larger recording comes.
class SharedBytes {
  public:
    const std::uint8_t* of(std::size_t bytes) {
        if (bytes > size_) map();
        return bytes <= size_ ? bytes_ : nullptr;
    }

  private:
    void map() {
        struct stat about {};
        if (::fstat(wire::kFrameMemoryFd, &about) != 0) return;
        if (bytes_) ::munmap(bytes_, size_);
        size_ = static_cast<std::size_t>(about.st_size);
        void* mapped = ::mmap(nullptr, size_, PROT_READ, MAP_SHARED, wire::kFrameMemoryFd, 0);
        bytes_ = mapped == MAP_FAILED ? nullptr : static_cast<std::uint8_t*>(mapped);
        if (!bytes_) size_ = 0;
    }
    std::uint8_t* bytes_ = nullptr;
    std::size_t size_ = 0;
};

class Runner {
  public:
    void serve(const char* library) {
        wire::Message message;
        while (wire::receive(wire::kSocketFd, message, wire::Clock::time_point::max()) == wire::Outcome::ok)
            if (message.kind == Kind::hello)
                hello(message.body, library);
            else
                answer(message);
    }

  private:
    static void propose(void* handle, const canalogue_proposal* p) {
        static_cast<Runner*>(handle)->collected_.add(p);
    }
    static void measure(void* handle, std::uint32_t channel, const float* values, std::uint32_t count) {
        static_cast<Runner*>(handle)->measured_.add(channel, values, count);
    }
    static void fail(void* handle, const char* sentence) {
        auto& text = static_cast<Runner*>(handle)->sentence_;
        if (sentence) text.assign(sentence, ::strnlen(sentence, CANALOGUE_MOST_SENTENCE_BYTES + 1));
    }

    static void reply(Kind kind, const Bytes& body) {
        wire::send(wire::kSocketFd, kind, body, wire::Clock::time_point::max());
    }
    static void reply(Kind kind, std::string_view sentence) {
        wire::Writer body;
        body.put(sentence);
        reply(kind, body.take());
    }

    void hello(const Bytes& body, const char* library) {
        wire::Reader in(body);
        if (in.number<std::uint32_t>() != wire::kTalkVersion)
            return reply(Kind::refused, "The plugin runner is of another version; install Canalogue again.");
        models_ = in.text();
        const auto extension = in.text();
        host_ = {CANALOGUE_HEAD(canalogue_host), this, propose, fail, models_.c_str(), measure};
        auto why = plugin_.load(library, extension, host_);
        if (!why.empty()) return reply(Kind::refused, sentence_.empty() ? why : sentence_);
        wire::Writer out;
        out.put(plugin_.plugin().id).put(plugin_.plugin().plugin_version);
        out.put(plugin_.offer().wants()).put(plugin_.offer().samples_per_second()).put(plugin_.offer().longest_side());
        if (const auto* gauge = plugin_.offer().gauge()) put_gauge(out, *gauge);
        reply(Kind::done, out.take());
    }

    static void put_gauge(wire::Writer& out, const canalogue_gauge& gauge) {
        out.put(gauge.channel_count);
        for (std::uint32_t i = 0; i < gauge.channel_count && i < CANALOGUE_MOST_CHANNELS; ++i) {
            const auto& c = gauge.channels[i];
            for (const char* text : {c.id, c.name, c.unit})
                out.put(text ? std::string_view(text, ::strnlen(text, CANALOGUE_MOST_SENTENCE_BYTES + 1))
                             : std::string_view{});
            out.put(c.low).put(c.high).put(c.step_ns);
        }
    }

    void answer(const wire::Message& message) {
        sentence_.clear();
        // What frames and sound of a span have given is handed over at its end.
        if (message.kind != Kind::frame && message.kind != Kind::sound && message.kind != Kind::span_end) collected_.clear();
        measured_.clear();
        wire::Reader in(message.body);
        const auto returned = call(message.kind, in);
        if (!returned && sentence_.empty()) sentence_ = "The plugin does not do that.";
        if (returned != CANALOGUE_OK) {
            collected_.clear();
            return reply(Kind::failed, sentence_);
        }
        reply(Kind::done, found(message.kind));
    }

    // What an answer carries.
    Bytes found(Kind kind) {
        const bool ends_span = kind == Kind::span_end;
        if (plugin_.offer().gauge()) return ends_span ? measured_.take() : Bytes{};
        return ends_span || kind == Kind::fields ? collected_.take() : Bytes{};
    }

    Answer call(Kind kind, wire::Reader& in) {
        switch (kind) {
            case Kind::begin_recording:
                return begin_recording(in);
            case Kind::span_begin:
                return span_begin(in);
            case Kind::frame:
                return frame(in);
            case Kind::sound:
                return sound(in);
            case Kind::span_end:
                return plugin_.offer().span_end();
            case Kind::fields:
                return fields(in);
            default:
                return {};
        }
    }

    Answer begin_recording(wire::Reader& in) {
        canalogue_facts facts{CANALOGUE_HEAD(canalogue_facts), 0, 0, 0, 0, 0};
        facts.width = in.number<std::int32_t>();
        facts.height = in.number<std::int32_t>();
        facts.duration_ns = in.number<std::int64_t>();
        facts.marked_inside_reads = in.number<double>();
        facts.marked_outside_reads = in.number<double>();
        return plugin_.offer().begin_recording(facts);
    }

    Answer span_begin(wire::Reader& in) {
        const auto start = in.number<std::int64_t>(), end = in.number<std::int64_t>();
        return plugin_.offer().span_begin(start, end);
    }

    Answer frame(wire::Reader& in) {
        canalogue_frame f{CANALOGUE_HEAD(canalogue_frame), 0, nullptr, 0, 0, 0};
        f.time_ns = in.number<std::int64_t>();
        f.width = in.number<std::int32_t>();
        f.height = in.number<std::int32_t>();
        f.stride = in.number<std::int32_t>();
        f.rgb = shared_.of(static_cast<std::size_t>(f.stride) * f.height);
        if (f.rgb) return plugin_.offer().frame(f);
        sentence_ = "The picture did not arrive.";
        return CANALOGUE_FAILED;
    }

    Answer sound(wire::Reader& in) {
        canalogue_sound s{CANALOGUE_HEAD(canalogue_sound), 0, nullptr, 0};
        s.time_ns = in.number<std::int64_t>();
        s.count = in.number<std::uint32_t>();
        s.samples = reinterpret_cast<const float*>(shared_.of(s.count * sizeof(float)));
        if (s.samples) return plugin_.offer().sound(s);
        sentence_ = "The sound did not arrive.";
        return CANALOGUE_FAILED;
    }

    Answer fields(wire::Reader& in) {
        const auto count = in.number<std::uint32_t>();
        std::vector<std::string> texts;
        for (std::uint32_t i = 0; i < 2 * count && in.sound(); ++i) texts.push_back(in.text());
        std::vector<canalogue_field> fields;
        for (std::size_t i = 0; i + 1 < texts.size(); i += 2)
            fields.push_back({texts[i].c_str(), texts[i + 1].c_str()});
        return plugin_.offer().fields(fields.data(), static_cast<std::uint32_t>(fields.size()));
    }

    LoadedPlugin plugin_;
    canalogue_host host_{};
    std::string models_, sentence_;
    Collected collected_;
    Measured measured_;
    SharedBytes shared_;
};

// Ends this process group the moment the program is gone, even while the plugin hangs.
void watch_the_program() {
    std::thread([] {
        pollfd program{wire::kSocketFd, POLLRDHUP, 0};
        while (::poll(&program, 1, -1) <= 0) {
        }
        ::kill(0, SIGKILL);
    }).detach();
    // The death signal set before start follows the thread that started us, which may well end
    // before the program does: the watch replaces it.
    ::prctl(PR_SET_PDEATHSIG, 0);
}

}  // namespace

}  // namespace canalogue::runner

int main(int argc, char** argv) {
    // A limit of 0 does not keep dumps from a system that pipes them to a collector; this does.
    ::prctl(PR_SET_DUMPABLE, 0);
    if (argc != 2 || ::getpgrp() != ::getpid()) return 2;  // not started by the program
    canalogue::runner::watch_the_program();
    canalogue::runner::Runner runner;
    runner.serve(argv[1]);
    // The program has closed its end. Nothing here needs tidying, and a plugin's threads may still run.
    ::_exit(0);
}
