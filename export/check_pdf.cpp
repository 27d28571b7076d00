// The words of a PDF: they lie packed in it, so that a search of its bytes would not find them.
#include <poppler-document.h>
#include <poppler-global.h>
#include <poppler-page.h>

#include "export/check_parts.hpp"

namespace canalogue::film {

std::optional<std::string> text_of_pdf(const std::filesystem::path& file) {
    poppler::set_debug_error_function([](const std::string&, void*) {}, nullptr);  // may quote what it reads
    const std::unique_ptr<poppler::document> document(poppler::document::load_from_file(file.string()));
    if (!document || document->is_locked()) return {};
    std::string out;
    for (int i = 0; i < document->pages(); ++i) {
        const std::unique_ptr<poppler::page> page(document->create_page(i));
        if (!page) return {};
        const poppler::byte_array words = page->text().to_utf8();
        out.append(words.begin(), words.end());
        out += '\n';
    }
    return out;
}

}  // namespace canalogue::film
