#include "lowhiss/analysis/roots.hpp"

#include <array>
#include <cmath>
#include <numbers>

#include "lowhiss/solver/dense.hpp"

namespace lowhiss {
namespace {

constexpr double radians_per_turn = 2 * std::numbers::pi;

/// Scales rows and columns to similar size by powers of two, without changing the eigenvalues.
void balance(Eigen::MatrixXd& m) {
    constexpr int most_sweeps = 20;
    bool changed = true;
    for (int sweep = 0; changed && sweep < most_sweeps; ++sweep) {
        changed = false;
        for (Eigen::Index k = 0; k < m.rows(); ++k) {
            const double column = m.col(k).cwiseAbs().sum() - std::abs(m(k, k));
            const double row = m.row(k).cwiseAbs().sum() - std::abs(m(k, k));
            if (!(column > 0) || !(row > 0)) continue;
            const double factor = std::exp2(std::round(std::log2(row / column) / 2));
            if (column * factor + row / factor >= 0.95 * (column + row)) continue;
            m.col(k) *= factor;
            m.row(k) /= factor;
            changed = true;
        }
    }
}

/// Shifts of a rough search, and the magnitudes up to which each is used. The limits are no round
/// numbers, on which a root could well be.
struct Shift {
    double s0_hz;
    double up_to_hz;
};
constexpr std::array rough_shifts{Shift{100, 31.73e3}, Shift{1e7, 1e12}};

/// The remaining pencil; nothing if it is too large for a rough search, or a pivot of the plan is
/// zero.
std::optional<DensePencil> small_remainder(const Plan& plan, const Pencil& pencil) {
    constexpr std::size_t most_pivots = 200;
    if (!plan.program || plan.program->each.pivot.size() > most_pivots) return std::nullopt;
    DensePencil left = remaining_pencil(plan, pencil);
    if (!left.g.allFinite() || !left.c.allFinite()) return std::nullopt;
    return left;
}

}  // namespace

DensePencil remaining_pencil(const Plan& plan, const Pencil& pencil) {
    const auto n = static_cast<Eigen::Index>(plan.program->each.pivot.size());
    DensePencil left{Eigen::MatrixXd::Zero(n, n), Eigen::MatrixXd::Zero(n, n)};
    for (const RemainingEntry& entry : remaining_entries(plan, pencil)) {
        left.g(entry.row, entry.column) = entry.g;
        left.c(entry.row, entry.column) = entry.c;
    }
    return left;
}

DensePencil whole_pencil(const Pencil& pencil) {
    DensePencil whole{Eigen::MatrixXd::Zero(pencil.size, pencil.size),
                      Eigen::MatrixXd::Zero(pencil.size, pencil.size)};
    for (int column = 0; column < pencil.size; ++column) {
        const auto at = static_cast<std::size_t>(column);
        for (int k = pencil.column_start[at]; k < pencil.column_start[at + 1]; ++k) {
            const auto slot = static_cast<std::size_t>(k);
            whole.g(pencil.row[slot], column) = pencil.g[slot];
            whole.c(pencil.row[slot], column) = pencil.c[slot];
        }
    }
    return whole;
}

Pencil with_held_impedances(const Pencil& pencil) {
    Pencil held = pencil;
    for (const auto& [slot, points] : pencil.measured) {
        const ImpedancePoint& last = points->back();
        const auto k = static_cast<std::size_t>(slot);
        held.g[k] -= last.resistance_ohm;
        if (last.reactance_ohm > 0) {
            held.c[k] -= last.reactance_ohm / (radians_per_turn * last.frequency_hz);
        }
    }
    held.measured.clear();
    held.stamps.clear();  // the sums differ from them now
    return held;
}

DensePencil scaled_at(DensePencil m, double s0) {
    const auto largest = [](const auto& entries) {
        const double most = entries.maxCoeff();
        return most > 0 ? std::exp2(-std::round(std::log2(most))) : 1.0;
    };
    for (int sweep = 0; sweep < 3; ++sweep) {
        const Eigen::MatrixXd size = m.g.cwiseAbs() + s0 * m.c.cwiseAbs();
        for (Eigen::Index k = 0; k < size.rows(); ++k) {
            const double factor = largest(size.row(k));
            m.g.row(k) *= factor;
            m.c.row(k) *= factor;
        }
        const Eigen::MatrixXd again = m.g.cwiseAbs() + s0 * m.c.cwiseAbs();
        for (Eigen::Index k = 0; k < again.cols(); ++k) {
            const double factor = largest(again.col(k));
            m.g.col(k) *= factor;
            m.c.col(k) *= factor;
        }
    }
    return m;
}

std::optional<NearRoots> roots_near(const DensePencil& pencil, double s0, double low, double high) {
    NearRoots found;
    Eigen::MatrixXd shifted;
    for (int attempt = 0; attempt < 3; ++attempt, s0 *= 1.37) {
        found.scaled = scaled_at(pencil, s0);
        shifted = dense::solve(found.scaled.g + s0 * found.scaled.c, found.scaled.c);
        if (shifted.allFinite()) break;
    }
    if (!shifted.allFinite()) return std::nullopt;
    balance(shifted);
    for (const Complex& mu : dense::eigenvalues(shifted)) {
        if (std::abs(mu) * high < 1e-3 || mu.imag() < 0) continue;
        const Complex s = s0 - 1.0 / mu;
        const double size = std::abs(s);
        if (size >= low && size < high) found.s.push_back(s);
    }
    return found;
}

std::optional<std::vector<Complex>> rough_roots(const Pencil& pencil, const Plan* plan) {
    const Pencil held = with_held_impedances(pencil);
    std::optional<DensePencil> remaining;
    if (plan && fits(*plan, held)) remaining = small_remainder(*plan, held);
    if (!remaining) remaining = small_remainder(plan_for_roots(held), held);
    if (!remaining) return std::nullopt;
    std::vector<Complex> all;
    if (remaining->g.size() == 0) return all;
    double low = 0;
    for (const auto& [s0_hz, up_to_hz] : rough_shifts) {
        const double high = radians_per_turn * up_to_hz;
        const auto near = roots_near(*remaining, radians_per_turn * s0_hz, low, high);
        if (!near) return std::nullopt;
        for (const Complex& s : near->s) {
            all.push_back(s);
            if (s.imag() > 0) all.push_back(std::conj(s));
        }
        low = high;
    }
    return all;
}

}  // namespace lowhiss
