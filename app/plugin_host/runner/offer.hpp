// What a plugin offers, behind one face: the runner serves a spotter and a gauge alike. Calls go
// straight to the plugin's functions; one that is not there gives nullopt.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <type_traits>

#include "plugins/sdk/canalogue_plugin.h"

namespace canalogue::runner {

using Answer = std::optional<int>;  // what the plugin returned; nullopt: it does not do that

class Offer {
  public:
    virtual ~Offer() = default;
    // False: it could not get ready.
    virtual bool create(const canalogue_host& host) = 0;
    virtual Answer begin_recording(const canalogue_facts& facts) = 0;
    virtual Answer span_begin(std::int64_t start_ns, std::int64_t end_ns) = 0;
    virtual Answer frame(const canalogue_frame& f) = 0;
    virtual Answer sound(const canalogue_sound& s) = 0;
    virtual Answer fields(const canalogue_field* fields, std::uint32_t count) = 0;
    virtual Answer span_end() = 0;
    virtual std::uint32_t wants() const = 0;
    virtual double samples_per_second() const = 0;
    virtual std::int32_t longest_side() const = 0;
    // Null for a spotter.
    virtual const canalogue_gauge* gauge() const = 0;
};

// Table: canalogue_spotter or canalogue_gauge, already copied and checked. Never destroyed by the
// plugin's own function: the helper ends by _exit, while a plugin's threads may still run.
template <class Table>
class OfferOf final : public Offer {
  public:
    explicit OfferOf(const Table& table) : t_(table) {}

    bool create(const canalogue_host& host) override { return (state_ = t_.create(&host)) != nullptr; }
    Answer begin_recording(const canalogue_facts& facts) override { return call(t_.begin_recording, &facts); }
    Answer span_begin(std::int64_t start_ns, std::int64_t end_ns) override {
        return call(t_.span_begin, start_ns, end_ns);
    }
    Answer frame(const canalogue_frame& f) override { return call(t_.frame, &f); }
    Answer span_end() override { return call(t_.span_end); }
    Answer sound(const canalogue_sound& s) override { return call(t_.sound, &s); }
    Answer fields(const canalogue_field* fields, std::uint32_t count) override {
        if constexpr (!kGauge) return call(t_.fields, fields, count);
        return std::nullopt;
    }
    std::uint32_t wants() const override { return t_.wants; }
    double samples_per_second() const override { return t_.samples_per_second; }
    std::int32_t longest_side() const override { return t_.longest_side; }
    const canalogue_gauge* gauge() const override {
        if constexpr (kGauge) return &t_;
        return nullptr;
    }

  private:
    static constexpr bool kGauge = std::is_same_v<Table, canalogue_gauge>;

    template <class Function, class... Arguments>
    Answer call(Function function, Arguments... arguments) {
        if (!function) return std::nullopt;
        return function(state_, arguments...);
    }

    Table t_;
    decltype(t_.create(nullptr)) state_ = nullptr;
};

}  // namespace canalogue::runner
