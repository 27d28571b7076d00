// The kinds of event a trade uses, read from a plugin's vocabulary.json (schema:
// docs/vocabulary.schema.json). Immutable once read.
#pragma once

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "app/core/ear.hpp"
#include "app/core/result.hpp"

namespace canalogue {

enum class AttributeType { choice, number, text, flag, clock, depth };

struct Attribute {
    std::string id, name;
    AttributeType type = AttributeType::text;
    std::vector<std::string> choices;  // of a choice
    std::string unit;                  // of a number
};

// How a mark looks in the strip and on the time map: never by colour alone.
struct Symbol {
    std::string shape;   // disc, square, diamond, triangle, wedge, ring, bar, cross, drop, flag
    std::string letter;  // one or two characters
    std::string colour;  // #rrggbb, of the Okabe-Ito set
};

// Under which heading of the session record an event stands.
enum class Heading { before, found, done, removed, left_alone, drum, comfort, outcome, other };

struct EventKind {
    std::string id, name;
    bool span = false;        // has a length; else an instant
    Heading heading = Heading::other;
    int weight = 1;           // how much a drafted clip wants it: 0 never .. 5 always
    bool landmark = false;    // a drafted clip holds the picture here
    std::string blind;        // from here on nothing can be seen for this cause ("lens", "ear") ...
    std::string sighted;      // ... until an event that ends the same cause
    bool refers = false;      // a referral or follow-up
    Symbol symbol;
    std::string key;          // the keyboard key that places it
    std::vector<Attribute> attributes;
    std::string says;         // a narration line, see filled_in()
    std::string caution;

    const Attribute* attribute(std::string_view id) const;
};

class Vocabulary {
  public:
    // Refuses, naming the place, what does not follow the schema.
    static Result<Vocabulary> parse(const std::string& json_text);

    const std::string& id() const { return id_; }
    const std::string& name() const { return name_; }
    const std::string& version() const { return version_; }
    const std::string& caution() const { return caution_; }
    const std::vector<EventKind>& kinds() const { return kinds_; }
    const EventKind* find(std::string_view id) const;
    // Also offers the nearest id when there is none.
    Result<const EventKind*> named(std::string_view id) const;

  private:
    std::string id_, name_, version_, caution_;
    std::vector<EventKind> kinds_;
};

std::string_view name_of(Heading heading);

}  // namespace canalogue
