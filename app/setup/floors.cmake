# Floors: a target for each folder, linking downwards only. A floor that names another floor of the
# same height or above stops the configuration, so the layering is a fact of the build.

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_POSITION_INDEPENDENT_CODE ON)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)
set(CMAKE_RUNTIME_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR}/bin)
# Functions and lines for a crash's trace; all of a debugger's facts cost a quarter of the build.
set(CMAKE_CXX_FLAGS_RELWITHDEBINFO "-O2 -g1 -DNDEBUG")

find_program(CCACHE ccache)
if(CCACHE)
  set(CMAKE_C_COMPILER_LAUNCHER ${CMAKE_COMMAND} -E env CCACHE_SLOPPINESS=pch_defines,time_macros CCACHE_BASEDIR=${CMAKE_SOURCE_DIR} CCACHE_NOHASHDIR=1 ${CCACHE})
  set(CMAKE_CXX_COMPILER_LAUNCHER ${CMAKE_C_COMPILER_LAUNCHER})
endif()

find_package(PkgConfig REQUIRED)
find_package(Threads REQUIRED)

add_library(canalogue_warnings INTERFACE)
target_compile_options(canalogue_warnings INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wno-sign-conversion -Werror
  # GCC 12 reports these inside the standard library's own headers when it optimises.
  $<$<COMPILE_LANGUAGE:CXX>:-Wno-maybe-uninitialized -Wno-restrict -Wno-stringop-overflow -Wno-array-bounds>)
target_include_directories(canalogue_warnings INTERFACE ${CMAKE_SOURCE_DIR})
# Some libraries ask for it: with it everywhere one set of precompiled headers fits all.
target_compile_options(canalogue_warnings INTERFACE -pthread)
if(CANALOGUE_SANITIZE)
  target_compile_options(canalogue_warnings INTERFACE -fsanitize=${CANALOGUE_SANITIZE} -fno-omit-frame-pointer)
  target_link_options(canalogue_warnings INTERFACE -fsanitize=${CANALOGUE_SANITIZE})
endif()

# Turns pkg-config modules into one imported target: canalogue_pkg(libav libavformat libavcodec)
function(canalogue_pkg name)
  if(NOT TARGET PkgConfig::${name})
    pkg_check_modules(${name} REQUIRED IMPORTED_TARGET GLOBAL ${ARGN})
  endif()
endfunction()

# canalogue_floor(NAME core LEVEL 1 SOURCES a.cpp USES sdk LINKS PkgConfig::libav)
function(canalogue_floor)
  cmake_parse_arguments(F "OWN_FLAGS" "NAME;LEVEL" "SOURCES;USES;LINKS" ${ARGN})
  set(target canalogue_${F_NAME})
  add_library(${target} STATIC ${F_SOURCES})
  set_property(TARGET ${target} PROPERTY CANALOGUE_LEVEL ${F_LEVEL})
  foreach(below IN LISTS F_USES)
    get_property(level TARGET canalogue_${below} PROPERTY CANALOGUE_LEVEL)
    if(NOT level LESS F_LEVEL)
      message(FATAL_ERROR "Floor '${F_NAME}' (${F_LEVEL}) may not use '${below}' (${level}): links go downwards only.")
    endif()
    target_link_libraries(${target} PUBLIC canalogue_${below})
  endforeach()
  target_link_libraries(${target} PUBLIC ${F_LINKS} PRIVATE canalogue_warnings)
  target_include_directories(${target} PUBLIC ${CMAKE_SOURCE_DIR})
  if(F_OWN_FLAGS)
    canalogue_precompile_itself(${target})
  else()
    canalogue_precompile(${target})
  endif()
endfunction()

# The heavy headers, made ready once for all floors; a target with flags of its own makes them ready for itself.
set(CANALOGUE_HEAVY_HEADERS <algorithm> <array> <chrono> <cstdint> <filesystem> <functional> <map> <memory> <optional>
  <span> <string> <string_view> <variant> <vector> <nlohmann/json.hpp>)
file(CONFIGURE OUTPUT ${CMAKE_BINARY_DIR}/heavy_headers.cpp CONTENT "// Its precompiled headers are what other targets use.\n")
add_library(canalogue_heavy_headers STATIC ${CMAKE_BINARY_DIR}/heavy_headers.cpp)
target_link_libraries(canalogue_heavy_headers PRIVATE canalogue_warnings)
target_precompile_headers(canalogue_heavy_headers PRIVATE ${CANALOGUE_HEAVY_HEADERS})

function(canalogue_precompile target)
  target_precompile_headers(${target} REUSE_FROM canalogue_heavy_headers)
endfunction()

function(canalogue_precompile_itself target)
  target_precompile_headers(${target} PRIVATE ${CANALOGUE_HEAVY_HEADERS})
endfunction()

# What only passes words on is not worth the compiler's time for the second level of speed.
add_library(canalogue_quick_to_build INTERFACE)
target_compile_options(canalogue_quick_to_build INTERFACE $<$<CONFIG:RelWithDebInfo>:-O1>)
