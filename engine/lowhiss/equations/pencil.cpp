#include "lowhiss/equations/pencil.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <tuple>
#include <utility>

#include "lowhiss/equations/stamp.hpp"

namespace lowhiss {
namespace {

constexpr double two_pi = 2 * std::numbers::pi;

/// Lists a sum of which more than six bits cancelled; `g` and `c` are the sums of magnitudes.
void note_cancellation(const Triplet& at, double g, double c, Pencil& pencil) {
    constexpr double most_cancelled = 64;
    constexpr double epsilon = std::numeric_limits<double>::epsilon();
    const auto lost = [](double terms, double sum) {
        return terms > most_cancelled * std::abs(sum) ? epsilon * terms : 0;
    };
    const double lost_g = lost(g, pencil.g.back());
    const double lost_c = lost(c, pencil.c.back());
    if (lost_g > 0 || lost_c > 0) pencil.cancelled.push_back({at.row, at.column, lost_g, lost_c});
}

}  // namespace

Pencil assemble(const Circuit& circuit) {
    return pencil_of(static_cast<int>(circuit.unknowns.size()), stamps_of(circuit));
}

Pencil pencil_of(int size, std::vector<Triplet> triplets) {
    const auto place = [](const Triplet& t) { return std::tuple(t.column, t.row); };
    std::stable_sort(triplets.begin(), triplets.end(),
                     [&](const Triplet& a, const Triplet& b) { return place(a) < place(b); });
    Pencil pencil;
    pencil.size = size;
    pencil.column_start.assign(static_cast<std::size_t>(pencil.size) + 1, 0);
    const Triplet* previous = nullptr;
    double size_g = 0;
    double size_c = 0;
    for (const Triplet& t : triplets) {
        if (previous == nullptr || place(*previous) != place(t)) {
            if (previous) note_cancellation(*previous, size_g, size_c, pencil);
            size_g = size_c = 0;
            pencil.row.push_back(t.row);
            pencil.g.push_back(0);
            pencil.c.push_back(0);
            ++pencil.column_start[static_cast<std::size_t>(t.column) + 1];
        }
        pencil.g.back() += t.g;
        pencil.c.back() += t.c;
        size_g += std::abs(t.g);
        size_c += std::abs(t.c);
        if (t.measured) pencil.measured.push_back({pencil.slots() - 1, t.measured});
        previous = &t;
    }
    if (previous) note_cancellation(*previous, size_g, size_c, pencil);
    for (std::size_t k = 1; k < pencil.column_start.size(); ++k) {
        pencil.column_start[k] += pencil.column_start[k - 1];
    }
    pencil.stamps = std::move(triplets);
    return pencil;
}

void evaluate(const Pencil& pencil, double frequency_hz, std::span<std::complex<double>> values) {
    const double omega = two_pi * frequency_hz;
    for (std::size_t k = 0; k < values.size(); ++k) {
        values[k] = {pencil.g[k], omega * pencil.c[k]};
    }
    for (const auto& [slot, points] : pencil.measured) {
        values[static_cast<std::size_t>(slot)] -= interpolate(*points, frequency_hz).ohm;
    }
}

void evaluate_slope(const Pencil& pencil, double frequency_hz,
                    std::span<std::complex<double>> values) {
    for (std::size_t k = 0; k < values.size(); ++k) values[k] = {0, pencil.c[k]};
    for (const auto& [slot, points] : pencil.measured) {
        values[static_cast<std::size_t>(slot)] -=
            interpolate(*points, frequency_hz).slope_ohm_per_hz / two_pi;
    }
}

MeasuredImpedance interpolate(const std::vector<ImpedancePoint>& points, double frequency_hz) {
    const auto held = [](const ImpedancePoint& p) {
        return MeasuredImpedance{{p.resistance_ohm, p.reactance_ohm}, 0};
    };
    if (frequency_hz <= points.front().frequency_hz) return held(points.front());
    if (frequency_hz >= points.back().frequency_hz) return held(points.back());
    const auto above = std::find_if(points.begin() + 1, points.end(), [&](const ImpedancePoint& p) {
        return p.frequency_hz > frequency_hz;
    });
    const ImpedancePoint& low = *(above - 1);
    const ImpedancePoint& high = *above;
    const double width = std::log(high.frequency_hz / low.frequency_hz);
    const double along = std::log(frequency_hz / low.frequency_hz) / width;
    const std::complex<double> from{low.resistance_ohm, low.reactance_ohm};
    const std::complex<double> rise =
        std::complex<double>{high.resistance_ohm, high.reactance_ohm} - from;
    return {from + along * rise, rise / (width * frequency_hz)};
}

}  // namespace lowhiss
