#pragma once

#include <memory>
#include <optional>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// The first fault of a text apart from its grammar: bytes that are not UTF-8, control characters,
/// unclosed quotes, marks of a merge conflict, non-ASCII characters outside quotes, or nesting more
/// than 32 deep. A text
/// without these is safe for a recursive parser. Linear in the length of the text.
std::optional<Diagnostic> fault_of_text(const std::shared_ptr<const Source>& source);

}  // namespace lowhiss
