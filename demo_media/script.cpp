#include "demo_media/script.hpp"

#include <algorithm>

namespace canalogue::demo {

Curve::Curve(std::vector<std::pair<double, double>> keys, double scale) : keys_(std::move(keys)) {
    for (auto& key : keys_) key.first *= scale;
}

double Curve::at(double t) const {
    if (keys_.empty()) return 0;
    if (t <= keys_.front().first) return keys_.front().second;
    for (std::size_t i = 1; i < keys_.size(); ++i)
        if (t < keys_[i].first) {
            const auto& [t0, v0] = keys_[i - 1];
            const auto& [t1, v1] = keys_[i];
            const double x = (t - t0) / (t1 - t0);
            return v0 + (v1 - v0) * x * x * (3 - 2 * x);
        }
    return keys_.back().second;
}

std::vector<Stretch> Script::inside() const {
    std::vector<Stretch> out;
    double at = 0;
    for (const Stretch& o : outside) {
        if (o.start > at) out.push_back({at, o.start});
        at = o.end;
    }
    if (at < seconds) out.push_back({at, seconds});
    return out;
}

namespace {

// The stories are written for these lengths and stretched to the length asked for.
constexpr double kRightAsWritten = 36, kLeftAsWritten = 24;

void stretch_out(Script& s) {
    for (auto& h : s.happenings) h.start *= s.tempo, h.end *= s.tempo;
    for (auto* list : {&s.outside, &s.smear, &s.tool_in, &s.suction_on, &s.wiping})
        for (auto& x : *list) x.start *= s.tempo, x.end *= s.tempo;
    for (auto& p : s.pulls) p.arrive *= s.tempo, p.grip *= s.tempo, p.gone *= s.tempo, p.back *= s.tempo;
    s.sentence_at *= s.tempo;
}

// Adds one pull that ends, with the piece out of the picture, at `gone`, and its event.
void take_piece(Script& s, std::vector<std::pair<double, double>>& reach, int piece, double gone,
                const char* size) {
    s.pulls.push_back({piece, gone - 1.0, gone - 0.7, gone, gone + 0.3});
    reach.insert(reach.end(), {{gone - 1.0, 1}, {gone - 0.7, 1}, {gone, 0.0}});
    s.happenings.push_back({"piece-removed", gone, gone, {{"material", "hard wax"}, {"amount", size}}});
}

}  // namespace

Script right_ear(double seconds) {
    Script s;
    s.ear = Ear::right, s.seconds = seconds, s.tempo = seconds / kRightAsWritten;
    s.pieces = 7, s.tool = Tool::suction;
    s.sentence = "Good morning mister Brackwater, I will look into your right ear now.";
    s.sentence_at = 0.3;
    s.outside = {{0, 2.9}, {17.6, 20.5}};
    s.room = Curve({{0, 1}, {2.3, 1}, {2.9, 0}, {17.6, 0}, {18.1, 1}, {19.9, 1}, {20.5, 0}}, s.tempo);
    s.depth = Curve({{2.3, -7.5},
                     {3.6, -4},
                     {5.8, 2.2},
                     {9, 3.2},
                     {15.5, 3.8},
                     {16.6, 3.4},
                     {17.8, -7},
                     {20.2, -7},
                     {21.9, 3.4},
                     {28.2, 4.6},
                     {29.4, 5},
                     {32.0, 16.6},
                     {36, 18.0}},
                    s.tempo);
    s.veil = Curve({{15.4, 0}, {16.3, 0.75}, {17.2, 1}, {18.5, 1}, {19.2, 0}}, s.tempo);
    s.smear = {{15.4, 19.2}};
    s.wiping = {{18.4, 19.2}};
    s.tool_in = {{7.6, 16.7}, {22.0, 29.0}};
    s.suction_on = {{8.2, 16.3}, {22.3, 28.7}};
    std::vector<std::pair<double, double>> reach{{7.6, 0}, {8.4, 0.8}};
    s.happenings = {{"blockage-found", 5.8, 5.8, {{"material", "hard wax"}, {"extent", "complete"}, {"colour", "dark brown"}}},
                    {"instrument-in", 7.6, 16.7, {{"instrument", "suction"}, {"size", "2"}}}};
    take_piece(s, reach, 1, 10.0, "large");
    take_piece(s, reach, 2, 11.8, "medium");
    take_piece(s, reach, 3, 13.5, "medium");
    take_piece(s, reach, 4, 15.2, "large");
    reach.insert(reach.end(), {{15.9, 0.55}, {16.3, 0.5}, {16.7, 0}, {22.0, 0}, {22.6, 0.7}});
    take_piece(s, reach, 5, 24.1, "medium");
    take_piece(s, reach, 6, 25.9, "small");
    take_piece(s, reach, 7, 27.7, "small");
    reach.insert(reach.end(), {{28.3, 0.4}, {29.0, 0}});
    s.reach = Curve(reach, s.tempo);
    const std::vector<Happening> rest{
        {"lens-smeared", 15.4, 19.2, {{"cause", "wax"}}},
        {"instrument-out", 16.7, 16.7, {{"instrument", "suction"}}},
        {"lens-wiped", 19.2, 19.2, {}},
        {"instrument-in", 22.0, 29.0, {{"instrument", "suction"}, {"size", "2"}}},
        {"instrument-out", 29.0, 29.0, {{"instrument", "suction"}}},
        {"skin-left", 30.0, 30.0, {{"what", "adherent skin"}, {"why", "attached"}, {"clock", "6"}}},
        {"sore-area", 30.8, 30.8, {{"look", "reddened"}, {"clock", "6"}}},
        {"drum-visible", 32.0, 36.0, {{"view", "all"}, {"landmarks", "handle and cone of light"}, {"hue", "pearl grey"}, {"clock", "5"}}},
        {"canal-clear", 33.4, 33.4, {{"extent", "fully"}}}};
    s.happenings.insert(s.happenings.end(), rest.begin(), rest.end());
    stretch_out(s);
    std::stable_sort(s.happenings.begin(), s.happenings.end(),
                     [](auto& a, auto& b) { return a.start < b.start; });
    return s;
}

Script left_ear(double seconds) {
    Script s;
    s.ear = Ear::left, s.seconds = seconds, s.tempo = seconds / kLeftAsWritten;
    s.cotton = true, s.fluid = true, s.tool = Tool::forceps, s.drops_frames = true;
    s.sentence = "And now your left ear, mister Brackwater.";
    s.sentence_at = 0.3;
    s.outside = {{0, 2.7}, {22.4, 24.0}};
    s.room = Curve({{0, 1}, {2.1, 1}, {2.7, 0}, {22.4, 0}, {22.9, 1}}, s.tempo);
    s.depth = Curve({{2.1, -7},
                     {3.4, -3.5},
                     {5.2, 3.2},
                     {8.2, 4},
                     {9.0, 4},
                     {10.6, 2.4},
                     {11.4, 2.6},
                     {14.4, 16.6},
                     {20.6, 17.6},
                     {21.4, 15},
                     {22.6, -6}},
                    s.tempo);
    s.tool_in = {{6.6, 10.8}};
    s.reach = Curve({{6.6, 0}, {7.8, 0.85}, {8.5, 1}, {9.1, 1}, {10.5, 0}, {10.8, 0}}, s.tempo);
    s.pulls = {{0, 8.5, 9.1, 10.5, 10.8}};
    s.happenings = {
        {"foreign-body", 5.2, 5.2, {{"what", "cotton tip"}}},
        {"instrument-in", 6.6, 10.8, {{"instrument", "forceps"}}},
        {"foreign-body-removed", 10.5, 10.5, {{"what", "cotton tip"}, {"instrument", "forceps"}, {"whole", "yes"}}},
        {"instrument-out", 10.8, 10.8, {{"instrument", "forceps"}}},
        {"drum-visible", 14.2, 21.4, {{"view", "all"}, {"landmarks", "handle"}, {"hue", "amber"}}},
        {"canal-clear", 15.0, 15.0, {{"extent", "fully"}}},
        {"suspected-effusion", 16.5, 16.5, {{"look", "bubbles"}}},
        {"referral", 19.0, 19.0, {{"to", "ear-nose-throat clinic"}, {"reason", "suspected effusion"}, {"urgency", "within 2 weeks"}}}};
    stretch_out(s);
    return s;
}

Moment moment_at(const Script& s, double t) {
    Moment m;
    m.t = t;
    m.room = float(s.room.at(t)), m.depth = float(s.depth.at(t));
    m.veil = float(s.veil.at(t)), m.reach = float(s.reach.at(t));
    for (const Stretch& in : s.tool_in) m.tool_shown |= in.holds(t);
    for (const Stretch& w : s.wiping)
        if (w.holds(t)) {
            const double x = (t - w.start) / (w.end - w.start);
            m.tissue = float(4 * x * (1 - x));
        }
    for (std::size_t i = 0; i < s.pulls.size(); ++i) {
        const Pull& p = s.pulls[i];
        m.gone.push_back(t >= p.gone);
        if (m.aim < 0 && t < p.gone + 0.15 * (p.back - p.gone)) m.aim = int(i);
        if (t >= p.grip && t < p.gone) m.held = true;
    }
    if (m.aim < 0 && !s.pulls.empty()) m.aim = int(s.pulls.size()) - 1;
    return m;
}

}  // namespace canalogue::demo
