// Random boards with direct current: none is refused, and every solution obeys the laws of the
// parts, which are written here anew from data-sheet figures and share nothing with the engine's
// equations.

#include <fmt/format.h>

#include <random>

#include "lowhiss/bias/operating_point.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::random_supplies_test {

/// A board whose sources are strong and whose amplifiers have negative feedback: its laws are
/// continuous and rise with the voltages, so that it has one solution.
class BoardMaker {
  public:
    explicit BoardMaker(unsigned seed) : draw_(seed) {}

    test::Stage make() {
        source();
        const int amplifiers = 1 + number(3);
        for (int k = 1; k <= amplifiers; ++k) amplifier(std::to_string(k));
        for (int k = 1; k <= 2 + number(4); ++k) between(std::to_string(k));
        parts_ +=
            "R98 = { resistor = \"1k\", pins = [\"out\", \"o1\"] }\n"
            "R99 = { resistor = \"1k\", pins = [\"in\", \"gnd\"] }\n";
        return {.parts = parts_, .tables = models_};
    }

  private:
    int number(int count) { return static_cast<int>(draw_() % static_cast<unsigned>(count)); }
    double within(double low, double high) {
        return low + (high - low) * (static_cast<double>(draw_()) / 4294967296.0);
    }
    double decades(double low, double high) { return std::pow(10, within(low, high)); }
    bool coin() { return number(2) == 0; }
    std::string node() {
        return nodes_[static_cast<std::size_t>(number(static_cast<int>(nodes_.size())))];
    }

    void resistor(const std::string& name, double ohm, const std::string& a, const std::string& b) {
        parts_ +=
            fmt::format("{} = {{ resistor = {:.6g}, pins = [\"{}\", \"{}\"] }}\n", name, ohm, a, b);
    }

    void source() {
        parts_ += fmt::format("V1 = {{ voltage_source = {:.6g}, pins = [\"cell\", \"gnd\"] }}\n",
                              within(6, 12));
        resistor("RV1", within(0.01, 0.5), "cell", "raw");
        switch (number(3)) {
            case 0:
                parts_ += fmt::format(
                    "PS1 = {{ regulator = \"5 V\", input = \"raw\", out = \"vcc\", dropout = "
                    "\"{} V\", quiescent_current = \"1 mA\", output_resistance = {} }}\n",
                    coin() ? "0.3" : "3", coin() ? 0.0 : 0.5);
                break;
            case 1:
                parts_ += fmt::format(
                    "PS1 = {{ converter = \"{} V\", input = \"raw\", out = \"vcc\", input_min = "
                    "\"2 V\", quiescent_current = \"2 mA\" }}\n",
                    coin() ? 12 : 5);
                break;
            default:
                resistor("RV2", coin() ? 0 : decades(0, 3), "raw", "vcc");
        }
        switch (number(4)) {
            case 0:
                parts_ +=
                    "PS2 = { converter = \"-9 V\", input = \"raw\", out = \"vee\", input_min "
                    "= \"2 V\" }\n";
                break;
            case 1:
                parts_ += "V2 = { voltage_source = \"-9 V\", pins = [\"neg\", \"gnd\"] }\n";
                resistor("RV3", decades(-1, 3), "neg", "vee");
                break;
            case 2:
                parts_ += "V2 = { voltage_source = \"5 V\", pins = [\"gnd\", \"vee\"] }\n";
                break;
            default:
                resistor("RV3", 0, "vee", "gnd");
        }
        nodes_ = {"gnd", "raw", "vcc", "vee"};
        parts_ += fmt::format("V3 = {{ voltage_source = {:.6g}, pins = [\"ref\", \"gnd\"] }}\n",
                              within(-4, 4));
        nodes_.push_back("ref");
    }

