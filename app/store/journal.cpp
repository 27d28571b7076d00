#include "app/store/journal.hpp"

#include "app/store/sealing.hpp"

namespace canalogue::store {

std::string chain_hash(const ChainedRow& row) {
    std::string all = row.previous + std::to_string(row.number) + ':' + std::to_string(row.sort) + ':' + std::to_string(row.target);
    for (const std::string* field : {&row.at, &row.by, &row.verb, &row.session, &row.payload})
        all += ':' + std::to_string(field->size()) + ':' + *field;
    return sha256(all);
}

Reach reach(const std::vector<Step>& steps) {
    std::vector<std::int64_t> done, undone;
    for (const auto& s : steps) {
        switch (s.sort) {
            case Step::Sort::act:
                done.push_back(s.number);
                undone.clear();
                break;
            case Step::Sort::undo:
                if (!done.empty()) done.pop_back();
                undone.push_back(s.target);
                break;
            case Step::Sort::redo:
                if (!undone.empty()) undone.pop_back();
                done.push_back(s.target);
                break;
            case Step::Sort::fixed: break;
        }
    }
    Reach r;
    if (!done.empty()) r.undo = done.back();
    if (!undone.empty()) r.redo = undone.back();
    return r;
}

}  // namespace canalogue::store
