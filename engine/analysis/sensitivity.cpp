#include "lowhiss/analysis/sensitivity.hpp"

#include <cmath>
#include <numbers>

namespace lowhiss {
namespace {

/// y^T (dA/d ln p) x.
Complex product(const ValueSlope& slope, double omega, std::span<const Complex> y,
                std::span<const Complex> x) {
    Complex sum = 0;
    for (const auto& [row, column, g, c] : slope.entries) {
        sum += y[static_cast<std::size_t>(row)] * Complex(g, omega * c) *
               x[static_cast<std::size_t>(column)];
    }
    return sum;
}

Complex transfer(const NoiseSource& source, std::span<const Complex> y) {
    Complex sum = 0;
    for (const auto& [equation, weight] : source.injection.terms) {
        if (equation >= 0) sum += weight * y[static_cast<std::size_t>(equation)];
    }
    return sum;
}

}  // namespace

ValueSlope value_slope(const Circuit& circuit, const Circuit& moved, double step) {
    const Pencil before = assemble(circuit);
    const Pencil after = assemble(moved);
    ValueSlope slope;
    slope.known = before.row == after.row && before.column_start == after.column_start &&
                  circuit.noise.size() == moved.noise.size();
    if (!slope.known) return slope;
    for (int column = 0; column < before.size; ++column) {
        const auto at = static_cast<std::size_t>(column);
        for (int slot = before.column_start[at]; slot < before.column_start[at + 1]; ++slot) {
            const auto k = static_cast<std::size_t>(slot);
            const double g = (after.g[k] - before.g[k]) / step;
            const double c = (after.c[k] - before.c[k]) / step;
            if (g != 0 || c != 0) slope.entries.push_back({before.row[k], column, g, c});
        }
    }
    for (std::size_t k = 0; k < circuit.noise.size(); ++k) {
        const double white = (moved.noise[k].white - circuit.noise[k].white) / step;
        if (white != 0) slope.densities.push_back({k, white});
    }
    return slope;
}

Sensitivity sensitivity_at(Network& network, std::span<const ValueSlope> slopes,
                           double frequency_hz) {
    const Circuit& circuit = network.circuit();
    const double omega = 2 * std::numbers::pi * frequency_hz;
    const Solution solution = network.solve(frequency_hz);
    const Complex gain = node_voltage(solution.x, circuit.output_plus) -
                         node_voltage(solution.x, circuit.output_minus);
    Sensitivity result;
    result.frequency_hz = frequency_hz;
    std::vector<Complex> drive(solution.x.size());
    for (const NoiseSource& source : circuit.noise) {
        const double density = density_at(source, circuit, frequency_hz);
        const Complex t = transfer(source, solution.y);
        result.output_noise_v2_hz += density * std::norm(t);
        for (const auto& [equation, weight] : source.injection.terms) {
            if (equation < 0) continue;
            drive[static_cast<std::size_t>(equation)] += density * std::conj(t) * weight;
        }
    }
    const std::vector<Complex> z = network.respond_to(drive);
    for (const ValueSlope& slope : slopes) {
        result.gain.push_back(-product(slope, omega, solution.y, solution.x) / gain);
        double noise = -2 * product(slope, omega, solution.y, z).real();
        for (const auto& [source, white] : slope.densities) {
            const NoiseSource& at = circuit.noise[source];
            noise +=
                white * (1 + at.corner_hz / frequency_hz) * std::norm(transfer(at, solution.y));
        }
        result.noise_v2_hz.push_back(noise);
    }
    return result;
}

}  // namespace lowhiss
