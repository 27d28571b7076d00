// What a session's items must be according to its journal. Internal to app/store.
#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "app/store/journal.hpp"

namespace canalogue::store {

class Replay {
  public:
    // Rows of one session in order; `changes`: the row's opened payload.
    void add(const Step& step, const nlohmann::json& changes);
    // An item as it lies in the table, opened; null when it cannot be read.
    void found(const std::string& kind, const std::string& id, const nlohmann::json& body);
    // What differs, is missing or is there without a row: "suspect x3".
    std::vector<std::string> astray() const;

  private:
    using Key = std::pair<std::string, std::string>;
    void apply(const nlohmann::json& changes, bool back);

    std::map<std::int64_t, nlohmann::json> acts_;
    std::map<Key, nlohmann::json> expected_;
    std::map<Key, nlohmann::json> there_;
};

}  // namespace canalogue::store
