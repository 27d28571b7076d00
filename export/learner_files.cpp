#include "export/learner_files.hpp"

#include "export/folder.hpp"
#include "export/handout.hpp"
#include "export/publishing.hpp"

namespace canalogue::film {

Result<void> write_learner_files(const std::filesystem::path& folder, const CasePage& page, const Plan& plan, Audience audience) {
    if (auto ok = write_text(folder / kCasePageFile, case_page_html(page)); !ok) return ok;
    if (auto ok = write_handout(folder, page); !ok) return ok;
    if (may_identify(audience)) return {};
    return write_publishing(folder, page, assess(plan));
}

}  // namespace canalogue::film
