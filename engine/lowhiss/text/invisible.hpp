#pragma once

#include "lowhiss/text/document.hpp"

namespace lowhiss {

/// Reports keys and texts with invisible characters: escapes that could control a terminal, and
/// zero-width characters that make two names look alike. The texts of note, source and summary may
/// have line breaks and tabs.
void reject_invisible(const Node::Table& table, Diagnostics& out);

}  // namespace lowhiss
