// Bytes as a circuit that is valid by its making: the fast path against the reference path, and the
// law that a passive network gives no more power than its source has to give.

#include <fuzzer/FuzzedDataProvider.h>

#include <cmath>
#include <cstdlib>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/topology/check.hpp"

using namespace lowhiss;

namespace {

constexpr double source_ohm = 200;
constexpr double load_ohm = 1000;

class Maker {
  public:
    explicit Maker(FuzzedDataProvider& bytes) : bytes_(bytes) {}

    Board make() {
        nodes_ = bytes_.ConsumeIntegralInRange<int>(2, 8);
        Capsule capsule;
        capsule.name = "source";
        capsule.impedance = ResistiveCapsule{source_ohm};
        board_.models.capsules["source"] = capsule;
        OpAmpModel amp;
        amp.open_loop_gain = 1e5;
        amp.gain_bandwidth_hz = 1e7;
        amp.common.output_resistance_ohm = 40;
        amp.common.psrr = 1e4;
        board_.models.opamps["amp"] = amp;
        board_.input.plus.node = "n1";
        board_.input.minus.node = "gnd";
        board_.input.capsule = "source";
        board_.output.plus.node = name(nodes_);
        board_.output.minus.node = "gnd";
        board_.output.load_ohm = load_ohm;
        for (int k = 2; k <= nodes_; ++k) two_pole(k - 1, k);
        for (int count = bytes_.ConsumeIntegralInRange<int>(0, 24); count > 0; --count) part();
        return std::move(board_);
    }

    bool passive = true;

  private:
    static std::string name(int node) { return node == 0 ? "gnd" : "n" + std::to_string(node); }
    int node() { return bytes_.ConsumeIntegralInRange<int>(0, nodes_); }
    double decades(int from, int to) {
        return std::pow(10.0, from + (to - from) * bytes_.ConsumeProbability<double>());
    }

    void add(PartData data, std::vector<int> nodes) {
        Part part;
        part.name = "P" + std::to_string(board_.parts.size());
        part.data = std::move(data);
        for (const int each : nodes) part.pins.push_back({name(each), {}});
        board_.parts.push_back(std::move(part));
    }

    void two_pole(int a, int b) {
        switch (bytes_.ConsumeIntegralInRange<int>(0, 2)) {
            case 0: {
                Capacitor c;
                c.capacitance_f = decades(-14, -2);
                return add(c, {a, b});
            }
            case 1: {
                Inductor l;
                l.inductance_h = decades(-9, 3);
                l.series_resistance_ohm = decades(-3, 3);
                return add(l, {a, b});
            }
            default: {
                Resistor r;
                r.resistance_ohm = decades(-3, 9);
                return add(r, {a, b});
            }
        }
    }

    void part() {
        if (bytes_.ConsumeIntegralInRange<int>(0, 7) > 0) return two_pole(node(), node());
        passive = false;
        add(OpAmp{"amp"}, {node(), node(), node()});
    }

    FuzzedDataProvider& bytes_;
    int nodes_ = 2;
    Board board_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    FuzzedDataProvider bytes(data, size);
    Maker maker(bytes);
    const Board board = maker.make();
    const double f_hz = std::pow(10.0, 6 * bytes.ConsumeProbability<double>());
    const Capsule& capsule = board.models.capsules.at("source");
    const double rotation = 0;
    if (has_errors(check_assembly(board, &capsule, {&rotation, 1}))) return 0;
    try {
        Network network(build_circuit(board, 0, &capsule));
        const Complex gain = network.respond(f_hz).gain;
        ReferenceSolver reference(network.pencil());
        reference.factorise(f_hz);
        std::vector<Complex> b(static_cast<std::size_t>(network.pencil().size));
        b[static_cast<std::size_t>(network.circuit().emf_current)] = 1;
        const Complex expected = node_voltage(reference.solve(b), network.circuit().output_plus);
        // What `respond` promises of a gain, twice.
        if (std::abs(gain - expected) > 2e-5 * std::max(std::abs(gain), 1e-6)) std::abort();
        // The load gets no more than the source's available power, 1 V^2 / (4 Rs).
        const double most = std::sqrt(load_ohm / source_ohm) / 2;
        if (maker.passive && std::abs(gain) > most * (1 + 1e-5)) std::abort();
    } catch (const Error& error) {
        if (error.kind() != Error::Kind::no_unique_solution) std::abort();
    } catch (const Singular&) {
        return 0;
    }
    return 0;
}
