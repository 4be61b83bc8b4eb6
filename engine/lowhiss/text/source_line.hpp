#pragma once

#include <cstddef>
#include <memory>
#include <string_view>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// The text without a byte order mark.
std::string_view content_of(const Source& source);

/// A line, counted from 1, without its end; empty beyond the last.
std::string_view line_of(const Source& source, int line);

/// The byte offset of a column, counted from 1 in code points, in its line.
std::size_t offset_of(std::string_view line, int column);

/// The position of `here`, a part of the source's text.
Position position_of(const std::shared_ptr<const Source>& source, std::string_view here);

}  // namespace lowhiss
