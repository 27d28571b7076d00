// How the choices of a plan are written in its JSON: one table for reading and writing.
#pragma once

#include <initializer_list>
#include <utility>

#include "app/core/plan.hpp"

namespace canalogue {

inline constexpr int kPlanVersion = 1;

inline const std::initializer_list<std::pair<const char*, CaptionStyle>> kCaptions{{"beside", CaptionStyle::beside}, {"burnt", CaptionStyle::burnt}};
inline const std::initializer_list<std::pair<const char*, StripStyle>> kStrips{{"below", StripStyle::below}, {"over", StripStyle::over}, {"off", StripStyle::off}};
inline const std::initializer_list<std::pair<const char*, CoverLook>> kLooks{{"soft", CoverLook::soft}, {"plain", CoverLook::plain}};
inline const std::initializer_list<std::pair<const char*, Card::Role>> kRoles{{"title", Card::Role::title}, {"note", Card::Role::note}, {"warning", Card::Role::warning}, {"end", Card::Role::end}};

inline const std::initializer_list<std::pair<const char*, FilmTarget>> kTargets{{"web", FilmTarget::web}, {"master", FilmTarget::master}, {"message", FilmTarget::message}};
inline const std::initializer_list<std::pair<const char*, FilmFormat>> kFormats{{"mp4", FilmFormat::mp4}, {"webm", FilmFormat::webm}};
inline const std::initializer_list<std::pair<const char*, PointerShape>> kPointerShapes{{"arrow", PointerShape::arrow}, {"ring", PointerShape::ring}, {"outline", PointerShape::outline}, {"words", PointerShape::words}};

inline std::string written(Size size) { return std::to_string(size.w) + "x" + std::to_string(size.h); }

template <class T>
const char* written(T value, std::initializer_list<std::pair<const char*, T>> names) {
    for (const auto& [name, v] : names)
        if (v == value) return name;
    return "";
}

}  // namespace canalogue
