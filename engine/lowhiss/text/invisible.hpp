#pragma once

#include "lowhiss/text/document.hpp"

namespace lowhiss {

/// Reports keys and texts with characters that show nothing: escapes that could drive a terminal,
/// zero-width letters that make two names of one. The texts of note, source and summary may have
/// lines and tabs.
void reject_invisible(const Node::Table& table, Diagnostics& out);

}  // namespace lowhiss
