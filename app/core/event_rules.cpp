#include "app/core/event_rules.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "app/core/text.hpp"

namespace canalogue {

namespace {

// Where the cone of light is seen: about 5 o'clock in a right ear, 7 in a left one (published in
// nursing teaching; the quadrant's name from memory).
constexpr int kConeRight = 5, kConeLeft = 7;

// Plain decimals only: no exponent, no sign. Nothing in an ear measures more.
constexpr double kLargest = 10000;
bool is_number(const std::string& text) {
    double v = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), v, std::chars_format::fixed);
    return error == std::errc() && end == text.data() + text.size() && v >= 0 && v <= kLargest;
}

int hour_of(const std::string& text) {
    int h = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), h);
    return error == std::errc() && end == text.data() + text.size() && h >= 1 && h <= 12 ? h : 0;
}

std::string joined(const std::vector<std::string>& words) {
    std::string out;
    for (std::size_t i = 0; i < words.size(); ++i) out += (i == 0 ? "" : i + 1 == words.size() ? " or " : ", ") + words[i];
    return out;
}

const Attribute kClock{"clock", "Clock position", AttributeType::clock, {}, ""};
const Attribute kDepth{"depth", "Depth", AttributeType::depth, {"outer", "middle", "deep"}, ""};

Result<void> check_value(const Attribute& a, const std::string& text) {
    const auto no = [&](const std::string& want) {
        return wrong_use("'" + text + "' does not fit '" + a.id + "': write " + want + ".");
    };
    const auto among = [&](const std::vector<std::string>& choices) {
        return std::find(choices.begin(), choices.end(), text) != choices.end();
    };
    switch (a.type) {
        case AttributeType::choice:
            if (!among(a.choices)) return no(joined(a.choices));
            break;
        case AttributeType::depth:
            if (!among(kDepth.choices)) return no(joined(kDepth.choices));
            break;
        case AttributeType::number:
            if (!is_number(text)) return no("a number from 0 to 10000" + (a.unit.empty() ? "" : " (" + a.unit + ")"));
            break;
        case AttributeType::flag:
            if (text != "yes" && text != "no") return no("yes or no");
            break;
        case AttributeType::clock:
            if (hour_of(text) == 0) return no("an hour from 1 to 12");
            break;
        case AttributeType::text: break;
    }
    return {};
}

// Within a list of words; an abbreviation keeps its capitals.
std::string small(std::string name) {
    const auto is_capital = [&](std::size_t i) { return i < name.size() && name[i] >= 'A' && name[i] <= 'Z'; };
    if (is_capital(0) && !is_capital(1)) name[0] = static_cast<char>(name[0] + 32);
    return name;
}

std::string shown(const Attribute& a, const std::string& value) {
    switch (a.type) {
        case AttributeType::clock: return value + " o'clock";
        case AttributeType::flag: return value == "yes" ? small(a.name) : "";
        case AttributeType::number: return a.unit.empty() ? value : value + " " + a.unit;
        default: return value;
    }
}

struct Filled {
    std::string text;
    bool all_known = true;
};

// "other" names nothing that could be spoken.
Filled slots_filled(const std::string& pattern, const Event& event) {
    Filled out;
    for (std::size_t i = 0; i < pattern.size();) {
        const auto close = pattern[i] == '{' ? pattern.find('}', i) : std::string::npos;
        if (close == std::string::npos) {
            out.text += pattern[i++];
            continue;
        }
        const std::string slot = pattern.substr(i + 1, close - i - 1);
        const auto bar = std::min(slot.find('|'), slot.size());
        const auto it = event.attributes.find(slot.substr(0, bar));
        if (slot == "ear") out.text += name_of(event.ear);
        else if (it != event.attributes.end() && it->second != "other") out.text += it->second;
        else if (bar < slot.size()) out.text += slot.substr(bar + 1);
        else out.all_known = false;
        i = close + 1;
    }
    return out;
}

}  // namespace

bool is_common_attribute(std::string_view id) { return id == kClock.id || id == kDepth.id; }

Result<void> set_attribute(Event& event, const EventKind& kind, const std::string& id, const std::string& text) {
    const Attribute* a = kind.attribute(id);
    if (!a && id == kClock.id) a = &kClock;
    if (!a && id == kDepth.id) a = &kDepth;
    if (!a) {
        std::vector<std::string> known;
        for (const auto& each : kind.attributes) known.push_back(each.id);
        known.insert(known.end(), {kClock.id, kDepth.id});
        return wrong_use("'" + kind.id + "' has no attribute '" + id + "'; it has " + joined(known) + ".");
    }
    if (text.empty()) {
        event.attributes.erase(id);
        return {};
    }
    auto plain = one_line(text, "What was set for '" + id + "'");
    if (!plain) return plain.failure();
    if (auto fits = check_value(*a, *plain); !fits) return fits;
    event.attributes[id] = *plain;
    return {};
}

