#pragma once

#include <string_view>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// Rewords the TOML parser's complaint for users, at the place to correct. A complaint that is not
/// known here is passed on unchanged.
Diagnostic explain_syntax(std::string_view complaint, Position at);

}  // namespace lowhiss
