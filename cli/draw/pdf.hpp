#pragma once

#include <string>

namespace lowhiss::cli {

/// Blanks the date of creation, so that one board gives the same bytes every time. Nothing moves,
/// as a PDF knows its objects by their offsets.
std::string without_date(std::string pdf);

}  // namespace lowhiss::cli
