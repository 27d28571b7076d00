// What costs long to make and no test changes is made once for all tests of a build. It lies in the build folder, and is
// made anew whenever one of the files it is made by differs.
#pragma once

#include <functional>

#include "tests/support/media_files.hpp"

namespace canalogue::test {

// `make` fills the folder it is given and may end with an exception: then nothing is kept. Returns where it lies; several
// test programs may ask at once, and all but the first wait. Nobody may change what is kept: copy it.
fs::path kept(const std::string& name, const std::vector<fs::path>& made_by, const std::function<void(const fs::path&)>& make);

}  // namespace canalogue::test