    void amplifier(const std::string& k) {
        models_ += fmt::format(R"(
[opamp.a{}]
open_loop_gain = "100 dB"
gain_bandwidth = "10 MHz"
supply_min = {:.6g}
supply_current = {:.6g}
swing_from_positive_rail = {:.6g}
swing_from_negative_rail = {:.6g}
bias_current = {:.6g}
output_resistance = {:.6g}
)",
                               k, within(2, 20), decades(-4, -2.3), within(0, 2), within(0, 2),
                               coin() ? 0 : decades(-9, -6), coin() ? 0 : decades(0, 2));
        parts_ += fmt::format(
            "U{0} = {{ opamp = \"a{0}\", plus = \"p{0}\", minus = \"n{0}\", out = \"o{0}\", supply "
            "= [\"vcc\", \"vee\"] }}\n",
            k);
        resistor("RF" + k, decades(3, 5), "o" + k, "n" + k);
        resistor("RG" + k, decades(3, 6), "n" + k, coin() ? "gnd" : node());
        resistor("RA" + k, decades(3, 6), "p" + k, node());
        resistor("RB" + k, decades(3, 6), "p" + k, node());
        resistor("RL" + k, decades(2.3, 5), "o" + k, node());
        nodes_.push_back("o" + k);
    }

    void between(const std::string& k) {
        const std::string inner = "x" + k;
        resistor("RX" + k, decades(2.5, 5), node(), inner);
        const std::string other = node();
        switch (number(3)) {
            case 0:
                parts_ +=
                    fmt::format("D{} = {{ diode = \"0.6 V\", anode = \"{}\", cathode = \"{}\" }}\n",
                                k, inner, other);
                break;
            case 1:
                parts_ += fmt::format(
                    "D{} = {{ zener = {:.6g}, dynamic_resistance = {:.6g}, anode = \"{}\", cathode "
                    "= \"{}\" }}\n",
                    k, within(2, 9), decades(0.5, 2), other, inner);
                break;
            default:
                resistor("RY" + k, decades(3, 6), inner, other);
        }
    }

    std::mt19937 draw_;
    std::string parts_;
    std::string models_;
    std::vector<std::string> nodes_;
};

/// Holds an operating point against the laws: the currents of a node add up to nothing, and the
/// voltages are those of each part's law.
class LawCheck {
  public:
    LawCheck(const Circuit& circuit, const OperatingPoint& point)
        : circuit_(circuit),
          point_(point),
          sum_(circuit.nodes.size()),
          size_(circuit.nodes.size()) {}

    void check() {
        for (const Element& element : circuit_.elements) look(element);
        for (std::size_t k = 1; k < sum_.size(); ++k) {
            CAPTURE(circuit_.nodes[k]);
            // A nanovolt off is 4e-8 of a junction's current; a leak of 1 pS counts for nothing.
            CHECK_THAT(sum_[k], WithinAbs(0, 2e-7 * size_[k] + 1e-10));
        }
    }

  private:
    double v(int node) const { return point_.node_v(node); }
    double current(int unknown) const { return point_.x[static_cast<std::size_t>(unknown)]; }
    void leaves(int node, double amperes) {
        sum_[static_cast<std::size_t>(node)] += amperes;
        size_[static_cast<std::size_t>(node)] += std::abs(amperes);
    }
    void flows(int a, int b, double amperes) {
        leaves(a, amperes);
        leaves(b, -amperes);
    }

    void look(const Element& element) {
        if (const auto* r = std::get_if<Conductance>(&element.law)) {
            flows(r->a, r->b, r->siemens * (v(r->a) - v(r->b)));
        } else if (const auto* branch = std::get_if<Branch>(&element.law)) {
            flows(branch->a, branch->b, current(branch->current));
            CHECK_THAT(v(branch->a) - v(branch->b) - branch->dc_v,
                       WithinAbs(branch->resistance_ohm * current(branch->current), 1e-8));
        } else if (const auto* junction = std::get_if<Junction>(&element.law)) {
            look(*junction);
        } else if (const auto* amplifier = std::get_if<Amplifier>(&element.law)) {
            look(*amplifier);
        } else if (const auto* stage = std::get_if<RegulatorStage>(&element.law)) {
            look(*stage);
        }
    }

    void look(const Junction& e) {
        const double volts = v(e.a) - v(e.b);
        double amperes = e.saturation_a * std::expm1(volts / e.slope_v);
        if (e.breakdown_a > 0) {
            // In proportion to e^(u / V) - 1 of the reverse voltage u, so that none flows at 0 V.
            const double at_zero = e.breakdown_a * std::exp(-e.breakdown_v / e.breakdown_slope_v);
            amperes -= at_zero * std::expm1(-volts / e.breakdown_slope_v);
        }
        flows(e.a, e.b, amperes);
    }

