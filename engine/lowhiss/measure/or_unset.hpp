#pragma once

#include <cmath>

#include "lowhiss/board/part.hpp"
#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// The figure, or unset if it is not finite.
inline double or_unset(double figure) {
    return std::isfinite(figure) ? figure : unset;
}

/// The figure that a search finds; unset where it meets a frequency at which the circuit has no
/// solution: only this figure needed it.
template <class Search>
double found_or_unset(Search search) {
    try {
        return search();
    } catch (const Error& error) {
        if (error.kind() != Error::Kind::no_unique_solution) throw;
        return unset;
    }
}

}  // namespace lowhiss
