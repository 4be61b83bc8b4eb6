#pragma once

#include <cstddef>

namespace lowhiss {

/// The work that a solver has done so far.
struct SolverAccount {
    std::size_t factorisations = 0;
    std::size_t solutions = 0;
    std::size_t fallbacks = 0;        ///< frequencies that the reference path had to do
    std::size_t extended = 0;         ///< of these, those that needed extended precision
    double worst_backward_error = 0;  ///< an upper bound; not resolved below good_backward_error

    void add(const SolverAccount& other);
};

}  // namespace lowhiss
