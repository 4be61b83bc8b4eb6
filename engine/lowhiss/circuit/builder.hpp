#pragma once

#include <array>
#include <map>
#include <string>
#include <unordered_map>
#include <utility>

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {

/// Builds a circuit of nodes, unknowns, elements and noise sources from parts that are added one at
/// a time. The unknowns of elements have provisional numbers while nodes are still added; `finish`
/// puts them behind the nodes.
class CircuitBuilder {
  public:
    explicit CircuitBuilder(const Board& board);

    void begin_part(const std::string& name, const Position& at);
    int node(const std::string& name);
    int inner_node(const std::string& suffix);
    int own_unknown(Unknown unknown);  ///< of the part that is being added
    int add(ElementLaw law);

    /// A resistance in series form, which may be exactly zero. Returns its current.
    int branch(int a, int b, double resistance_ohm, double inductance_h = 0, double dc_v = 0);
    void resistor(int a, int b, double resistance_ohm, bool noisy);
    /// Returns its charge.
    int series_capacitor(int a, int b, double farad, double resistance_ohm);
    void capacitance(int a, int b, double farad);

    void noise_current(Mechanism mechanism, int a, int b, double density, double corner_hz);
    void noise_voltage(Mechanism mechanism, int unknown, double density, double corner_hz);
    /// One white source in the laws of two unknowns, each with its weight.
    void noise_voltages(Mechanism mechanism, std::array<int, 2> unknowns,
                        std::array<double, 2> weights, double density);
    void measured_noise(int unknown, int element);
    void shot_noise(int a, int b, int element);
    /// A noise current of a transistor that follows from its operating point.
    void transistor_noise(Mechanism mechanism, int a, int b, int element, double corner_hz,
                          double channel_v2_hz = unset);
    /// Lists the part that is being added as a supply, its voltage set by this equation.
    void supply_source(int equation);
    double thermal_v2_hz(double ohm) const { return 4 * boltzmann_j_k * temperature_k_ * ohm; }

    Circuit& circuit() { return circuit_; }
    Circuit finish();

  private:
    int group(Mechanism mechanism);
    int last_part() const { return static_cast<int>(circuit_.parts.size()) - 1; }

    Circuit circuit_;
    std::vector<int> node_owners_{-1};  ///< parallel to circuit_.nodes
    std::vector<int> own_unknown_owners_;
    double temperature_k_;
    std::unordered_map<std::string, int> node_index_;
    std::vector<Unknown> own_unknowns_;
    std::map<std::pair<int, Mechanism>, int> group_index_;
};

void add_part(const Part& part, const Models& models, double rotation, CircuitBuilder& builder);
void add_source(const Capsule* capsule, const Input& input, Drive drive, CircuitBuilder& builder);

}  // namespace lowhiss
