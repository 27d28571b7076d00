#include "app/store/replay.hpp"

namespace canalogue::store {

void Replay::apply(const nlohmann::json& changes, bool back) {
    const auto set = [&](const nlohmann::json& change) {
        const Key key{change.value("kind", ""), change.value("id", "")};
        const nlohmann::json& state = change.at(back ? "before" : "after");
        if (state.is_null()) expected_.erase(key);
        else expected_[key] = state;
    };
    if (back)
        for (auto it = changes.rbegin(); it != changes.rend(); ++it) set(*it);
    else
        for (const auto& change : changes) set(change);
}

void Replay::add(const Step& step, const nlohmann::json& changes) {
    switch (step.sort) {
        case Step::Sort::act:
            acts_[step.number] = changes;
            [[fallthrough]];
        case Step::Sort::fixed: return apply(changes, false);
        case Step::Sort::undo:
        case Step::Sort::redo:
            if (const auto act = acts_.find(step.target); act != acts_.end()) apply(act->second, step.sort == Step::Sort::undo);
    }
}

void Replay::found(const std::string& kind, const std::string& id, const nlohmann::json& body) { there_[{kind, id}] = body; }

std::vector<std::string> Replay::astray() const {
    std::vector<std::string> out;
    for (const auto& [key, body] : expected_) {
        const auto it = there_.find(key);
        if (it == there_.end() || it->second != body) out.push_back(key.first + " " + key.second);
    }
    for (const auto& [key, body] : there_)
        if (!expected_.count(key)) out.push_back(key.first + " " + key.second);
    return out;
}

}  // namespace canalogue::store
