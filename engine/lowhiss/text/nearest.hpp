#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lowhiss {

/// The candidate that a slip of the keyboard turns into `name`: at most a third of its letters
/// inserted, left out, changed or swapped, case and look-alikes of other alphabets aside. Of
/// equally near ones the first, those of the same length before others; where none is near, one
/// that `name` is the beginning of or that begins it.
std::optional<std::string> nearest(std::string_view name, std::span<const std::string> candidates);

/// "did you mean 'tolerance'?", or nothing.
std::string did_you_mean(std::string_view name, std::span<const std::string> candidates);

/// "a, b, c"; of more than forty, "a, b, ... and 7 more".
std::string listed(std::span<const std::string> names);

}  // namespace lowhiss
