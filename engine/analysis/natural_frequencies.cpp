#include "lowhiss/analysis/natural_frequencies.hpp"

#include <Eigen/Dense>
#include <numbers>

namespace lowhiss {

std::vector<Complex> natural_frequencies(const Pencil& pencil) {
    constexpr int most_unknowns = 200;
    constexpr double s0 = 2 * std::numbers::pi * 1000;
    if (pencil.size > most_unknowns) return {};
    Eigen::MatrixXd shifted = Eigen::MatrixXd::Zero(pencil.size, pencil.size);
    Eigen::MatrixXd c = shifted;
    for (int column = 0; column < pencil.size; ++column) {
        const auto at = static_cast<std::size_t>(column);
        for (int slot = pencil.column_start[at]; slot < pencil.column_start[at + 1]; ++slot) {
            const auto k = static_cast<std::size_t>(slot);
            c(pencil.row[k], column) = pencil.c[k];
            shifted(pencil.row[k], column) = pencil.g[k] + s0 * pencil.c[k];
        }
    }
    const Eigen::MatrixXd m = shifted.partialPivLu().solve(c);
    if (!m.allFinite()) return {};
    const Eigen::VectorXcd mu = Eigen::EigenSolver<Eigen::MatrixXd>(m, false).eigenvalues();
    std::vector<Complex> poles;
    for (const Complex& eigenvalue : mu) {
        if (std::abs(eigenvalue) * s0 > 1e-9) poles.push_back(s0 - 1.0 / eigenvalue);
    }
    return poles;
}

}  // namespace lowhiss
