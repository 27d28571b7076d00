// How much of what a good film of a procedure shows is in a plan: nine items of none, one or two marks, eighteen in
// all. The items are those of the LAP-VEGaS video assessment tool, worded anew, from memory; how a plan earns their
// marks is this program's own. A person who watches the film may mark it otherwise.
#pragma once

#include <string>
#include <vector>

#include "app/core/plan.hpp"

namespace canalogue {

inline constexpr int kMostMarksOfItem = 2;

struct AssessedItem {
    std::string name;                  // "The outcome"
    std::vector<std::string> missing;  // what would earn the marks it lacks, one sentence part each
    int marks = kMostMarksOfItem;      // 0 .. 2
};

struct Assessment {
    std::vector<AssessedItem> items;  // nine, in the tool's order
    int marks() const;
    int most() const { return static_cast<int>(items.size()) * kMostMarksOfItem; }
};

Assessment assess(const Plan& plan);

// "12 of 18", then a line for each item with its marks and what is missing.
std::string assessment_text(const Assessment& assessment);

}  // namespace canalogue
