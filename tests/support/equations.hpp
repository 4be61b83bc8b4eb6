#pragma once

#include <numbers>

#include "lowhiss/analysis/network.hpp"
#include "support/wide.hpp"

namespace lowhiss::test {

/// A(j 2 pi f) of a pencil without measured impedances, in any kind of number: the stamps of the
/// elements, each times a factor of its own, added up without rounding to doubles in between.
template <class Number, class FactorOf>
std::vector<std::vector<Number>> matrix_of(const Pencil& pencil, double frequency_hz,
                                           FactorOf factor_of) {
    using Real = typename Number::value_type;
    const auto n = static_cast<std::size_t>(pencil.size);
    const Real omega = 2 * std::numbers::pi * frequency_hz;
    std::vector<std::vector<Number>> a(n, std::vector<Number>(n));
    for (const Triplet& stamp : pencil.stamps) {
        const Real factor = factor_of(stamp);
        a[static_cast<std::size_t>(stamp.row)][static_cast<std::size_t>(stamp.column)] +=
            Number(factor * Real(stamp.g), factor * omega * Real(stamp.c));
    }
    return a;
}

template <class Number>
std::vector<std::vector<Number>> matrix_of(const Pencil& pencil, double frequency_hz) {
    return matrix_of<Number>(pencil, frequency_hz, [](const Triplet&) { return 1; });
}

/// The sum of the magnitudes of the stamps at each place.
inline WideMatrix sizes_of(const Pencil& pencil, double frequency_hz) {
    const auto n = static_cast<std::size_t>(pencil.size);
    WideMatrix sizes(n, std::vector<Wide>(n));
    for (const Triplet& stamp : pencil.stamps) {
        sizes[static_cast<std::size_t>(stamp.row)][static_cast<std::size_t>(stamp.column)] +=
            std::abs(stamp.g) + 2 * std::numbers::pi * frequency_hz * std::abs(stamp.c);
    }
    return sizes;
}

/// The equations that a network solves at one frequency, taken from its pencil and not from its
/// solver: A x = b for the electromotive force of 1 V, A^T y = c for the output voltage.
struct Equations {
    std::vector<Complex> b;
    std::vector<Complex> c;
    WideMatrix a;
    WideMatrix sizes;  ///< of the terms in each entry

    Equations(const Network& network, double frequency_hz)
        : a(matrix_of<Wide>(network.pencil(), frequency_hz)),
          sizes(sizes_of(network.pencil(), frequency_hz)) {
        b.resize(a.size());
        c.resize(a.size());
        const Circuit& circuit = network.circuit();
        b[static_cast<std::size_t>(circuit.emf_current)] = 1;
        if (circuit.output_plus > 0) c[static_cast<std::size_t>(circuit.output_plus) - 1] += 1;
        if (circuit.output_minus > 0) c[static_cast<std::size_t>(circuit.output_minus) - 1] -= 1;
    }
};

inline std::vector<Wide> widened(const std::vector<Complex>& v) {
    std::vector<Wide> wide;
    for (const Complex& z : v) wide.emplace_back(z.real(), z.imag());
    return wide;
}

/// sum |y_i| |a_ij| |x_j|: how far a change of every coefficient by one part moves y^T A x.
inline double sensitivity(const WideMatrix& a, const std::vector<Wide>& y,
                          const std::vector<Wide>& x) {
    double sum = 0;
    for (std::size_t i = 0; i < y.size(); ++i) {
        for (std::size_t j = 0; j < x.size(); ++j) {
            const double entry = size_of(a[i][j]);
            if (entry > 0) sum += size_of(y[i]) * entry * size_of(x[j]);
        }
    }
    return sum;
}

/// The componentwise backward error of Oettli and Prager, max |b - Ax| / (|A||x| + |b|), worked out
/// in fifty digits. Equations in which every unknown is exactly zero, as for a node that an ideal
/// source holds, say nothing and are left out; nothing else is.
inline double strict_backward_error(const WideMatrix& a, const std::vector<Complex>& b,
                                    const std::vector<Complex>& x) {
    constexpr double zero = 1e-40;
    const std::vector<Wide> exact = solve_wide(a, widened(b));
    const std::vector<Wide> ours = widened(x);
    double worst = 0;
    for (std::size_t i = 0; i < b.size(); ++i) {
        Wide r(b[i].real(), b[i].imag());
        double size = size_of(r);
        double exact_size = size;
        for (std::size_t j = 0; j < b.size(); ++j) {
            const double entry = size_of(a[i][j]);
            if (entry == 0) continue;
            r -= a[i][j] * ours[j];
            size += entry * size_of(ours[j]);
            exact_size += entry * size_of(exact[j]);
        }
        if (exact_size > zero) worst = std::max(worst, size_of(r) / size);
    }
    return worst;
}

}  // namespace lowhiss::test
