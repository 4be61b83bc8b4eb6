#pragma once

#include <cmath>
#include <concepts>
#include <string>
#include <utility>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss::test {

/// The source of a made board's choices: random numbers, or a fuzzer's bytes.
template <class T>
concept Choices = requires(T choices) {
    { choices.whole(0, 1) } -> std::same_as<int>;       ///< both ends included
    { choices.unit() } -> std::convertible_to<double>;  ///< 0 to 1
};

struct MadeBoard {
    Board board;
    int nodes;
    bool passive = true;
};

/// A valid board from any choices: a chain of two-poles from node 1, where a 200 ohm capsule
/// drives, to the last, where 1 kohm loads; between any of them more two-poles, transformers,
/// amplifiers and controlled sources, of values over twelve decades.
template <Choices Source>
class BoardMaker {
  public:
    static constexpr double source_ohm = 200;
    static constexpr double load_ohm = 1000;

    BoardMaker(Source& choices, int fewest_nodes, int most_nodes) : choices_(choices) {
        made_.nodes = choices_.whole(fewest_nodes, most_nodes);
    }

    MadeBoard make() {
        set_ends();
        for (int k = 2; k <= made_.nodes; ++k) two_pole(choices_.whole(0, 3) ? k - 1 : node(), k);
        for (int count = choices_.whole(0, made_.nodes); count > 0; --count) {
            two_pole(node(), node());
        }
        for (int count = choices_.whole(0, 1 + made_.nodes / 5); count > 0; --count) {
            choices_.whole(0, 1) ? transformer() : active();
        }
        return std::move(made_);
    }

  private:
    static std::string name(int node) { return node == 0 ? "gnd" : "n" + std::to_string(node); }
    int node() { return choices_.whole(0, made_.nodes); }
    double decades(double from, double to) {
        return std::pow(10.0, from + (to - from) * choices_.unit());
    }

    void set_ends() {
        Board& board = made_.board;
        Capsule capsule;
        capsule.name = "source";
        capsule.impedance = ResistiveCapsule{source_ohm};
        board.models.capsules["source"] = capsule;
        OpAmpModel fast;
        fast.open_loop_gain = 1e6;
        fast.gain_bandwidth_hz = 5e7;
        fast.common.output_resistance_ohm = 40;
        fast.common.input_capacitance_f = 8e-12;
        board.models.opamps["fast"] = fast;
        OpAmpModel slow;
        slow.open_loop_gain = 3e4;
        slow.gain_bandwidth_hz = 1e6;
        slow.second_pole_hz = 4e6;
        slow.common.cmrr = 1e4;
        slow.common.psrr = 1e4;
        slow.common.input_resistance_ohm = 3e5;
        board.models.opamps["slow"] = slow;
        board.input.plus.node = "n1";
        board.input.minus.node = "gnd";
        board.input.capsule = "source";
        board.output.plus.node = name(made_.nodes);
        board.output.minus.node = "gnd";
        board.output.load_ohm = load_ohm;
    }

    void add(PartData data, const std::vector<int>& nodes) {
        Part part;
        part.name = "P" + std::to_string(made_.board.parts.size());
        part.data = std::move(data);
        for (const int each : nodes) part.pins.push_back({name(each), {}});
        made_.board.parts.push_back(std::move(part));
    }

    void two_pole(int a, int b) {
        switch (choices_.whole(0, 5)) {
            case 0: {
                Inductor l;
                l.inductance_h = decades(-9, 3);
                l.series_resistance_ohm = decades(-3, 3);
                return add(l, {a, b});
            }
            case 1:
            case 2: {
                Capacitor c;
                c.capacitance_f = decades(-14, -2);
                return add(c, {a, b});
            }
            default: {
                Resistor r;
                r.resistance_ohm = decades(-3, 9);
                return add(r, {a, b});
            }
        }
    }

    void transformer() {
        Transformer t;
        t.ratio = decades(-1, 1);
        t.primary_inductance_h = decades(-6, 2);
        t.coupling = 0.99;
        t.primary_resistance_ohm = decades(-3, 3);
        t.secondary_resistance_ohm = decades(-3, 3);
        add(t, {node(), node(), node(), node()});
    }

    void active() {
        made_.passive = false;
        if (choices_.whole(0, 1)) {
            return add(OpAmp{choices_.whole(0, 1) ? "fast" : "slow"}, {node(), node(), node()});
        }
        ControlledSource source;
        const bool voltage = choices_.whole(0, 1) == 1;
        source.kind = voltage ? ControlledSource::Kind::voltage_gain
                              : ControlledSource::Kind::transconductance;
        source.gain = voltage ? decades(-6, 6) : decades(-9, 3);
        add(source, {node(), node(), node(), node()});
    }

    Source& choices_;
    MadeBoard made_;
};

}  // namespace lowhiss::test
