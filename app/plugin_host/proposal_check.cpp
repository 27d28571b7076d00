#include "app/plugin_host/proposal_check.hpp"

#include <cmath>

#include "app/core/text.hpp"
#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue {

namespace {

using Nonsense = std::string;            // empty: none
constexpr double kRoundingSlack = 1e-3;  // pixels that arithmetic may carry a box over the edge

// Widened to whole pixels; empty when it is not a box inside the picture. NaN fails every comparison.
UprightBox whole_pixels(double x, double y, double w, double h, Size picture) {
    const bool inside = x >= -kRoundingSlack && y >= -kRoundingSlack && w > 0 && h > 0 &&
                        x + w <= picture.w + kRoundingSlack && y + h <= picture.h + kRoundingSlack;
    if (!inside) return {};
    const auto left = std::max(0, static_cast<int>(std::floor(x + kRoundingSlack)));
    const auto top = std::max(0, static_cast<int>(std::floor(y + kRoundingSlack)));
    const auto right = std::min(picture.w, static_cast<int>(std::ceil(x + w - kRoundingSlack)));
    const auto bottom = std::min(picture.h, static_cast<int>(std::ceil(y + h - kRoundingSlack)));
    return {left, top, right - left, bottom - top};
}

Nonsense read_track(wire::Reader& in, Proposal& p, Size picture) {
    const auto count = in.number<std::uint32_t>();
    if (count > CANALOGUE_MOST_TRACK_POINTS) return "too many track points";
    for (std::uint32_t i = 0; i < count && in.sound(); ++i) {
        const RecordingTime t{in.number<std::int64_t>()};
        const auto x = in.number<double>(), y = in.number<double>();
        const auto w = in.number<double>(), h = in.number<double>();
        const auto box = whole_pixels(x, y, w, h, picture);
        if (box.empty()) return "a box outside the picture";
        const auto earliest = p.track.empty() ? p.span.start : p.track.back().t;
        if (t < earliest || t >= p.span.end) return "a track that leaves its span or runs backwards";
        p.track.push_back({t, box});
    }
    return {};
}

Nonsense check_span(const Proposal& p, RecordingSpan whole, RecordingSpan offered) {
    if (p.span.empty()) return "a span that ends before it starts";
    if (p.span.start < whole.start || p.span.end > whole.end) return "a span outside the recording";
    if (p.kind != SuspectKind::metadata && !offered.empty() && !p.span.meets(offered))
        return "a span away from the one it was shown";
    return {};
}

Nonsense check_shape(const Proposal& p) {
    const bool needs_track = p.kind == SuspectKind::text || p.kind == SuspectKind::face;
    const bool may_have_track = needs_track || p.kind == SuspectKind::outside;
    if (needs_track && p.track.empty()) return "something seen without a place";
    if (!may_have_track && !p.track.empty()) return "a place for something not seen";
    if (p.kind == SuspectKind::metadata && p.field.empty()) return "a field without a name";
    return {};
}

Nonsense check_texts(const Proposal& p) {
    if (p.field.size() > CANALOGUE_MOST_FIELD_BYTES || p.words.size() > CANALOGUE_MOST_WORDS_BYTES)
        return "a text beyond all measure";
    if (!is_utf8(p.field) || !is_utf8(p.words)) return "a text that is not UTF-8";
    return {};
}

Nonsense read_proposal(wire::Reader& in, Proposal& p, Size picture, RecordingSpan whole,
                       RecordingSpan offered) {
    const auto kind = in.number<std::uint32_t>();
    if (kind > CANALOGUE_WORDS) return "an unknown kind of suspect";
    p.kind = static_cast<SuspectKind>(kind);
    p.sureness = in.number<double>();
    if (!(p.sureness >= 0 && p.sureness <= 1)) return "a sureness that is not between 0 and 1";
    p.span.start.ns = in.number<std::int64_t>();
    p.span.end.ns = in.number<std::int64_t>();
    if (p.kind == SuspectKind::metadata && p.span == RecordingSpan{}) p.span = whole;
    if (auto wrong = check_span(p, whole, offered); !wrong.empty()) return wrong;
    if (auto wrong = read_track(in, p, picture); !wrong.empty()) return wrong;
    p.field = in.text();
    p.words = in.text();
    if (auto wrong = check_shape(p); !wrong.empty()) return wrong;
    return check_texts(p);
}

// The C header and the core count kinds alike.
static_assert(CANALOGUE_TEXT == static_cast<int>(SuspectKind::text));
static_assert(CANALOGUE_FACE == static_cast<int>(SuspectKind::face));
static_assert(CANALOGUE_OUTSIDE == static_cast<int>(SuspectKind::outside));
static_assert(CANALOGUE_SPEECH == static_cast<int>(SuspectKind::speech));
static_assert(CANALOGUE_METADATA == static_cast<int>(SuspectKind::metadata));
static_assert(CANALOGUE_WORDS == static_cast<int>(SuspectKind::words));

}  // namespace

CheckedProposals check_proposals(const std::vector<std::uint8_t>& body, Size picture, RecordingSpan whole,
                                 RecordingSpan offered) {
    const auto nonsense = [](std::string what) { return CheckedProposals{{}, std::move(what)}; };
    wire::Reader in(body);
    const auto count = in.number<std::uint32_t>();
    if (count > CANALOGUE_MOST_PROPOSALS) return nonsense("too many proposals");
    CheckedProposals out;
    for (std::uint32_t i = 0; i < count; ++i) {
        Proposal p;
        auto wrong = read_proposal(in, p, picture, whole, offered);
        if (!in.sound()) return nonsense("an answer cut short");
        if (!wrong.empty()) return nonsense(std::move(wrong));
        out.proposals.push_back(std::move(p));
    }
    if (!in.sound() || !in.at_end()) return nonsense("an answer of the wrong length");
    return out;
}

}  // namespace canalogue
