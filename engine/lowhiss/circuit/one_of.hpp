#pragma once

#include <concepts>

namespace lowhiss {

/// Lets one overload of a visitor cover several kinds that it names. A kind that no overload names
/// does not compile, so that none is left out by oversight.
template <class Kind, class... Kinds>
concept OneOf = (std::same_as<Kind, Kinds> || ...);

}  // namespace lowhiss
