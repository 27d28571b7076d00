// Reading JSON that a person may have written: each thing that is wrong is thrown as the end of a sentence,
// for the reader of a whole file to name the place. Private to this floor.
#pragma once

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "app/core/text.hpp"
#include "app/core/time.hpp"

namespace canalogue::reading {

using json = nlohmann::ordered_json;

struct Bad {
    std::string what;
};

// A member that stands twice would otherwise be taken from the second place, without a word. Throws Bad, or what the
// parser throws.
inline json parsed(const std::string& text) {
    std::vector<std::vector<std::string>> open;  // the members met so far of each object that is not closed
    return json::parse(text, [&](int, json::parse_event_t event, json& what) {
        if (event == json::parse_event_t::object_start) open.emplace_back();
        if (event == json::parse_event_t::object_end) open.pop_back();
        if (event == json::parse_event_t::key) {
            auto& met = open.back();
            const std::string key = what.get<std::string>();
            if (std::find(met.begin(), met.end(), key) != met.end()) throw Bad{"'" + legible(key) + "' stands twice in one place"};
            met.push_back(key);
        }
        return true;
    });
}

// A misspelt member would otherwise be passed over in silence.
inline void only(const json& j, std::initializer_list<std::string_view> known) {
    if (!j.is_object()) throw Bad{"an object in braces is expected"};
    for (const auto& [key, value] : j.items())
        if (std::find(known.begin(), known.end(), key) == known.end()) {
            std::string names;
            for (const auto& k : known) names += (names.empty() ? "" : ", ") + std::string(k);
            throw Bad{"'" + legible(key) + "' is not known; there may be " + names};
        }
}

inline const json& list_in(const json& j, const char* key) {
    static const json kNone = json::array();
    if (!j.contains(key)) return kNone;
    if (!j[key].is_array()) throw Bad{std::string("'") + key + "' must be a list"};
    return j[key];
}

// Times are written as people read them: "1:02.25".
inline Nanos time_from(const json& j, const char* key) {
    if (!j.contains(key)) throw Bad{std::string("'") + key + "' is missing"};
    const json& v = j[key];
    if (v.is_number()) {
        const double s = v.get<double>();
        if (!(s >= 0 && s < 1e6)) throw Bad{std::string("'") + key + "' must be a time"};
        return nanos_from_seconds(s);
    }
    if (!v.is_string()) throw Bad{std::string("'") + key + "' must be a time such as \"1:02.25\""};
    auto t = parse_time(v.get<std::string>());
    if (!t) throw Bad{std::string("'") + key + "' must be a time such as \"1:02.25\""};
    return *t;
}

inline std::string text_from(const json& j, const char* key, const std::string& otherwise = "") {
    if (!j.contains(key)) return otherwise;
    if (!j[key].is_string()) throw Bad{std::string("'") + key + "' must be text"};
    return j[key].get<std::string>();
}

inline double number_from(const json& j, const char* key, double otherwise, double low, double high) {
    if (!j.contains(key)) return otherwise;
    if (!j[key].is_number()) throw Bad{std::string("'") + key + "' must be a number"};
    const double v = j[key].get<double>();
    if (!(v >= low && v <= high)) {
        char range[96];
        std::snprintf(range, sizeof range, "' must lie between %g and %g", low, high);
        throw Bad{std::string("'") + key + range};
    }
    return v;
}

inline std::vector<std::string> lines_from(const json& j, const char* key) {
    std::vector<std::string> out;
    if (!j.contains(key)) return out;
    if (!j[key].is_array()) throw Bad{std::string("'") + key + "' must be a list of lines"};
    for (const auto& line : j[key]) {
        if (!line.is_string()) throw Bad{std::string("'") + key + "' must be a list of lines"};
        out.push_back(line.get<std::string>());
    }
    return out;
}

inline bool flag_from(const json& j, const char* key) {
    if (!j.contains(key)) return false;
    if (!j[key].is_boolean()) throw Bad{std::string("'") + key + "' must be true or false"};
    return j[key].get<bool>();
}

template <class T>
T choice_from(const json& j, const char* key, T otherwise, std::initializer_list<std::pair<const char*, T>> names) {
    if (!j.contains(key)) return otherwise;
    const std::string text = text_from(j, key);
    std::string known;
    for (const auto& [name, value] : names) {
        if (text == name) return value;
        known += (known.empty() ? "" : ", ") + std::string(name);
    }
    throw Bad{std::string("'") + key + "' must be one of " + known};
}

}  // namespace canalogue::reading
