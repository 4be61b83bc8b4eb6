#pragma once

#include <optional>

#include "lowhiss/solver/extended.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// The reference path and, if that cannot be trusted, the extended path behind it, so that every
/// matrix that has a solution is solved. The contract is that of the reference path; Singular names
/// the unknown.
class PivotingSolver {
  public:
    /// The pencil must outlive the solver.
    explicit PivotingSolver(const Pencil& pencil) : pencil_(&pencil), reference_(pencil) {}

    void factorise(double frequency_hz);
    std::vector<Complex> solve(std::span<const Complex> b);
    std::vector<Complex> solve_transposed(std::span<const Complex> c);

    /// The paths themselves, at the frequency that was factorised last. The reference path may hold
    /// no factors there.
    ReferenceSolver& reference() { return reference_; }
    ExtendedSolver& extended();
    bool is_extended() const { return is_extended_; }

  private:
    const Pencil* pencil_;
    ReferenceSolver reference_;
    std::optional<ExtendedSolver> extended_;
    double frequency_hz_ = 0;
    bool is_extended_ = false;  ///< the extended path holds the matrix
};

}  // namespace lowhiss
