#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lowhiss {

/// The candidate that was probably meant by `name`: at most a third of its letters are inserted,
/// omitted, changed or swapped, not counting case and look-alikes of other alphabets. If several
/// are equally near, it is the first, preferably of the same length. If none is near, it is one
/// that is a prefix of `name` or the other way round.
std::optional<std::string> nearest(std::string_view name, std::span<const std::string> candidates);

/// "did you mean 'tolerance'?", or nothing.
std::string did_you_mean(std::string_view name, std::span<const std::string> candidates);

/// "a, b, c"; "a, b, ... and 7 more" for more than forty.
std::string listed(std::span<const std::string> names);

}  // namespace lowhiss
