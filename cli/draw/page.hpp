#pragma once

#include <string_view>

namespace lowhiss::cli {

// Style and script of a page, embedded at build time: our own from page/, and those of dygraphs,
// which draws the curves.
std::string_view page_css();
std::string_view page_js();
std::string_view page_library_css();
std::string_view page_library_js();

}  // namespace lowhiss::cli
