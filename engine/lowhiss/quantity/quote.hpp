#pragma once

#include <string>
#include <string_view>

namespace lowhiss {

/// `text` between single quotes, safe for any terminal or log.
///
/// Accepts any bytes. Invisible characters (controls, invalid UTF-8, and the spaces, formatting and
/// look-alike characters of U+2000 to U+206F) are shown as \xNN; text beyond 40 columns is replaced
/// by an ellipsis.
std::string quote(std::string_view text);

}  // namespace lowhiss
