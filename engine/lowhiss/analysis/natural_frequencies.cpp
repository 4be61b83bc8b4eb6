#include "lowhiss/analysis/natural_frequencies.hpp"

#include <numbers>

#include "lowhiss/solver/dense.hpp"

namespace lowhiss {

std::vector<Complex> natural_frequencies(const Pencil& pencil, const Plan& plan) {
    constexpr std::size_t most_unknowns = 200;
    constexpr double s0 = 2 * std::numbers::pi * 1000;
    if (!plan.program || !fits(plan, pencil)) return {};
    const std::size_t left = plan.program->each.pivot.size();
    if (left == 0 || left > most_unknowns) return {};
    const auto n = static_cast<Eigen::Index>(left);
    Eigen::MatrixXd shifted = Eigen::MatrixXd::Zero(n, n);
    Eigen::MatrixXd c = shifted;
    for (const auto& entry : remaining_entries(plan, pencil)) {
        c(entry.row, entry.column) = entry.c;
        shifted(entry.row, entry.column) = entry.g + s0 * entry.c;
    }
    const Eigen::MatrixXd m = dense::solve(shifted, c);
    if (!m.allFinite()) return {};
    const Eigen::VectorXcd mu = dense::eigenvalues(m);
    std::vector<Complex> poles;
    for (const Complex& eigenvalue : mu) {
        if (std::abs(eigenvalue) * s0 > 1e-9) poles.push_back(s0 - 1.0 / eigenvalue);
    }
    return poles;
}

}  // namespace lowhiss
