#include "lowhiss/analysis/poles.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "lowhiss/analysis/roots.hpp"
#include "lowhiss/solver/dense.hpp"

namespace lowhiss {
namespace {

constexpr double two_pi = 2 * std::numbers::pi;
constexpr std::size_t most_unknowns = 400;

/// Rounding of an entry, which is a sum of a few terms.
constexpr double entry_error = 16 * std::numeric_limits<double>::epsilon();

/// A pole and the first-order bound of its error by rounding of the entries.
struct SharpPole {
    Complex s;
    double error = infinite;
};

/// Two-sided Rayleigh quotient iteration; nothing if it leaves the neighbourhood of s.
std::optional<SharpPole> sharpened(const DensePencil& m, Complex s) {
    constexpr int most_steps = 6;
    constexpr double near = 1e-2;
    const Eigen::MatrixXcd g = m.g.cast<Complex>();
    const Eigen::MatrixXcd c = m.c.cast<Complex>();
    Eigen::VectorXcd x = Eigen::VectorXcd::Ones(g.rows());
    Eigen::VectorXcd y = x;
    SharpPole pole{s};
    dense::PartialLu lu;
    const auto iterate = [&](Complex shift) {
        lu.factorise(g + shift * c);
        const Eigen::VectorXcd next_x = lu.solve(c * x);
        const Eigen::VectorXcd next_y = lu.solve_transposed(c.transpose() * y);
        if (!next_x.allFinite() || !next_y.allFinite()) return false;
        x = next_x.normalized();
        y = next_y.normalized();
        return true;
    };
    for (int step = 0; step < most_steps; ++step) {
        // At a pole to the last digit the matrix is singular; beside it is near enough.
        if (!iterate(pole.s) && !iterate(pole.s * (1 + 1e-10))) return std::nullopt;
        const Complex slope = (y.transpose() * c * x).value();
        const Complex move = -(y.transpose() * (g * x + pole.s * (c * x))).value() / slope;
        if (!std::isfinite(std::abs(move))) return std::nullopt;
        pole.s += move;
        if (!(std::abs(pole.s - s) <= near * std::abs(s))) return std::nullopt;
        const Eigen::VectorXd weight =
            (m.g.cwiseAbs() + std::abs(pole.s) * m.c.cwiseAbs()) * x.cwiseAbs();
        pole.error = entry_error * y.cwiseAbs().dot(weight) / std::abs(slope) + std::abs(move);
        if (std::abs(move) <= 1e-14 * std::abs(pole.s)) break;
    }
    return pole;
}

/// Whether rounding could make the factorised matrix singular: not if the Perron root of |A^-1| E
/// is below 1, E being the bound of the rounding. It is at most the largest of (M v)_i / v_i for
/// any positive v (Collatz, "Einschließungssatz für die charakteristischen Zahlen von Matrizen",
/// Mathematische Zeitschrift 48, 1942).
bool nearly_singular(const dense::PartialLu& lu) {
    const Eigen::MatrixXd m = lu.inverse().cwiseAbs() * (entry_error * lu.magnitude_product());
    if (!m.allFinite()) return true;
    Eigen::VectorXd v = Eigen::VectorXd::Ones(m.rows());
    double most = infinite;
    for (int step = 0; step < 4; ++step) {
        const Eigen::VectorXd next = m * v;
        most = std::min(most, next.cwiseQuotient(v).maxCoeff());
        v = next / next.maxCoeff() + 1e-12 * Eigen::VectorXd::Ones(v.size());
    }
    return !(most < 0.5);
}

/// Whether the determinant has a zero within a circle, by the turns of its phase around it. False
/// also if rounding leaves that open.
bool surrounds_pole(const DensePencil& m, Complex centre, double radius) {
    constexpr int points = 48;
    constexpr double largest_turn = 1.5;
    double turned = 0;
    Complex last = 0;
    dense::PartialLu lu;
    for (int k = 0; k <= points; ++k) {
        const Complex s = centre + std::polar(radius, two_pi * k / points);
        lu.factorise(m.g.cast<Complex>() + s * m.c.cast<Complex>());
        if (k < points && nearly_singular(lu)) return false;
        const Complex direction = lu.determinant_direction();
        const double turn = k == 0 ? 0 : std::arg(direction / last);
        if (!(std::abs(turn) < largest_turn)) return false;
        turned += turn;
        last = direction;
    }
    return std::round(turned / two_pi) >= 1;
}

bool far_right(Complex s) {
    constexpr double slowest = 1e-6;
    return s.real() > slowest && s.real() > 1e-9 * std::abs(s);
}

/// Judges s by the whole pencil, because the elimination of pivots has rounding errors of its own.
class GrowthCheck {
  public:
    GrowthCheck(const Pencil& pencil, const DensePencil& remaining)
        : pencil_(pencil), remaining_(remaining) {}

    /// The pole if it is right of the axis for certain.
    std::optional<Complex> certain(Complex s) const {
        if (!far_right(s)) return std::nullopt;
        const bool small = static_cast<std::size_t>(pencil_.size) <= most_unknowns;
        const DensePencil m = scaled_at(small ? whole_pencil(pencil_) : remaining_, std::abs(s));
        const std::optional<SharpPole> sharp = sharpened(m, s);
        if (sharp && far_right(sharp->s) && sharp->s.real() > sharp->error) return sharp->s;
        const bool simple = sharp && sharp->error < 1e-3 * std::abs(s);
        if (simple) return std::nullopt;  // on the axis, as far as can be told
        const double radius = std::min(0.9 * s.real(), 0.1 * std::abs(s));
        return surrounds_pole(m, s, radius) ? std::optional(s) : std::nullopt;
    }

  private:
    const Pencil& pencil_;
    const DensePencil& remaining_;
};

void add_pole(Complex s, std::vector<Complex>& list) {
    list.push_back(s);
    if (s.imag() != 0) list.push_back(std::conj(s));
}

/// Rounding gives a real pole no imaginary part.
Complex real_if_nearly(Complex s) {
    return std::abs(s.imag()) <= 1e-12 * std::abs(s) ? Complex(s.real()) : s;
}

}  // namespace

Poles poles_of(const Pencil& pencil, const Plan& plan) {
    if (!plan.program || !fits(plan, pencil)) return {};
    const std::size_t left = plan.program->each.pivot.size();
    if (left > most_unknowns) return {};
    Poles poles;
    poles.known = true;
    if (left == 0) return poles;
    const Pencil held = with_held_impedances(pencil);
    const DensePencil remaining = remaining_pencil(plan, held);
    const GrowthCheck growth(held, remaining);
    double low = 0;
    for (int decade = -2; decade <= 10; decade += 2) {
        const double s0 = two_pi * std::pow(10.0, decade);
        const double high = 10.37 * s0;  // no round number, on which a pole could well be
        const auto near = roots_near(remaining, s0, low, high);
        if (!near) return {};
        for (const Complex& raw : near->s) {
            const std::optional<SharpPole> sharp = sharpened(near->scaled, raw);
            const Complex s = real_if_nearly(sharp ? sharp->s : raw);
            const std::optional<Complex> grown = growth.certain(s);
            if (grown) add_pole(real_if_nearly(*grown), poles.growing);
            if (grown || sharp) add_pole(grown ? real_if_nearly(*grown) : s, poles.s);
        }
        low = high;
    }
    return poles;
}

double pole_hz(Complex pole) {
    return std::abs(pole) / two_pi;
}

double pole_q(Complex pole) {
    return std::abs(pole) / (-2 * pole.real());
}

}  // namespace lowhiss
