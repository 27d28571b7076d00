// For plugins written in C++: a spotter or a gauge as a class, over the plain C header. Header only.
//
//     class Lanterns : public canalogue::plugin::Spotter { ... };
//     extern "C" const canalogue_plugin* canalogue_plugin_entry(uint32_t) {
//         static const auto plugin = canalogue::plugin::spotter_plugin<Lanterns>();
//         return &plugin;
//     }
//
// The class gives constants id, version, wants and samples_per_second, and a static function
// why_not(models_dir) that returns an empty string when the plugin can work here; a spotter may give
// longest_side. A gauge (gauge_plugin<G>) must, and an array of canalogue_channel, channels. An exception
// becomes a failed call with its text as the sentence: throw std::runtime_error("A sentence."), never
// with text read from a recording.
#pragma once

#include <cstdio>
#include <cstring>
#include <exception>
#include <iterator>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue::plugin {

struct Proposal {
    std::uint32_t kind = CANALOGUE_TEXT;
    std::int64_t start_ns = 0, end_ns = 0;
    std::vector<canalogue_track_point> track;
    double sureness = 0;
    std::string field, words;
};

// What the host offers, with C++ types. Valid as long as the plugin's object lives.
class Host {
  public:
    explicit Host(const canalogue_host* host) : host_(host) {}

    void propose(const Proposal& p) const {
        const canalogue_proposal c{CANALOGUE_HEAD(canalogue_proposal),
                                   p.kind,
                                   p.sureness,
                                   p.start_ns,
                                   p.end_ns,
                                   p.track.empty() ? nullptr : p.track.data(),
                                   static_cast<std::uint32_t>(p.track.size()),
                                   p.field.empty() ? nullptr : p.field.c_str(),
                                   p.words.empty() ? nullptr : p.words.c_str()};
        host_->propose(host_->handle, &c);
    }
    void measure(std::size_t channel, std::span<const float> values) const {
        host_->measure(host_->handle, static_cast<std::uint32_t>(channel), values.data(),
                       static_cast<std::uint32_t>(values.size()));
    }
    void fail(const char* sentence) const { host_->fail(host_->handle, sentence); }
    std::string models_dir() const { return host_->models_dir ? host_->models_dir : ""; }

  private:
    const canalogue_host* host_;
};

// What spotters and gauges share.
class Watcher {
  public:
    explicit Watcher(Host host) : host_(host) {}
    virtual ~Watcher() = default;
    Watcher(const Watcher&) = delete;
    Watcher& operator=(const Watcher&) = delete;

    virtual void begin_recording(const canalogue_facts&) {}
    virtual void span_begin(std::int64_t /*start_ns*/, std::int64_t /*end_ns*/) {}
    virtual void frame(const canalogue_frame&) {}
    virtual void sound(const canalogue_sound&) {}
    virtual void span_end() {}

    const Host& host() const { return host_; }

  private:
    Host host_;
};

class Spotter : public Watcher {
  public:
    using State = canalogue_spotter_state;
    using Watcher::Watcher;
    virtual void fields(std::span<const canalogue_field>) {}
};

class Gauge : public Watcher {
  public:
    using State = canalogue_gauge_state;
    using Watcher::Watcher;
};

