#include "lowhiss/solver/sharpen.hpp"

#include <cmath>
#include <numbers>

namespace lowhiss {
namespace {

/// The unevaluated sum of two doubles (Dekker, "A floating-point technique for extending the
/// available precision", Numerische Mathematik 18, 1971). Compiled without contraction.
struct TwoDoubles {
    double high = 0;
    double low = 0;

    void add(double value) {
        const double sum = high + value;
        const double part = sum - high;
        low += (high - (sum - part)) + (value - part);
        high = sum;
    }
    void subtract_product(double a, double b) {
        const double product = a * b;
        add(-product);
        low -= std::fma(a, b, -product);
    }
    void subtract_product(TwoDoubles a, double b) {
        subtract_product(a.high, b);
        low -= a.low * b;
    }
    double rounded() const { return high + low; }
};

struct WideComplex {
    TwoDoubles re;
    TwoDoubles im;
};

TwoDoubles product(double a, double b) {
    const double high = a * b;
    return {high, std::fma(a, b, -high)};
}

/// b - A x, or b - A^T x.
std::vector<Complex> wide_residual(const Pencil& pencil, double frequency_hz, Side side,
                                   std::span<const Complex> b, std::span<const Complex> x) {
    const double omega = 2 * std::numbers::pi * frequency_hz;
    std::vector<WideComplex> r(b.size());
    for (std::size_t k = 0; k < b.size(); ++k) {
        r[k].re.high = b[k].real();
        r[k].im.high = b[k].imag();
    }
    const auto subtract = [&](std::size_t row, std::size_t column, TwoDoubles re, TwoDoubles im) {
        const auto [to, from] =
            side == Side::plain ? std::pair(row, column) : std::pair(column, row);
        r[to].re.subtract_product(re, x[from].real());
        r[to].re.subtract_product(im, -x[from].imag());
        r[to].im.subtract_product(re, x[from].imag());
        r[to].im.subtract_product(im, x[from].real());
    };
    for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
        subtract(row, column, {pencil.g[slot], 0}, product(omega, pencil.c[slot]));
        for (const Pencil::Measured& measured : pencil.measured) {
            if (static_cast<std::size_t>(measured.slot) != slot) continue;
            const Complex z = interpolate(*measured.points, frequency_hz).ohm;
            subtract(row, column, {-z.real(), 0}, {-z.imag(), 0});
        }
    });
    std::vector<Complex> rounded;
    rounded.reserve(r.size());
    for (const WideComplex& each : r) rounded.emplace_back(each.re.rounded(), each.im.rounded());
    return rounded;
}

}  // namespace

bool sharpen(const Pencil& pencil, double frequency_hz, Side side, std::span<const Complex> b,
             std::span<const Complex> c, double most_move, ReferenceSolver& factors,
             std::vector<Complex>& x) {
    constexpr int most_steps = 10;
    try {
        for (int step = 0; step < most_steps; ++step) {
            const auto r = wide_residual(pencil, frequency_hz, side, b, x);
            const auto correction =
                side == Side::plain ? factors.solve(r) : factors.solve_transposed(r);
            Complex move = 0;
            for (std::size_t k = 0; k < x.size(); ++k) {
                x[k] += correction[k];
                move += c[k] * correction[k];
            }
            if (magnitude(move) <= most_move) return true;
        }
    } catch (const Singular&) {
        return false;
    }
    return false;
}

}  // namespace lowhiss
