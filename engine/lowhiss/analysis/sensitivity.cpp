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

ResponseSlopes response_slopes(Network& network, std::span<const ValueSlope> slopes,
                               double frequency_hz) {
    const Circuit& circuit = network.circuit();
    const Pencil& pencil = network.pencil();
    const double omega = 2 * std::numbers::pi * frequency_hz;
    const auto n = static_cast<std::size_t>(pencil.size);
    const Solution s = network.solve(frequency_hz);
    const auto adjoint_of = [&](int plus, int minus) {
        std::vector<Complex> select(n);
        if (plus > 0) select[static_cast<std::size_t>(plus) - 1] += 1;
        if (minus > 0) select[static_cast<std::size_t>(minus) - 1] -= 1;
        return network.adjoint_of(select);
    };
    const auto between = [&](const std::vector<Complex>& v, int plus, int minus) {
        return node_voltage(v, plus) - node_voltage(v, minus);
    };
    const auto emf = static_cast<std::size_t>(circuit.emf_current);
    std::vector<Complex> select_current(n);
    select_current[emf] = 1;
    const auto y_terminal = adjoint_of(circuit.input_plus, circuit.input_minus);
    const auto y_current = network.adjoint_of(select_current);
    const auto from_output = network.respond_to(network.output_selection());

    // A' x and A'^T y, A' = dA / d omega.
    std::vector<Complex> slope(static_cast<std::size_t>(pencil.slots()));
    evaluate_slope(pencil, frequency_hz, slope);
    std::vector<Complex> slope_x(n);
    std::vector<Complex> slope_y(n);
    Complex gain_slope = 0;
    for (std::size_t column = 0; column < n; ++column) {
        for (int k = pencil.column_start[column]; k < pencil.column_start[column + 1]; ++k) {
            const auto slot = static_cast<std::size_t>(k);
            const auto row = static_cast<std::size_t>(pencil.row[slot]);
            slope_x[row] += slope[slot] * s.x[column];
            slope_y[column] += slope[slot] * s.y[row];
            gain_slope -= s.y[row] * slope[slot] * s.x[column];
        }
    }
    const auto u = network.respond_to(slope_x);
    const auto w = network.adjoint_of(slope_y);

    const Complex gain = s.gain;
    const Complex terminal = between(s.x, circuit.input_plus, circuit.input_minus);
    const Complex output_ohm = between(s.y, circuit.output_plus, circuit.output_minus);
    ResponseSlopes result;
    for (const ValueSlope& p : slopes) {
        const Complex of_gain = -product(p, omega, s.y, s.x);
        const Complex of_terminal = -product(p, omega, y_terminal, s.x) / terminal;
        const Complex of_current = -product(p, omega, y_current, s.x) / s.x[emf];
        result.ln_gain.push_back(of_gain / gain);
        result.ln_input_voltage.push_back(of_terminal);
        result.ln_input_impedance.push_back(of_terminal - of_current);
        result.ln_output_impedance.push_back(-product(p, omega, s.y, from_output) / output_ohm);
        Complex of_slope = product(p, omega, s.y, u) + product(p, omega, w, s.x);
        for (const auto& [row, column, g, c] : p.entries) {
            of_slope -= s.y[static_cast<std::size_t>(row)] * Complex(0, c) *
                        s.x[static_cast<std::size_t>(column)];
        }
        result.group_delay_s.push_back(
            -(of_slope / gain - gain_slope / gain * (of_gain / gain)).imag());
    }
    return result;
}

NoiseSlopes noise_slopes(Network& network, std::span<const ValueSlope> slopes, double frequency_hz,
                         const std::vector<bool>& counts) {
    const Circuit& circuit = network.circuit();
    const double omega = 2 * std::numbers::pi * frequency_hz;
    const Solution s = network.solve(frequency_hz);
    NoiseSlopes result;
    std::vector<Complex> drive(s.x.size());
    for (const NoiseSource& source : circuit.noise) {
        if (!counts[static_cast<std::size_t>(source.group)]) continue;
        const double density = density_at(source, circuit, frequency_hz);
        const Complex t = transfer_of(source.injection, s.y);
        result.v2_hz += density * std::norm(t);
        for (const auto& [equation, weight] : source.injection.terms) {
            if (equation < 0) continue;
            drive[static_cast<std::size_t>(equation)] += density * std::conj(t) * weight;
        }
    }
    const std::vector<Complex> z = network.respond_to(drive);
    for (const ValueSlope& p : slopes) {
        double slope = -2 * product(p, omega, s.y, z).real();
        for (const auto& [source, white] : p.densities) {
            const NoiseSource& at = circuit.noise[source];
            if (!counts[static_cast<std::size_t>(at.group)]) continue;
            slope += white * (1 + at.corner_hz / frequency_hz) *
                     std::norm(transfer_of(at.injection, s.y));
        }
        result.slope_v2_hz.push_back(slope);
    }
    return result;
}

}  // namespace lowhiss
