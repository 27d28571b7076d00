// Text and values as parts of a page.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace canalogue::film {

// For a place between tags or in an attribute's double quotes.
std::string html_safe(std::string_view text);

// JSON for a <script> that holds data: no '<' in it can end the script.
std::string json_in_page(std::string json);

// The style and the script of the pages (export/page/), whole.
std::string_view page_style();
std::string_view page_script();

// A Content-Security-Policy that lets a page show pictures and films beside it, and run and look as these two say:
// nothing else, and nothing from elsewhere. An empty script: none may run.
std::string page_policy(std::string_view style, std::string_view script);

// What a page is made of, without our own style and script: what the check has to read.
std::string without_own_parts(std::string page);

}  // namespace canalogue::film
