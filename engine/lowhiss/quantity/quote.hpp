#pragma once

#include <string>
#include <string_view>

namespace lowhiss {

/// `text` between single quotes, safe for any terminal or log.
///
/// Accepts any bytes. What is not visible (control characters, invalid UTF-8, formatting and
/// look-alike characters of U+2000 to U+206F) appears as \xNN; more than 40 columns are cut with an
/// ellipsis.
std::string quote(std::string_view text);

}  // namespace lowhiss
