// The journal's rows and their chain; the stack of what can be undone. Internal to app/store.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace canalogue::store {

struct ChainedRow {
    std::int64_t number = 0;
    std::string at, by, verb, session, payload;  // payload: sealed
    std::int64_t sort = 0, target = 0;           // see Step
    std::string previous, hash;                  // 32 raw bytes each
};

// SHA-256 over the previous hash and every field, each with its length in front.
std::string chain_hash(const ChainedRow& row);

// One row as the undo stack sees it.
struct Step {
    std::int64_t number = 0;
    enum class Sort { act, undo, redo, fixed } sort = Sort::act;
    std::int64_t target = 0;  // of undo and redo
};
// Which row undo, and redo, would act on next.
struct Reach {
    std::optional<std::int64_t> undo, redo;
};
Reach reach(const std::vector<Step>& steps);

}  // namespace canalogue::store