    void look(const Amplifier& e) {
        const AmplifierSupply& s = e.supply;
        for (const int input : {e.plus, e.minus}) leaves(input, s.bias_a);
        const double delivered = current(e.current);
        leaves(e.out, -delivered);
        leaves(delivered > 0 ? s.plus : s.minus, delivered);
        const double supply_v = v(s.plus) - v(s.minus);
        const double least_v = std::max(s.min_v, 1.0);
        flows(s.plus, s.minus, s.current_a * std::clamp(supply_v / least_v, 0.0, 1.0));
        const double low_v = v(s.minus) + s.from_minus_v;
        const double high_v = v(s.plus) - s.from_plus_v;
        const double difference_v = v(e.plus) - v(e.minus);
        const double inner_v = v(e.out) + e.output_resistance_ohm * delivered;
        if (high_v < low_v) {
            const double both_v = s.from_plus_v + s.from_minus_v;
            const double share = both_v > 0 ? s.from_minus_v / both_v : 0.5;
            CHECK_THAT(v(e.out), WithinAbs(v(s.minus) + share * supply_v, 1e-8));
            return;
        }
        // Either the loop holds it, or it is at the rail that the loop would pass.
        const double error_v = difference_v - inner_v * e.inverse_gain;
        CHECK(v(e.out) < high_v + 1e-8);
        CHECK(v(e.out) > low_v - 1e-8);
        if (v(e.out) < high_v - 1e-7) CHECK(error_v < 1e-8);
        if (v(e.out) > low_v + 1e-7) CHECK(error_v > -1e-8);
    }

    void look(const RegulatorStage& e) {
        const Regulator& r = e.figures;
        const double sign = r.output_v < 0 ? -1 : 1;
        const bool converter = r.kind == Regulator::Kind::converter;
        const double in_v = v(e.in) - v(e.reference);
        const double out_v = v(e.out) - v(e.reference);
        const double delivered = current(e.current);
        const bool works = !converter || in_v >= r.input_min_v;
        const double able_v = converter ? (works      ? r.output_v
                                           : sign > 0 ? std::max(in_v, 0.0)
                                                      : 0)
                                        : std::clamp(in_v - r.dropout_v, 0.0, r.output_v);
        flows(e.out, e.reference, -delivered);
        const double ratio = converter && works ? out_v / (r.efficiency * in_v) : 1;
        flows(e.in, e.reference,
              delivered * ratio + r.quiescent_current_a * std::clamp(in_v / 1.0, 0.0, 1.0));
        // It gives current and holds its voltage, or it gives none and its output is higher.
        CHECK(sign * delivered > -1e-10);  // a leak of 1 pS
        const double over_v = sign * (out_v + r.output_resistance_ohm * delivered - able_v);
        CHECK(over_v > -1e-8);
        if (sign * delivered > 1e-9) CHECK(over_v < 1e-8);
    }

    const Circuit& circuit_;
    const OperatingPoint& point_;
    std::vector<double> sum_;
    std::vector<double> size_;
};

TEST_CASE("random boards with direct current are solved, and obey the laws", "[operating]") {
    int below_ground = 0;
    int starved = 0;
    for (unsigned seed = 1; seed <= 300; ++seed) {
        const test::Stage stage = BoardMaker(seed).make();
        CAPTURE(seed, stage.parts, stage.tables);
        const Circuit circuit = build_circuit(test::board_of(stage), 0, nullptr);
        try {
            const OperatingPoint point = operating_point(circuit);
            LawCheck(circuit, point).check();
            for (const Element& element : circuit.elements) {
                const auto* amplifier = std::get_if<Amplifier>(&element.law);
                if (!amplifier) continue;
                const AmplifierSupply& s = amplifier->supply;
                below_ground += point.node_v(amplifier->out) < 0 ? 1 : 0;
                starved += point.node_v(s.plus) - point.node_v(s.minus) < s.min_v ? 1 : 0;
            }
        } catch (const Error& error) {
            FAIL_CHECK(to_text(error.diagnostics().front()));
        }
    }
    CHECK(below_ground > 50);
    CHECK(starved > 50);
}

}  // namespace lowhiss::random_supplies_test
