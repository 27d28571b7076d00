#include "app/desk/making_up.hpp"

#include <fstream>

#include "app/core/text.hpp"
#include "export/folder.hpp"

namespace canalogue::desk {

Result<std::filesystem::path> keep_make_up(const Plan& plan, const std::filesystem::path& file) { return film::replace_text(file, make_up_to_json(make_up_of(plan))); }

Result<Plan> made_up(Plan plan, const std::filesystem::path& file) {
    std::error_code ec;
    std::ifstream in(file, std::ios::binary);
    if (!in || !std::filesystem::is_regular_file(file, ec)) return wrong_use("The make-up '" + legible(file.string()) + "' cannot be read: check the file's name, or keep a film's make-up there first (at the Clip desk, or 'canalogue plan SESSION --keep-make-up FILE').");
    auto read = make_up_from_json({(std::istreambuf_iterator<char>(in)), {}});
    if (!read) return read.failure();
    apply(*read, plan);
    return plan;
}

}  // namespace canalogue::desk
