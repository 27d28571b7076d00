// A value, or one plain sentence about why there is none. Every fallible function of the program
// returns a Result; exceptions (of libraries) are caught on the floor that uses the library.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <variant>

namespace canalogue {

// What kind of trouble it was. The numbers are the command line's exit codes.
enum class Trouble {
    wrong_use = 2,  // the person or program asked for something that cannot be
    bad_media = 3,  // a file cannot be used
    refused = 4,    // a promise of the program forbids it (failed check, sign-off with open suspects)
    machine = 5,    // disk full, no permission, a missing part of the system
    cancelled = 6,  // the person stopped it; nothing is left behind
};

struct Failure {
    Trouble trouble = Trouble::machine;
    std::string sentence;  // what, where, what to do; ends with a full stop; never holds an identifier
};

template <class T>
class [[nodiscard]] Result {
  public:
    Result(T value) : state_(std::move(value)) {}
    Result(Failure failure) : state_(std::move(failure)) {}

    bool ok() const { return std::holds_alternative<T>(state_); }
    explicit operator bool() const { return ok(); }

    // Only after ok().
    T& value() & { return std::get<T>(state_); }
    const T& value() const& { return std::get<T>(state_); }
    T&& value() && { return std::get<T>(std::move(state_)); }
    T* operator->() { return &std::get<T>(state_); }
    const T* operator->() const { return &std::get<T>(state_); }
    T& operator*() & { return std::get<T>(state_); }
    const T& operator*() const& { return std::get<T>(state_); }
    T&& operator*() && { return std::get<T>(std::move(state_)); }

    // Only when not ok().
    const Failure& failure() const { return std::get<Failure>(state_); }

  private:
    std::variant<T, Failure> state_;
};

template <>
class [[nodiscard]] Result<void> {
  public:
    Result() = default;
    Result(Failure failure) : failure_(std::move(failure)) {}
    bool ok() const { return !failure_; }
    explicit operator bool() const { return ok(); }
    const Failure& failure() const { return *failure_; }

  private:
    std::optional<Failure> failure_;
};

inline Failure wrong_use(std::string sentence) { return {Trouble::wrong_use, std::move(sentence)}; }
inline Failure bad_media(std::string sentence) { return {Trouble::bad_media, std::move(sentence)}; }
inline Failure refused(std::string sentence) { return {Trouble::refused, std::move(sentence)}; }
inline Failure machine_trouble(std::string sentence) { return {Trouble::machine, std::move(sentence)}; }
inline Failure cancelled() { return {Trouble::cancelled, "Stopped as asked; nothing was left behind."}; }

}  // namespace canalogue
