#include "lowhiss/analysis/poles.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "lowhiss/solver/dense.hpp"

namespace lowhiss {
namespace {

using Matrix = Eigen::MatrixXd;

constexpr double two_pi = 2 * std::numbers::pi;
constexpr std::size_t most_unknowns = 400;

/// G and C, rows and columns scaled so that at s0 the largest entry of each is near one.
struct Dense {
    Matrix g;
    Matrix c;
};

Dense scaled(Dense m, double s0) {
    const auto largest = [](const auto& entries) {
        const double most = entries.maxCoeff();
        return most > 0 ? std::exp2(-std::round(std::log2(most))) : 1.0;
    };
    for (int sweep = 0; sweep < 3; ++sweep) {
        const Matrix size = m.g.cwiseAbs() + s0 * m.c.cwiseAbs();
        for (Eigen::Index k = 0; k < size.rows(); ++k) {
            const double factor = largest(size.row(k));
            m.g.row(k) *= factor;
            m.c.row(k) *= factor;
        }
        const Matrix again = m.g.cwiseAbs() + s0 * m.c.cwiseAbs();
        for (Eigen::Index k = 0; k < again.cols(); ++k) {
            const double factor = largest(again.col(k));
            m.g.col(k) *= factor;
            m.c.col(k) *= factor;
        }
    }
    return m;
}

/// Scales rows and columns to similar size by powers of two, without changing the eigenvalues.
void balance(Matrix& m) {
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

/// Two-sided Rayleigh quotient iteration; nothing if it leaves the neighbourhood of s.
std::optional<Complex> sharpened(const Dense& m, Complex s) {
    constexpr int most_steps = 4;
    constexpr double near = 1e-2;
    const Eigen::MatrixXcd g = m.g.cast<Complex>();
    const Eigen::MatrixXcd c = m.c.cast<Complex>();
    Eigen::VectorXcd x = Eigen::VectorXcd::Ones(g.rows());
    Eigen::VectorXcd y = x;
    Complex at = s;
    dense::PartialLu lu;
    for (int step = 0; step < most_steps; ++step) {
        lu.factorise(g + at * c);
        x = lu.solve(c * x);
        y = lu.solve_transposed(c.transpose() * y);
        if (!x.allFinite() || !y.allFinite()) return at;  // `at` is a pole to the last digit
        x.normalize();
        y.normalize();
        const Complex slope = (y.transpose() * c * x).value();
        const Complex move = -(y.transpose() * (g * x + at * (c * x))).value() / slope;
        if (!std::isfinite(std::abs(move))) return std::nullopt;
        at += move;
        if (!(std::abs(at - s) <= near * std::abs(s))) return std::nullopt;
        if (std::abs(move) <= 1e-14 * std::abs(at)) break;
    }
    return at;
}

/// The poles with a magnitude from `low` to `high`. If s0 is itself a pole, to the last digit,
/// another s0 is tried. Nothing if the equations are singular for every s.
std::optional<std::vector<Complex>> nearest_to(const Dense& raw, double s0, double low,
                                               double high) {
    Dense m;
    Matrix shifted;
    for (int attempt = 0; attempt < 3; ++attempt, s0 *= 1.37) {
        m = scaled(raw, s0);
        shifted = dense::solve(m.g + s0 * m.c, m.c);
        if (shifted.allFinite()) break;
    }
    if (!shifted.allFinite()) return std::nullopt;
    balance(shifted);
    const Eigen::VectorXcd mu = dense::eigenvalues(shifted);
    std::vector<Complex> found;
    for (const Complex& eigenvalue : mu) {
        if (std::abs(eigenvalue) * high < 1e-3) continue;
        const Complex s = s0 - 1.0 / eigenvalue;
        const double size = std::abs(s);
        if (!(size >= low && size < high)) continue;
        const bool upper = s.imag() >= 0;
        if (!upper) continue;  // its conjugate is sharpened
        const Complex sharp = sharpened(m, s).value_or(s);
        const bool real = s.imag() == 0 || std::abs(sharp.imag()) <= 1e-12 * std::abs(sharp);
        found.push_back(real ? Complex(sharp.real()) : sharp);
        if (!real) found.push_back(std::conj(sharp));
    }
    return found;
}

/// Replaces measured impedances by the resistance and, if inductive, the inductance of their last
/// point.
Pencil with_held_impedances(const Pencil& pencil) {
    Pencil held = pencil;
    for (const auto& [slot, points] : pencil.measured) {
        const ImpedancePoint& last = points->back();
        const auto k = static_cast<std::size_t>(slot);
        held.g[k] -= last.resistance_ohm;
        if (last.reactance_ohm > 0) held.c[k] -= last.reactance_ohm / (two_pi * last.frequency_hz);
    }
    held.measured.clear();
    held.stamps.clear();  // the sums differ from them now
    return held;
}

}  // namespace

Poles poles_of(const Pencil& pencil, const Plan& plan) {
    if (!plan.program || !fits(plan, pencil)) return {};
    const std::size_t left = plan.program->each.pivot.size();
    if (left > most_unknowns) return {};
    Poles poles;
    poles.known = true;
    if (left == 0) return poles;
    const auto n = static_cast<Eigen::Index>(left);
    Dense m{Matrix::Zero(n, n), Matrix::Zero(n, n)};
    for (const RemainingEntry& entry : remaining_entries(plan, with_held_impedances(pencil))) {
        m.g(entry.row, entry.column) = entry.g;
        m.c(entry.row, entry.column) = entry.c;
    }
    double low = 0;
    for (int decade = -2; decade <= 10; decade += 2) {
        const double s0 = two_pi * std::pow(10.0, decade);
        const auto found = nearest_to(m, s0, low, 10 * s0);
        if (!found) return {};
        poles.s.insert(poles.s.end(), found->begin(), found->end());
        low = 10 * s0;
    }
    return poles;
}

bool grows(Complex pole) {
    constexpr double slowest = 1e-6;  // growth by e in eleven days
    return pole.real() > slowest && pole.real() > 1e-9 * std::abs(pole);
}

double pole_hz(Complex pole) {
    return std::abs(pole) / two_pi;
}

double pole_q(Complex pole) {
    return std::abs(pole) / (-2 * pole.real());
}

}  // namespace lowhiss
