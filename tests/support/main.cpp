#define CATCH_CONFIG_MAIN
#include <catch2/catch.hpp>

// Fontconfig keeps its tables to the end of the process; the leak sanitizer calls that a leak.
extern "C" const char* __lsan_default_suppressions() { return "leak:libfontconfig"; }
