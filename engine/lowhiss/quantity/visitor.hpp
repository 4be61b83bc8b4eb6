#pragma once

#include <concepts>

namespace lowhiss {

// A visitor of a variant names every kind it covers and has no catch-all, so that the program does
// not compile after a new kind is added until each visitor handles it.

/// A visitor made of functions, each for one kind or for several by `OneOf`.
template <class... Functions>
struct Overloads : Functions... {
    using Functions::operator()...;
};
template <class... Functions>
Overloads(Functions...) -> Overloads<Functions...>;  // clang before 17 does not deduce it

/// Lets one function of a visitor cover several kinds.
template <class Kind, class... Kinds>
concept OneOf = (std::same_as<Kind, Kinds> || ...);

}  // namespace lowhiss
