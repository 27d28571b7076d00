#include "app/core/suspect.hpp"

#include <array>
#include <utility>

namespace canalogue {

namespace {
constexpr std::array<std::pair<SuspectKind, std::string_view>, 6> kKinds{{
    {SuspectKind::text, "text"},
    {SuspectKind::face, "face"},
    {SuspectKind::outside, "outside"},
    {SuspectKind::speech, "speech"},
    {SuspectKind::metadata, "metadata"},
    {SuspectKind::words, "words"},
}};
}  // namespace

bool Suspect::hides_picture() const {
    return kind == SuspectKind::text || kind == SuspectKind::face || kind == SuspectKind::outside;
}

bool Suspect::hides_sound() const { return kind == SuspectKind::speech || kind == SuspectKind::words; }

std::string_view name_of(SuspectKind kind) {
    for (const auto& [k, name] : kKinds)
        if (k == kind) return name;
    return "suspect";
}

Result<SuspectKind> suspect_kind_named(std::string_view name) {
    for (const auto& [k, n] : kKinds)
        if (n == name) return k;
    return wrong_use("There is no kind of suspect called '" + std::string(name) + "'.");
}

std::string_view name_of(Verdict verdict) {
    switch (verdict) {
        case Verdict::open: return "open";
        case Verdict::cover: return "cover";
        case Verdict::harmless: return "harmless";
    }
    return "open";
}

}  // namespace canalogue
