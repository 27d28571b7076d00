#include "app/core/vocabulary.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <set>

#include "app/core/text.hpp"

namespace canalogue {

namespace {

using nlohmann::json;

constexpr std::array<std::pair<Heading, std::string_view>, 9> kHeadings{{
    {Heading::before, "before"},
    {Heading::found, "found"},
    {Heading::done, "done"},
    {Heading::removed, "removed"},
    {Heading::left_alone, "left"},
    {Heading::drum, "drum"},
    {Heading::comfort, "comfort"},
    {Heading::outcome, "outcome"},
    {Heading::other, "other"},
}};

constexpr std::array<std::pair<AttributeType, std::string_view>, 6> kTypes{{
    {AttributeType::choice, "choice"},
    {AttributeType::number, "number"},
    {AttributeType::text, "text"},
    {AttributeType::flag, "flag"},
    {AttributeType::clock, "clock"},
    {AttributeType::depth, "depth"},
}};

constexpr std::array<std::string_view, 10> kShapes{"disc", "square", "diamond", "triangle", "wedge",
                                                   "ring", "bar",    "cross",   "drop",     "flag"};

// Thrown inside this file only; becomes the Failure of parse().
struct Bad {
    std::string where, what;
};

std::string text(const json& j, const char* key, const std::string& where, bool required = true) {
    const auto it = j.find(key);
    if (it == j.end()) {
        if (required) throw Bad{where, std::string("'") + key + "' is missing"};
        return {};
    }
    if (!it->is_string()) throw Bad{where, std::string("'") + key + "' must be text"};
    return it->get<std::string>();
}

template <class Table>
auto named(const Table& table, const std::string& name, const std::string& where, const char* what) {
    for (const auto& [value, n] : table)
        if (n == name) return value;
    throw Bad{where, "there is no " + std::string(what) + " '" + name + "'"};
}

bool flag(const json& j, const char* key) { return j.value(key, false); }

Attribute attribute_from(const json& j, const std::string& where) {
    Attribute a;
    a.id = text(j, "id", where);
    const std::string here = where + ", attribute '" + a.id + "'";
    a.name = text(j, "name", here);
    a.type = named(kTypes, text(j, "type", here), here, "type");
    a.unit = text(j, "unit", here, false);
    if (j.contains("choices")) a.choices = j["choices"].get<std::vector<std::string>>();
    if (a.type == AttributeType::choice && a.choices.empty()) throw Bad{here, "a choice needs 'choices'"};
    return a;
}

Symbol symbol_from(const json& j, const std::string& where) {
    Symbol s{text(j, "shape", where), text(j, "letter", where), text(j, "colour", where)};
    if (std::find(kShapes.begin(), kShapes.end(), s.shape) == kShapes.end())
        throw Bad{where, "there is no shape '" + s.shape + "'"};
    if (s.letter.empty() || s.letter.size() > 2) throw Bad{where, "'letter' must be one or two letters"};
    if (s.colour.size() != 7 || s.colour[0] != '#') throw Bad{where, "'colour' must look like #56b4e9"};
    return s;
}

EventKind kind_from(const json& j) {
    EventKind k;
    k.id = text(j, "id", "a kind");
    const std::string where = "kind '" + k.id + "'";
    k.name = text(j, "name", where);
    k.span = flag(j, "span");
    k.heading = named(kHeadings, text(j, "heading", where), where, "heading");
    k.weight = j.value("weight", 1);
    k.landmark = flag(j, "landmark");
    k.blind = text(j, "blind", where, false);
    k.sighted = text(j, "sighted", where, false);
    k.refers = flag(j, "refers");
    if (!j.contains("symbol")) throw Bad{where, "'symbol' is missing"};
    k.symbol = symbol_from(j["symbol"], where);
    k.key = text(j, "key", where, false);
    k.says = text(j, "says", where, false);
    k.caution = text(j, "caution", where, false);
    if (j.contains("attributes"))
        for (const auto& a : j["attributes"]) k.attributes.push_back(attribute_from(a, where));
    return k;
}

// Distance in single edits, for "did you mean".
std::size_t edits(std::string_view a, std::string_view b) {
    std::vector<std::size_t> row(b.size() + 1);
    for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        std::size_t diagonal = std::exchange(row[0], i);
        for (std::size_t j = 1; j <= b.size(); ++j)
            diagonal = std::exchange(row[j], std::min({row[j] + 1, row[j - 1] + 1, diagonal + (a[i - 1] != b[j - 1])}));
    }
    return row[b.size()];
}

}  // namespace

const Attribute* EventKind::attribute(std::string_view wanted) const {
    for (const auto& a : attributes)
        if (a.id == wanted) return &a;
    return nullptr;
}

Result<Vocabulary> Vocabulary::parse(const std::string& json_text) {
    Vocabulary v;
    try {
        const json j = json::parse(json_text);
        const std::string top = "the vocabulary";
        v.id_ = text(j, "id", top);
        v.name_ = text(j, "name", top);
        v.version_ = text(j, "version", top);
        v.caution_ = text(j, "caution", top, false);
        std::set<std::string> ids, keys;
        for (const auto& k : j.at("kinds")) {
            v.kinds_.push_back(kind_from(k));
            const EventKind& kind = v.kinds_.back();
            if (!ids.insert(kind.id).second) throw Bad{"kind '" + kind.id + "'", "the id is used twice"};
            if (!kind.key.empty() && !keys.insert(kind.key).second)
                throw Bad{"kind '" + kind.id + "'", "the key '" + kind.key + "' is used twice"};
        }
    } catch (const Bad& bad) {
        return wrong_use("The vocabulary cannot be used: in " + bad.where + ", " + bad.what + ".");
    } catch (const json::exception& e) {
        return wrong_use(std::string("The vocabulary cannot be used: ") + e.what() + ".");
    }
    return v;
}

const EventKind* Vocabulary::find(std::string_view id) const {
    for (const auto& k : kinds_)
        if (k.id == id) return &k;
    return nullptr;
}

Result<const EventKind*> Vocabulary::named(std::string_view id) const {
    if (const EventKind* kind = find(id)) return kind;
    const EventKind* nearest = nullptr;
    for (const auto& k : kinds_)
        if (!nearest || edits(k.id, id) < edits(nearest->id, id)) nearest = &k;
    const std::string sorry = "There is no kind of event called '" + legible(id) + "'";
    // What shares hardly a letter was not meant.
    if (!nearest || edits(nearest->id, id) > std::max<std::size_t>(2, id.size() / 3)) return wrong_use(sorry + "; 'canalogue vocab' lists them all.");
    return wrong_use(sorry + "; did you mean '" + nearest->id + "'? 'canalogue vocab' lists them all.");
}

std::string_view name_of(Heading heading) {
    for (const auto& [h, name] : kHeadings)
        if (h == heading) return name;
    return "other";
}

}  // namespace canalogue
