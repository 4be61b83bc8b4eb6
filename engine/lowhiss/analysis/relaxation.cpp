#include "lowhiss/analysis/relaxation.hpp"

#include <cmath>
#include <numbers>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/solver/dense.hpp"

namespace lowhiss {
namespace {

using Eigen::Index;
using Eigen::MatrixXcd;
using Eigen::VectorXcd;

constexpr double shift_hz = 1;
constexpr std::size_t most_states = 300;
constexpr double smallest_mu = 1e-9;

/// The unknowns whose column of C is not empty.
std::vector<int> states_of(const Pencil& pencil) {
    std::vector<int> states;
    for (int column = 0; column < pencil.size; ++column) {
        const auto at = static_cast<std::size_t>(column);
        for (int slot = pencil.column_start[at]; slot < pencil.column_start[at + 1]; ++slot) {
            if (pencil.c[static_cast<std::size_t>(slot)] == 0) continue;
            states.push_back(column);
            break;
        }
    }
    return states;
}

std::vector<Complex> column_of_c(const Pencil& pencil, int column) {
    std::vector<Complex> entries(static_cast<std::size_t>(pencil.size));
    const auto at = static_cast<std::size_t>(column);
    for (int slot = pencil.column_start[at]; slot < pencil.column_start[at + 1]; ++slot) {
        const auto k = static_cast<std::size_t>(slot);
        entries[static_cast<std::size_t>(pencil.row[k])] += pencil.c[k];
    }
    return entries;
}

/// Scales rows and columns to similar size by powers of two; returns the factors d of D^-1 N D.
Eigen::VectorXd balance_states(MatrixXcd& n) {
    constexpr int most_sweeps = 20;
    Eigen::VectorXd d = Eigen::VectorXd::Ones(n.rows());
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

}  // namespace

Relaxation relaxation(Network& network, std::span<const std::vector<Complex>> starts) {
    const std::vector<int> states = states_of(network.pencil());
    Relaxation result;
    if (states.empty() || states.size() > most_states) return result;
    const Circuit& circuit = network.circuit();
    const Complex s0(0, 2 * std::numbers::pi * shift_hz);
    network.solve(shift_hz);
    const auto m = static_cast<Index>(states.size());
    const auto at_states = [&](const std::vector<Complex>& v) {
        VectorXcd selected(m);
        for (Index k = 0; k < m; ++k) {
            selected(k) = v[static_cast<std::size_t>(states[static_cast<std::size_t>(k)])];
        }
        return selected;
    };
    MatrixXcd n(m, m);
    VectorXcd output(m);
    for (Index k = 0; k < m; ++k) {
        const int state = states[static_cast<std::size_t>(k)];
        const auto f = network.respond_to(column_of_c(network.pencil(), state));
        n.col(k) = at_states(f);
        output(k) = node_voltage(f, circuit.output_plus) - node_voltage(f, circuit.output_minus);
    }
    const Eigen::VectorXd d = balance_states(n);
    const auto [mu, u] = dense::eigensystem(n);
    const VectorXcd reached = (output.cwiseProduct(d).transpose() * u).transpose();
    dense::PartialLu vectors;
    vectors.factorise(u);
    std::vector<Index> kept;
    for (Index k = 0; k < m; ++k) {
        if (std::abs(mu(k)) < smallest_mu) continue;
        kept.push_back(k);
        result.s.push_back(s0 - 1.0 / mu(k));
    }
    for (const std::vector<Complex>& start : starts) {
        const VectorXcd h = at_states(network.respond_to(start));
        const VectorXcd z = vectors.solve(h.cwiseQuotient(d));
        auto& residues = result.residue.emplace_back();
        for (const Index k : kept) residues.push_back(reached(k) * z(k) / (mu(k) * mu(k)));
    }
    return result;
}

}  // namespace lowhiss
