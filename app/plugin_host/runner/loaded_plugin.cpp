#include "app/plugin_host/runner/loaded_plugin.hpp"

#include <dlfcn.h>

#include <algorithm>
#include <array>
#include <cstring>

namespace canalogue::runner {

namespace {

constexpr const char* kNotForUs = "It was written for another version of Canalogue; update one of them.";
constexpr const char* kIncomplete = "It lacks functions that every spotter needs; install it again.";

// Copies what of a versioned struct is there; false when its head does not fit what we know.
template <class T>
bool take_struct(const T* given, T& out, std::size_t size_of_version_1) {
    if (!given || given->size < size_of_version_1) return false;
    if (given->version == 0 || given->version > CANALOGUE_PLUGIN_VERSION) return false;
    std::memcpy(static_cast<void*>(&out), given, std::min<std::size_t>(given->size, sizeof out));
    return true;
}

}  // namespace

std::string LoadedPlugin::load(const char* library, const canalogue_host& host) {
    void* opened = ::dlopen(library, RTLD_NOW | RTLD_LOCAL);
    if (!opened) return "Its library cannot be loaded; a library it needs may be missing.";
    const auto entry =
        reinterpret_cast<decltype(&canalogue_plugin_entry)>(::dlsym(opened, "canalogue_plugin_entry"));
    if (!entry) return "Its library is not a plugin; install it again.";
    if (auto why = take_plugin(entry(CANALOGUE_PLUGIN_VERSION)); !why.empty()) return why;
    std::array<char, CANALOGUE_MOST_SENTENCE_BYTES> sentence{};
    if (plugin_.available && plugin_.available(&host, sentence.data(), sentence.size()) != 1) {
        sentence.back() = 0;
        return sentence.front() ? sentence.data() : "It did not say why.";
    }
    if (auto why = take_spotter(); !why.empty()) return why;
    state_ = spotter_.create(&host);
    return state_ ? "" : "It could not get ready.";
}

std::string LoadedPlugin::take_plugin(const canalogue_plugin* given) {
    if (!take_struct(given, plugin_, sizeof(canalogue_plugin))) return kNotForUs;
    return plugin_.id && plugin_.plugin_version && plugin_.extension ? "" : kIncomplete;
}

std::string LoadedPlugin::take_spotter() {
    const auto* given = static_cast<const canalogue_spotter*>(plugin_.extension(CANALOGUE_EXTENSION_SPOTTER));
    if (!given) return "It is not a spotter.";
    if (!take_struct(given, spotter_, sizeof(canalogue_spotter))) return kNotForUs;
    const auto& s = spotter_;
    const bool frames = !(s.wants & CANALOGUE_WANTS_FRAMES) || (s.span_begin && s.frame && s.span_end);
    const bool fields = !(s.wants & CANALOGUE_WANTS_FIELDS) || s.fields;
    return s.create && s.destroy && s.begin_recording && frames && fields ? "" : kIncomplete;
}

}  // namespace canalogue::runner