Result<void> check_times(const Event& event, const EventKind& kind, const Recording& recording) {
    if (!recording.only.holds(event.at))
        return wrong_use("There is no picture of this session at that time; choose one from " +
                         format_time(recording.session_time(recording.only.start).ns) + " to " +
                         format_time(recording.session_time(recording.only.end).ns) + ".");
    if (!event.until) return {};
    if (!kind.span) return wrong_use("'" + kind.id + "' is an instant; leave out its end.");
    if (*event.until <= event.at) return wrong_use("The event would end before it begins; give a later end.");
    if (*event.until > recording.only.end)
        return wrong_use("The event would end after its recording does; end it by " +
                         format_time(recording.session_time(recording.only.end).ns) + ".");
    return {};
}

std::vector<std::string> warnings_for(const Event& event, const EventKind& kind, const Recording& recording) {
    std::vector<std::string> out;
    if (const auto shown = recording.ear_at(event.at); shown && *shown != event.ear)
        out.push_back("The event says " + std::string(name_of(event.ear)) + " ear, but the recording shows the " +
                      std::string(name_of(*shown)) + " ear here.");
    const auto clock = event.attributes.find(kClock.id);
    if (clock == event.attributes.end()) return out;
    const int hour = hour_of(clock->second);
    // The cone of light tells the side; other findings may lie anywhere.
    const auto landmarks = event.attributes.find("landmarks");
    const bool cone = landmarks == event.attributes.end() || landmarks->second.find("cone") != std::string::npos;
    if (kind.landmark && cone) {
        const int here = event.ear == Ear::right ? kConeRight : kConeLeft;
        const int there = event.ear == Ear::right ? kConeLeft : kConeRight;
        if (std::abs(hour - there) < std::abs(hour - here))
            out.push_back("A cone of light at " + clock->second + " o'clock is what a " +
                          std::string(name_of(other(event.ear))) + " ear shows (about " + std::to_string(here) +
                          " is usual in a " + std::string(name_of(event.ear)) +
                          " ear): check the side, or whether the picture is mirrored.");
    }
    const auto where = event.attributes.find("quadrant");
    if (where != event.attributes.end() && quadrant_of(event.ear, hour) != where->second)
        out.push_back(clock->second + " o'clock in a " + std::string(name_of(event.ear)) + " ear is " +
                      std::string(quadrant_of(event.ear, hour)) + ", not " + where->second +
                      ": check the side, or whether the picture is mirrored.");
    return out;
}

std::string filled_in(const std::string& pattern, const Event& event) {
    std::string out;
    for (std::size_t i = 0; i < pattern.size();) {
        const auto close = pattern[i] == '[' ? pattern.find(']', i) : std::string::npos;
        if (close != std::string::npos) {
            if (const auto part = slots_filled(pattern.substr(i + 1, close - i - 1), event); part.all_known) out += part.text;
            i = close + 1;
        } else {
            const auto open = std::min(pattern.find('[', i + 1), pattern.size());
            out += slots_filled(pattern.substr(i, open - i), event).text;
            i = open;
        }
    }
    // An empty slot must not leave double spaces or a space before a full stop.
    std::string tidy;
    for (char c : out) {
        if (c == ' ' && (tidy.empty() || tidy.back() == ' ')) continue;
        if ((c == '.' || c == ',') && !tidy.empty() && tidy.back() == ' ') tidy.pop_back();
        tidy += c;
    }
    return tidy;
}

std::string described(const Event& event, const EventKind& kind, FreeText free_text) {
    std::string out = kind.name;
    const char* mark = ": ";
    const auto add = [&](const Attribute& a) {
        const auto it = event.attributes.find(a.id);
        if (it == event.attributes.end()) return;
        if (a.type == AttributeType::text && free_text == FreeText::leave_out) return;
        const std::string words = shown(a, it->second);
        if (words.empty()) return;
        out += mark + words;
        mark = ", ";
    };
    for (const auto& a : kind.attributes) add(a);
    if (!kind.attribute(kClock.id)) add(kClock);
    if (!kind.attribute(kDepth.id)) add(kDepth);
    return out;
}

}  // namespace canalogue
