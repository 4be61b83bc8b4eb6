#include "lowhiss/analysis/relaxation.hpp"

#include <cmath>
#include <numbers>

#include "lowhiss/solver/dense.hpp"

namespace lowhiss {
namespace {

using Eigen::Index;
using Eigen::MatrixXcd;
using Eigen::MatrixXd;
using Eigen::VectorXcd;
using Eigen::VectorXd;

constexpr double shift_rad_s = 2 * std::numbers::pi;
constexpr int largest_dense = 1000;
constexpr std::size_t most_states = 300;
constexpr double smallest_mu = 1e-9;

/// The power of two that brings the largest entry near one.
template <class Entries>
double scale_of(const Entries& entries) {
    const double most = entries.cwiseAbs().maxCoeff();
    return most > 0 ? std::exp2(-std::round(std::log2(most))) : 1;
}

/// X of A X = B, with rows and columns of A scaled first.
MatrixXd solve_scaled(MatrixXd a, MatrixXd b) {
    constexpr int sweeps = 3;
    VectorXd by_column = VectorXd::Ones(a.cols());
    for (int sweep = 0; sweep < sweeps; ++sweep) {
        for (Index k = 0; k < a.rows(); ++k) {
            const double factor = scale_of(a.row(k));
            a.row(k) *= factor;
            b.row(k) *= factor;
        }
        for (Index k = 0; k < a.cols(); ++k) {
            const double factor = scale_of(a.col(k));
            a.col(k) *= factor;
            by_column(k) *= factor;
        }
    }
    return by_column.asDiagonal() * dense::solve(a, b);
}

/// Scales rows and columns to similar size by powers of two; returns the factors d of D^-1 N D.
VectorXd balance_states(MatrixXd& n) {
    constexpr int most_sweeps = 20;
    VectorXd d = VectorXd::Ones(n.rows());
    bool changed = true;
    for (int sweep = 0; changed && sweep < most_sweeps; ++sweep) {
        changed = false;
        for (Index k = 0; k < n.rows(); ++k) {
            const double column = n.col(k).cwiseAbs().sum() - std::abs(n(k, k));
            const double row = n.row(k).cwiseAbs().sum() - std::abs(n(k, k));
            if (!(column > 0) || !(row > 0)) continue;
            const double factor = std::exp2(std::round(std::log2(row / column) / 2));
            if (column * factor + row / factor >= 0.95 * (column + row)) continue;
            n.col(k) *= factor;
            n.row(k) /= factor;
            d(k) *= factor;
            changed = true;
        }
    }
    return d;
}

/// G + s0 C and C, dense.
struct Shifted {
    MatrixXd a;
    MatrixXd c;
};

Shifted shifted_from(const Pencil& pencil) {
    Shifted m{MatrixXd::Zero(pencil.size, pencil.size), MatrixXd::Zero(pencil.size, pencil.size)};
    std::vector<double> g = pencil.g;
    for (const auto& [slot, points] : pencil.measured) {
        g[static_cast<std::size_t>(slot)] -= points->front().resistance_ohm;
    }
    for (int column = 0; column < pencil.size; ++column) {
        const auto at = static_cast<std::size_t>(column);
        for (int slot = pencil.column_start[at]; slot < pencil.column_start[at + 1]; ++slot) {
            const auto k = static_cast<std::size_t>(slot);
            m.c(pencil.row[k], column) += pencil.c[k];
            m.a(pencil.row[k], column) += g[k] + shift_rad_s * pencil.c[k];
        }
    }
    return m;
}

}  // namespace

Relaxation relaxation(const Pencil& pencil, std::span<const Complex> select,
                      std::span<const std::vector<double>> starts) {
    Relaxation result;
    if (pencil.size > largest_dense) return result;
    const Shifted m = shifted_from(pencil);
    std::vector<Index> states;
    for (Index k = 0; k < m.c.cols(); ++k) {
        if ((m.c.col(k).array() != 0).any()) states.push_back(k);
    }
    if (states.empty() || states.size() > most_states) return result;
    const auto count = static_cast<Index>(states.size());
    MatrixXd sides(m.c.rows(), count + static_cast<Index>(starts.size()));
    sides.leftCols(count) = m.c(Eigen::all, states);
    for (std::size_t k = 0; k < starts.size(); ++k) {
        sides.col(count + static_cast<Index>(k)) =
            Eigen::Map<const VectorXd>(starts[k].data(), m.c.rows());
    }
    const MatrixXd solved = solve_scaled(m.a, sides);
    if (!solved.allFinite()) return result;
    const VectorXd output = Eigen::Map<const VectorXcd>(select.data(), m.c.rows()).real();
    MatrixXd n = solved(states, Eigen::seqN(0, count));
    const VectorXd d = balance_states(n);
    const auto [mu, u] = dense::eigensystem(n);
    const VectorXd through = (output.transpose() * solved.leftCols(count)).transpose();
    const VectorXcd reached = (through.cwiseProduct(d).transpose() * u).transpose();
    dense::PartialLu vectors;
    vectors.factorise(u);
    std::vector<Index> kept;
    for (Index k = 0; k < count; ++k) {
        if (std::abs(mu(k)) < smallest_mu) continue;
        kept.push_back(k);
        result.s.push_back(shift_rad_s - 1.0 / mu(k));
    }
    for (std::size_t start = 0; start < starts.size(); ++start) {
        const VectorXd h = solved(states, count + static_cast<Index>(start));
        const VectorXcd z = vectors.solve(h.cwiseQuotient(d).cast<Complex>());
        auto& residues = result.residue.emplace_back();
        for (const Index k : kept) residues.push_back(reached(k) * z(k) / (mu(k) * mu(k)));
    }
    return result;
}

}  // namespace lowhiss
