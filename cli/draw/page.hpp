#pragma once

#include <string_view>

namespace lowhiss::cli {

// What a page carries with it, embedded when this command was built: the style and script in page/,
// and those of dygraphs, which draws the curves.
std::string_view page_css();
std::string_view page_js();
std::string_view page_library_css();
std::string_view page_library_js();

}  // namespace lowhiss::cli
