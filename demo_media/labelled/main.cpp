// canalogue-labelled: makes labelled sessions to measure spotters against.
//     canalogue-labelled --seed N [--seconds 20] [--apart] [--drawn-only] --out DIR
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>

#include "demo_media/labelled/labelled.hpp"

int main(int argc, char** argv) {
    canalogue::demo::labelled::Wish wish;
    std::string out;
    for (int i = 1; i < argc; ++i) {
        const auto is = [&](const char* name) { return std::strcmp(argv[i], name) == 0 && i + 1 < argc; };
        if (is("--seed")) wish.seed = std::strtoull(argv[++i], nullptr, 10);
        else if (is("--seconds")) wish.seconds = std::atof(argv[++i]);
        else if (is("--out")) out = argv[++i];
        else if (std::strcmp(argv[i], "--apart") == 0) wish.apart = true;
        else if (std::strcmp(argv[i], "--drawn-only") == 0) wish.photographs = false;
    }
    if (out.empty() || wish.seconds < 3) {
        std::fputs("canalogue-labelled --seed N [--seconds 20, at least 3] [--apart] [--drawn-only] --out DIR\n", stderr);
        return 2;
    }
    const auto made = canalogue::demo::labelled::make_labelled(out, wish, {});
    if (!made) {
        std::fprintf(stderr, "canalogue-labelled: %s\n", made.failure().sentence.c_str());
        return 5;
    }
    std::puts(made->recording.c_str());
}
