#include "app/desk/browsing.hpp"

#include "app/core/cover.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <sstream>

#include "app/core/event_rules.hpp"

namespace canalogue::desk {

namespace {

std::string lower(std::string text) {
    for (char& c : text)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
    return text;
}

Result<SessionCard> card_of(const Desk& desk, const std::string& id) {
    SessionCard card;
    card.id = id;
    auto session = desk.session(id);
    if (!session) return session.failure();
    card.confirmed = !session->confirmed_by.empty();
    auto recordings = desk.recordings(id);
    if (!recordings) return recordings.failure();
    card.recordings = static_cast<int>(recordings->size());
    for (const auto& r : *recordings) {
        card.length += r.only.length();
        for (const auto& e : r.ears) (e.ear == Ear::right ? card.right : card.left) = true;
    }
    auto suspects = desk.library.all<Suspect>(id);
    if (!suspects) return suspects.failure();
    card.open_suspects = static_cast<int>(std::count_if(suspects->begin(), suspects->end(), [](const Suspect& s) { return s.decision.verdict == Verdict::open; }));
    for (const auto& r : *recordings) card.open_suspects -= static_cast<int>(hidden_by_decided(r, *suspects).size());
    auto events = desk.accepted_events(id);
    if (!events) return events.failure();
    card.events = static_cast<int>(events->size());
    const auto vocabulary = desk.vocabulary(session->vocabulary);
    for (const auto& e : *events) {
        const EventKind* kind = vocabulary ? vocabulary->find(e.kind) : nullptr;
        if (!kind) continue;
        if (std::find(card.kinds.begin(), card.kinds.end(), e.kind) == card.kinds.end()) card.kinds.push_back(e.kind);
        (kind->heading == Heading::outcome ? card.outcomes : card.others)[e.kind] = kind->name;
        const std::string words = std::string(name_of(e.ear)) + " ear: " + described(e, *kind, FreeText::keep);
        if (kind->heading == Heading::outcome) card.words.insert(card.words.begin(), words);
        else card.words.push_back(words);
    }
    auto exports = desk.library.bodies(id, "export");
    if (!exports) return exports.failure();
    for (const auto& e : *exports) {
        std::error_code ec;
        const std::filesystem::path folder = e.value("private", nlohmann::json::object()).value("folder", "");
        if (!e.value("held", false) && std::filesystem::exists(folder / "manifest.json", ec)) card.exports.push_back(folder);
    }
    return card;
}

}  // namespace

Result<std::vector<SessionCard>> session_cards(const Desk& desk) {
    auto ids = desk.library.sessions();
    if (!ids) return ids.failure();
    std::vector<SessionCard> out;
    for (const auto& id : *ids) {
        auto card = card_of(desk, id);
        if (!card) return card.failure();
        out.push_back(std::move(*card));
    }
    return out;
}

bool answers(const SessionCard& card, const Search& search) {
    if (!search.kind.empty() && std::find(card.kinds.begin(), card.kinds.end(), search.kind) == card.kinds.end()) return false;
    if (search.ear && !(*search.ear == Ear::right ? card.right : card.left)) return false;
    std::string all = lower(card.id);
    for (const auto& w : card.words) all += "\n" + lower(w);
    std::istringstream words(lower(search.text));
    for (std::string word; words >> word;)
        if (all.find(word) == std::string::npos) return false;
    return true;
}

}  // namespace canalogue::desk
