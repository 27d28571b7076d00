// The spotter for what a file says about itself: one suspect for each field that may identify.
#include <algorithm>
#include <set>

#include "plugins/file_fields/field_rules.hpp"
#include "plugins/sdk/plugin.hpp"

namespace canalogue::file_fields {

namespace {

// Well-formed UTF-8 of at most `most` bytes: files hold text in any encoding and of any length.
std::string fit(std::string_view text, std::size_t most) {
    std::string out;
    for (std::size_t i = 0; i < text.size() && out.size() + 4 <= most;) {
        const auto lead = static_cast<unsigned char>(text[i]);
        const std::size_t size = lead < 0x80                   ? 1
                                 : lead >= 0xC2 && lead < 0xE0 ? 2
                                 : lead >= 0xE0 && lead < 0xF0 ? 3
                                                               : 0;
        bool whole = size > 0 && i + size <= text.size() && lead != 0;
        for (std::size_t k = 1; whole && k < size; ++k) whole = (text[i + k] & 0xC0) == 0x80;
        const auto second = whole && size == 3 ? static_cast<unsigned char>(text[i + 1]) : 0x90;
        whole = whole && !(lead == 0xE0 && second < 0xA0) && !(lead == 0xED && second > 0x9F);
        if (whole)
            out.append(text, i, size);
        else
            out += '?';
        i += whole ? size : 1;
    }
    return out;
}

class FileFields : public plugin::Spotter {
  public:
    static constexpr auto id = CANALOGUE_PLUGIN_ID, version = CANALOGUE_PLUGIN_RELEASE;
    static constexpr std::uint32_t wants = CANALOGUE_WANTS_FIELDS;
    static constexpr double samples_per_second = 0;
    static std::string why_not(const std::string&) { return {}; }

    using Spotter::Spotter;

    void fields(std::span<const canalogue_field> fields) override {
        std::set<std::string> attached;
        for (const auto& [name, value] : fields) {
            const auto parts = split(name);
            double sureness = sureness_of(parts, value);
            // Being there is telling enough: a picture of a face, a track of places.
            if (is_attached(parts.place) && attached.insert(parts.place).second)
                sureness = std::max(sureness, kAttached);
            if (sureness > 0) propose(name, value, sureness);
        }
    }

  private:
    static constexpr double kAttached = .7;

    static bool is_attached(std::string_view place) {
        return place.starts_with("attachment") || place.starts_with("extra stream");
    }

    void propose(const char* name, const char* value, double sureness) const {
        plugin::Proposal p;
        p.kind = CANALOGUE_METADATA;
        p.sureness = sureness;
        p.field = fit(name, CANALOGUE_MOST_FIELD_BYTES);
        p.words = fit(value, CANALOGUE_MOST_WORDS_BYTES);
        host().propose(p);
    }
};

}  // namespace

}  // namespace canalogue::file_fields

extern "C" const canalogue_plugin* canalogue_plugin_entry(std::uint32_t) {
    static const auto plugin = canalogue::plugin::spotter_plugin<canalogue::file_fields::FileFields>();
    return &plugin;
}
