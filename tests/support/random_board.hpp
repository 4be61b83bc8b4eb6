#pragma once

#include <fmt/format.h>

#include <cmath>
#include <random>
#include <string>

#include "support/stage.hpp"

namespace lowhiss::test {

/// A circuit of 5 to 40 nodes with parts of most kinds, their values spread over twelve decades:
/// not a useful one, but it has a solution more often than not.
class RandomBoard {
  public:
    explicit RandomBoard(unsigned seed) : random_(seed), nodes_(whole(5, 40)) {
        for (int node = 1; node <= nodes_; ++node) two_pole(whole(0, node - 1), node);
        for (int k = whole(nodes_ / 3, nodes_); k > 0; --k) two_pole(any_node(), any_node());
        for (int k = whole(0, nodes_ / 5); k > 0; --k) active();
        parts_ += "SB = { link = \"closed\", pins = [\"in\", \"n1\"] }\n";
    }

    Stage stage() const {
        return {.parts = parts_,
                .capsule = "kind = \"resistive\"\nresistance = 200\n",
                .tables =
                    "[opamp.fast]\nopen_loop_gain = 1e6\ngain_bandwidth = 5e7\n"
                    "output_resistance = 40\ninput_capacitance = 8e-12\n"
                    "[opamp.slow]\nopen_loop_gain = 3e4\ngain_bandwidth = 1e6\n"
                    "second_pole = 4e6\ncmrr = 1e4\ninput_resistance = 3e5\n",
                .tap = name(nodes_)};
    }

    double frequency_hz() { return decades(0, 6); }

  private:
    int whole(int from, int to) { return std::uniform_int_distribution<int>(from, to)(random_); }
    double decades(double from, double to) {
        return std::pow(10, std::uniform_real_distribution<double>(from, to)(random_));
    }
    int any_node() { return whole(0, nodes_); }
    static std::string name(int node) { return node == 0 ? "gnd" : fmt::format("n{}", node); }
    std::string next(const char* letter) { return fmt::format("{}{}", letter, ++count_); }

    void two_pole(int a, int b) {
        const std::string pins = fmt::format("pins = [\"{}\", \"{}\"]", name(a), name(b));
        switch (whole(0, 5)) {
            case 0:
                parts_ += fmt::format("{} = {{ inductor = {}, {}, series_resistance = {} }}\n",
                                      next("L"), decades(-9, 3), pins, decades(-3, 3));
                return;
            case 1:
            case 2:
                parts_ += fmt::format("{} = {{ capacitor = {}, {} }}\n", next("C"),
                                      decades(-14, -2), pins);
                return;
            default:
                parts_ +=
                    fmt::format("{} = {{ resistor = {}, {} }}\n", next("R"), decades(-3, 9), pins);
        }
    }

    void active() {
        const std::string a = name(any_node());
        const std::string b = name(any_node());
        const std::string out = name(whole(1, nodes_));
        switch (whole(0, 3)) {
            case 0:
                parts_ += fmt::format(
                    "{} = {{ opamp = \"{}\", plus = \"{}\", minus = \"{}\", "
                    "out = \"{}\" }}\n",
                    next("U"), whole(0, 1) ? "fast" : "slow", a, b, out);
                return;
            case 1:
                parts_ += fmt::format(
                    "{} = {{ voltage_gain = {}, control = [\"{}\", \"{}\"], "
                    "pins = [\"{}\", \"gnd\"] }}\n",
                    next("E"), decades(-6, 6), a, b, out);
                return;
            case 2:
                parts_ += fmt::format(
                    "{} = {{ transformer = {{ ratio = {}, primary_inductance = {}, "
                    "coupling = 0.99, primary_resistance = {}, "
                    "secondary_resistance = {} }}, primary = [\"{}\", \"gnd\"], "
                    "secondary = [\"{}\", \"gnd\"] }}\n",
                    next("T"), decades(-1, 1), decades(-6, 2), decades(-3, 3), decades(-3, 3),
                    name(whole(1, nodes_)), out);
                return;
            default:
                parts_ += fmt::format(
                    "{} = {{ transconductance = {}, control = [\"{}\", \"{}\"], "
                    "pins = [\"{}\", \"{}\"] }}\n",
                    next("G"), decades(-9, 3), a, b, out, name(any_node()));
        }
    }

    std::mt19937 random_;
    int nodes_;
    int count_ = 0;
    std::string parts_;
};

}  // namespace lowhiss::test
