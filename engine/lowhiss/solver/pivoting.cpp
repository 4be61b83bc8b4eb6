#include "lowhiss/solver/pivoting.hpp"

namespace lowhiss {

void PivotingSolver::factorise(double frequency_hz) {
    frequency_hz_ = frequency_hz;
    is_extended_ = false;
    try {
        reference_.factorise(frequency_hz);
    } catch (const Singular&) {
        extended();
    }
}

std::vector<Complex> PivotingSolver::solve(std::span<const Complex> b) {
    if (is_extended_) return extended().solve(b);
    try {
        return reference_.solve(b);
    } catch (const Singular&) {
        return extended().solve(b);
    }
}

std::vector<Complex> PivotingSolver::solve_transposed(std::span<const Complex> c) {
    if (is_extended_) return extended().solve_transposed(c);
    try {
        return reference_.solve_transposed(c);
    } catch (const Singular&) {
        return extended().solve_transposed(c);
    }
}

ExtendedSolver& PivotingSolver::extended() {
    if (!extended_) extended_.emplace(*pencil_);
    if (!is_extended_) extended_->factorise(frequency_hz_);
    is_extended_ = true;
    return *extended_;
}

}  // namespace lowhiss
