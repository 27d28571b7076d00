// Turns what SQLite and stored JSON throw into a Failure; every public function of the library goes
// through here. Internal to app/store.
#pragma once

#include <nlohmann/json.hpp>

#include "app/store/database.hpp"
#include "app/store/library.hpp"

namespace canalogue::store {

template <class Work>
auto guarded(Work work) -> decltype(work()) {
    try {
        return work();
    } catch (const DatabaseTrouble& t) {
        return t.failure();
    } catch (const json::type_error& e) {
        constexpr int kNotUtf8 = 316;  // nlohmann-json: invalid UTF-8 while writing
        if (e.id == kNotUtf8) return wrong_use("What was given holds bytes that are no readable text: write it in UTF-8. Nothing was stored.");
        return unreadable_entry();
    } catch (const json::exception&) {
        return unreadable_entry();
    }
}

}  // namespace canalogue::store