namespace detail {

template <class W>
W& watcher_of(typename W::State* state) { return *reinterpret_cast<W*>(state); }

// Runs one call; no exception leaves the plugin.
template <class Call>
int guarded(const Host& host, Call&& call) {
    try {
        call();
        return CANALOGUE_OK;
    } catch (const std::exception& e) {
        host.fail(e.what());
    } catch (...) {
        host.fail("Something unexpected happened inside the plugin.");
    }
    return CANALOGUE_FAILED;
}

// W is Spotter or Gauge, P the plugin's own class.
template <class W, class P>
typename W::State* create(const canalogue_host* c_host) {
    const Host host(c_host);
    W* watcher = nullptr;
    guarded(host, [&] { watcher = new P(host); });
    return reinterpret_cast<typename W::State*>(watcher);
}

template <class W>
void destroy(typename W::State* state) { delete &watcher_of<W>(state); }

template <class W>
int begin_recording(typename W::State* state, const canalogue_facts* facts) {
    auto& w = watcher_of<W>(state);
    return guarded(w.host(), [&] { w.begin_recording(*facts); });
}

template <class W>
int span_begin(typename W::State* state, std::int64_t start_ns, std::int64_t end_ns) {
    auto& w = watcher_of<W>(state);
    return guarded(w.host(), [&] { w.span_begin(start_ns, end_ns); });
}

template <class W>
int frame(typename W::State* state, const canalogue_frame* frame) {
    auto& w = watcher_of<W>(state);
    return guarded(w.host(), [&] { w.frame(*frame); });
}

template <class W>
int span_end(typename W::State* state) {
    auto& w = watcher_of<W>(state);
    return guarded(w.host(), [&] { w.span_end(); });
}

inline int fields(canalogue_spotter_state* state, const canalogue_field* fields, std::uint32_t count) {
    auto& s = watcher_of<Spotter>(state);
    return guarded(s.host(), [&] { s.fields({fields, count}); });
}

template <class W>
int sound(typename W::State* state, const canalogue_sound* sound) {
    auto& w = watcher_of<W>(state);
    return guarded(w.host(), [&] { w.sound(*sound); });
}

// A spotter that does not say sees pictures as they were recorded.
template <class S>
constexpr std::int32_t longest_side_of() {
    if constexpr (requires { S::longest_side; }) return S::longest_side;
    return 0;
}

template <class S>
const void* spotter_extension(const char* id) {
    static const canalogue_spotter spotter{CANALOGUE_HEAD(canalogue_spotter),
                                           S::wants,
                                           S::samples_per_second,
                                           create<Spotter, S>,
                                           destroy<Spotter>,
                                           begin_recording<Spotter>,
                                           span_begin<Spotter>,
                                           frame<Spotter>,
                                           span_end<Spotter>,
                                           fields,
                                           longest_side_of<S>(),
                                           sound<Spotter>};
    return std::strcmp(id, CANALOGUE_EXTENSION_SPOTTER) == 0 ? &spotter : nullptr;
}

template <class G>
const void* gauge_extension(const char* id) {
    static const canalogue_gauge gauge{CANALOGUE_HEAD(canalogue_gauge),
                                       G::wants,
                                       G::samples_per_second,
                                       G::longest_side,
                                       std::data(G::channels),
                                       static_cast<std::uint32_t>(std::size(G::channels)),
                                       create<Gauge, G>,
                                       destroy<Gauge>,
                                       begin_recording<Gauge>,
                                       span_begin<Gauge>,
                                       frame<Gauge>,
                                       sound<Gauge>,
                                       span_end<Gauge>};
    return std::strcmp(id, CANALOGUE_EXTENSION_GAUGE) == 0 ? &gauge : nullptr;
}

template <class S>
int available(const canalogue_host* host, char* why, std::uint32_t why_size) {
    std::string sentence = "The plugin could not look at its models folder.";
    try {
        sentence = S::why_not(host->models_dir ? host->models_dir : "");
    } catch (const std::exception&) {
    }
    if (sentence.empty()) return 1;
    std::snprintf(why, why_size, "%s", sentence.c_str());
    return 0;
}

}  // namespace detail

template <class S>
canalogue_plugin spotter_plugin() {
    return {CANALOGUE_HEAD(canalogue_plugin), S::id, S::version, detail::available<S>, detail::spotter_extension<S>};
}

template <class G>
canalogue_plugin gauge_plugin() {
    return {CANALOGUE_HEAD(canalogue_plugin), G::id, G::version, detail::available<G>, detail::gauge_extension<G>};
}

}  // namespace canalogue::plugin
