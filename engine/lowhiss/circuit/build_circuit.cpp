#include <algorithm>

#include "lowhiss/circuit/builder.hpp"
#include "lowhiss/circuit/floating_windings.hpp"

namespace lowhiss {
namespace {

bool turned_by_knob(const Board& board, const std::string& part) {
    if (!board.knob) return false;
    const auto& gang = board.knob->parts;
    return std::find(gang.begin(), gang.end(), part) != gang.end();
}

double rotation_of(const Board& board, const Part& part, double knob_rotation) {
    const auto* potentiometer = std::get_if<Potentiometer>(&part.data);
    if (!potentiometer) return unset;
    return turned_by_knob(board, part.name) ? knob_rotation : potentiometer->position;
}

double knob_ohm(const Board& board, double rotation) {
    const Part* part = board.knob ? find_part(board, board.knob->parts.front()) : nullptr;
    return part ? track_ohm(std::get<Potentiometer>(part->data), rotation).first : unset;
}

/// The load and the cable capacitance. The load is noiseless: its noise is not the board's.
void add_output(const Output& output, CircuitBuilder& builder) {
    builder.begin_part("load", output.plus.at);
    Circuit& circuit = builder.circuit();
    circuit.output_plus = builder.node(output.plus.node);
    circuit.output_minus = builder.node(output.minus.node);
    builder.resistor(circuit.output_plus, circuit.output_minus, output.load_ohm, false);
    builder.capacitance(circuit.output_plus, circuit.output_minus, output.cable_f);
}

/// The phantom feed: a voltage source and two resistors inside the recorder.
void add_feed(const Feed& feed, CircuitBuilder& builder) {
    builder.begin_part(std::string(feed_part), feed.at);
    const int plus = builder.node(feed.plus.node);
    const int minus = builder.node(feed.minus.node);
    const int ret = builder.node(feed.ret.node);
    const int voltage = builder.inner_node("voltage");
    const int current = builder.branch(voltage, ret, 0, 0, feed.voltage_v);
    builder.supply_source(current);
    builder.noise_voltage(Mechanism::voltage_noise, current, feed.noise_v_rthz * feed.noise_v_rthz,
                          0);
    builder.resistor(voltage, plus, feed.resistance_ohm * (1 + feed.mismatch / 2), true);
    builder.resistor(voltage, minus, feed.resistance_ohm * (1 - feed.mismatch / 2), true);
}

}  // namespace

Circuit build_circuit(const Board& board, double rotation, const Capsule* capsule, Drive drive) {
    CircuitBuilder builder(board);
    for (const Part& part : board.parts) {
        if (part.fitted) {
            add_part(part, board.models, rotation_of(board, part, rotation), builder);
        }
    }
    if (board.feed) add_feed(*board.feed, builder);
    add_source(capsule, board.input, drive, builder);
    add_output(board.output, builder);
    builder.circuit().knob_ohm = knob_ohm(board, rotation);
    hold_floating_windings(builder.circuit());
    return builder.finish();
}

}  // namespace lowhiss
