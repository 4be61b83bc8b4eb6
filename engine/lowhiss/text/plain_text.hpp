#pragma once

#include <memory>
#include <optional>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// The first thing about a text that is wrong whatever its grammar: bytes that are not UTF-8,
/// control characters, quotes that do not close, letters beyond ASCII outside quotes, and tables in
/// tables more than 32 deep. A text without these is safe for a parser that calls itself once a
/// level. Linear in the text.
std::optional<Diagnostic> fault_of_text(const std::shared_ptr<const Source>& source);

}  // namespace lowhiss
