#include "app/plugin_host/runner/loaded_plugin.hpp"

#include <dlfcn.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstring>

namespace canalogue::runner {

namespace {

constexpr const char* kNotForUs = "It was written for another version of Canalogue; update one of them.";
constexpr const char* kIncomplete = "It lacks functions that it needs; install it again.";

// Copies what of a versioned struct is there; false when its head does not fit what we know.
// smallest: its size in the version that brought it.
template <class T>
bool take_struct(const T* given, T& out, std::size_t smallest) {
    if (!given || given->size < smallest) return false;
    if (given->version == 0 || given->version > CANALOGUE_PLUGIN_VERSION) return false;
    std::memcpy(static_cast<void*>(&out), given, std::min<std::size_t>(given->size, sizeof out));
    return true;
}

bool complete(const canalogue_spotter& s) {
    const bool spans = !(s.wants & (CANALOGUE_WANTS_FRAMES | CANALOGUE_WANTS_SOUND)) || (s.span_begin && s.span_end);
    const bool frames = !(s.wants & CANALOGUE_WANTS_FRAMES) || s.frame;
    const bool sound = !(s.wants & CANALOGUE_WANTS_SOUND) || s.sound;
    const bool fields = !(s.wants & CANALOGUE_WANTS_FIELDS) || s.fields;
    return s.create && s.destroy && s.begin_recording && spans && frames && sound && fields && s.longest_side >= 0;
}

// How large a table must be, by the version that it was filled for.
std::size_t smallest(const canalogue_spotter* s) {
    return s && s->version >= 3 ? sizeof *s : offsetof(canalogue_spotter, longest_side);
}
std::size_t smallest(const canalogue_gauge*) { return sizeof(canalogue_gauge); }

bool complete(const canalogue_gauge& g) {
    const bool frames = !(g.wants & CANALOGUE_WANTS_FRAMES) || g.frame;
    const bool sound = !(g.wants & CANALOGUE_WANTS_SOUND) || g.sound;
    return g.create && g.destroy && g.begin_recording && g.span_begin && g.span_end && frames && sound &&
           g.channels && g.channel_count > 0;
}

// Empty when `offer` holds what the plugin offers; else why not.
template <class Table>
std::string take_table(const void* given, std::unique_ptr<Offer>& offer) {
    Table table{};
    const auto* offered = static_cast<const Table*>(given);
    if (!take_struct(offered, table, smallest(offered))) return kNotForUs;
    if (!complete(table)) return kIncomplete;
    offer = std::make_unique<OfferOf<Table>>(table);
    return {};
}

}  // namespace

std::string LoadedPlugin::load(const char* library, const std::string& extension,
                               const canalogue_host& host) {
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
    if (auto why = take_extension(extension); !why.empty()) return why;
    return offer_->create(host) ? "" : "It could not get ready.";
}

std::string LoadedPlugin::take_plugin(const canalogue_plugin* given) {
    if (!take_struct(given, plugin_, sizeof(canalogue_plugin))) return kNotForUs;
    return plugin_.id && plugin_.plugin_version && plugin_.extension ? "" : kIncomplete;
}

std::string LoadedPlugin::take_extension(const std::string& id) {
    const bool gauge = id == CANALOGUE_EXTENSION_GAUGE;
    const void* given = plugin_.extension(id.c_str());
    if (!given) return gauge ? "It is not a gauge." : "It is not a spotter.";
    return gauge ? take_table<canalogue_gauge>(given, offer_) : take_table<canalogue_spotter>(given, offer_);
}

}  // namespace canalogue::runner
