#pragma once

#include <concepts>

namespace lowhiss {

/// A visitor made of one function a kind, without a catch-all: a new kind of a variant does not
/// compile until every visitor has said what it does with it.
template <class... Functions>
struct Overloads : Functions... {
    using Functions::operator()...;
};

/// Constrains a visitor's function to some kinds by name.
template <class Kind, class... Kinds>
concept OneOf = (std::same_as<Kind, Kinds> || ...);

}  // namespace lowhiss
