// For plugins written in C++: a spotter as a class, over the plain C header. Header only.
//
//     class Lanterns : public canalogue::plugin::Spotter { ... };
//     extern "C" const canalogue_plugin* canalogue_plugin_entry(uint32_t) {
//         static const auto plugin = canalogue::plugin::spotter_plugin<Lanterns>();
//         return &plugin;
//     }
//
// The class gives constants id, version, wants and samples_per_second, and a static function
// why_not(models_dir) that returns an empty string when the spotter can work here. An exception
// becomes a failed call with its text as the sentence: throw std::runtime_error("A sentence."), never
// with text read from a recording.
#pragma once

#include <cstdio>
#include <cstring>
#include <exception>
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

// What the host offers, with C++ types. Valid as long as the spotter lives.
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
    void fail(const char* sentence) const { host_->fail(host_->handle, sentence); }
    std::string models_dir() const { return host_->models_dir ? host_->models_dir : ""; }

  private:
    const canalogue_host* host_;
};

class Spotter {
  public:
    explicit Spotter(Host host) : host_(host) {}
    virtual ~Spotter() = default;
    Spotter(const Spotter&) = delete;
    Spotter& operator=(const Spotter&) = delete;

    virtual void begin_recording(const canalogue_facts&) {}
    virtual void span_begin(std::int64_t /*start_ns*/, std::int64_t /*end_ns*/) {}
    virtual void frame(const canalogue_frame&) {}
    virtual void span_end() {}
    virtual void fields(std::span<const canalogue_field>) {}

    const Host& host() const { return host_; }

  private:
    Host host_;
};

namespace detail {

inline Spotter& spotter_of(canalogue_spotter_state* state) { return *reinterpret_cast<Spotter*>(state); }

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

template <class S>
canalogue_spotter_state* create(const canalogue_host* c_host) {
    const Host host(c_host);
    Spotter* spotter = nullptr;
    guarded(host, [&] { spotter = new S(host); });
    return reinterpret_cast<canalogue_spotter_state*>(spotter);
}

inline void destroy(canalogue_spotter_state* state) { delete &spotter_of(state); }

inline int begin_recording(canalogue_spotter_state* state, const canalogue_facts* facts) {
    auto& s = spotter_of(state);
    return guarded(s.host(), [&] { s.begin_recording(*facts); });
}

inline int span_begin(canalogue_spotter_state* state, std::int64_t start_ns, std::int64_t end_ns) {
    auto& s = spotter_of(state);
    return guarded(s.host(), [&] { s.span_begin(start_ns, end_ns); });
}

inline int frame(canalogue_spotter_state* state, const canalogue_frame* frame) {
    auto& s = spotter_of(state);
    return guarded(s.host(), [&] { s.frame(*frame); });
}

inline int span_end(canalogue_spotter_state* state) {
    auto& s = spotter_of(state);
    return guarded(s.host(), [&] { s.span_end(); });
}

inline int fields(canalogue_spotter_state* state, const canalogue_field* fields, std::uint32_t count) {
    auto& s = spotter_of(state);
    return guarded(s.host(), [&] { s.fields({fields, count}); });
}

template <class S>
const void* extension(const char* id) {
    static const canalogue_spotter spotter{CANALOGUE_HEAD(canalogue_spotter),
                                           S::wants,
                                           S::samples_per_second,
                                           create<S>,
                                           destroy,
                                           begin_recording,
                                           span_begin,
                                           frame,
                                           span_end,
                                           fields};
    return std::strcmp(id, CANALOGUE_EXTENSION_SPOTTER) == 0 ? &spotter : nullptr;
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
    return {CANALOGUE_HEAD(canalogue_plugin), S::id, S::version, detail::available<S>, detail::extension<S>};
}

}  // namespace canalogue::plugin
