#pragma once

#include <string_view>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// The TOML parser's complaint in the words of someone who writes boards, at the place to mend.
/// What it says in other words than it does today is passed on as it is.
Diagnostic explain_syntax(std::string_view complaint, Position at);

}  // namespace lowhiss
