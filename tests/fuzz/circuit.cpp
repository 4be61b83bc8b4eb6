// Bytes as a circuit that is valid by construction: the fast path against the extended path, and
// two laws of passive networks: they deliver no more than the available power of their source, and
// they are reciprocal.

#include <fuzzer/FuzzedDataProvider.h>

#include <cmath>
#include <cstdlib>
#include <limits>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/solver/extended.hpp"
#include "lowhiss/topology/check.hpp"
#include "support/made_board.hpp"

using namespace lowhiss;

namespace {

struct Bytes {
    FuzzedDataProvider provider;
    int whole(int from, int to) { return provider.ConsumeIntegralInRange<int>(from, to); }
    double unit() { return provider.ConsumeProbability<double>(); }
};
using Maker = test::BoardMaker<Bytes>;

/// Twice the accuracy that `respond` promises for a gain; where it found none, extended precision
/// finds none that the values decide.
void hold_against_extended(const Network& network, Complex gain, double f_hz) {
    ExtendedSolver extended(network.pencil());
    extended.factorise(f_hz);
    std::vector<Complex> b(static_cast<std::size_t>(network.pencil().size));
    b[static_cast<std::size_t>(network.circuit().emf_current)] = 1;
    const auto expected = extended.transfer(b, network.output_selection());
    const double most = gain == 0.0 ? expected.bound : 2e-9 * std::abs(expected.gain);
    if (std::abs(gain - expected.gain) > most) std::abort();
}

/// The load gets no more than the source's available power, 1 V^2 / (4 Rs).
void hold_against_power(Complex gain) {
    const double most = std::sqrt(Maker::load_ohm / Maker::source_ohm) / 2;
    if (std::abs(gain) > most * (1 + 1e-5)) std::abort();
}

/// The change of y^T A x by rounding of A, to first order.
double uncertainty(const Pencil& pencil, double f_hz, const std::vector<Complex>& y,
                   const std::vector<Complex>& x) {
    std::vector<Complex> values(static_cast<std::size_t>(pencil.slots()));
    evaluate(pencil, f_hz, values);
    double sum = 0;
    for (std::size_t j = 0; j < x.size(); ++j) {
        for (int slot = pencil.column_start[j]; slot < pencil.column_start[j + 1]; ++slot) {
            const auto k = static_cast<std::size_t>(slot);
            sum += std::abs(y[static_cast<std::size_t>(pencil.row[k])]) * std::abs(values[k]) *
                   std::abs(x[j]);
        }
    }
    return std::numeric_limits<double>::epsilon() * sum;
}

/// The voltage at the last node of a current into the first is that at the first of a current into
/// the last.
void hold_against_reciprocity(Network& network, double f_hz) {
    const int last = network.circuit().output_plus;
    const int first = network.circuit().input_plus;
    (void)network.solve(f_hz);
    const std::vector<Complex> forward = network.respond_to_unit(first - 1);
    const std::vector<Complex> backward = network.respond_to_unit(last - 1);
    std::vector<Complex> at_last(forward.size());
    at_last[static_cast<std::size_t>(last) - 1] = 1;
    const std::vector<Complex> adjoint = network.adjoint_of(at_last);
    const Complex there = node_voltage(forward, last);
    const Complex back = node_voltage(backward, first);
    // A backward error of 1e-13 is 450 epsilon, on either side.
    const double most = 1000 * uncertainty(network.pencil(), f_hz, adjoint, forward);
    if (std::abs(there - back) > most) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    Bytes bytes{FuzzedDataProvider(data, size)};
    const double f_hz = std::pow(10.0, 6 * bytes.unit());
    const auto [board, nodes, passive] = Maker(bytes, 2, 12).make();
    const Capsule& capsule = board.models.capsules.at("source");
    const double rotation = 0;
    if (has_errors(check_assembly(board, &capsule, {&rotation, 1}))) return 0;
    try {
        Network network(build_circuit(board, 0, &capsule));
        const Complex gain = network.respond(f_hz).gain;
        hold_against_extended(network, gain, f_hz);
        if (!passive) return 0;
        hold_against_power(gain);
        hold_against_reciprocity(network, f_hz);
    } catch (const Error& error) {
        if (error.kind() != Error::Kind::no_unique_solution) std::abort();
    }
    return 0;
}
