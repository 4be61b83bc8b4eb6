// The resting point of random transistor circuits, judged by Kirchhoff's current law in fifty
// digits, with laws that are written here anew in the form of textbooks.

#include <boost/multiprecision/cpp_bin_float.hpp>
#include <random>

#include "lowhiss/bias/operating_point.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::random_transistors_test {

using Real = boost::multiprecision::cpp_bin_float_50;

/// Up to four transistors of all kinds between two rails, each pin with a resistor of its own, some
/// coupled to each other, some with feedback.
class RandomBoard {
  public:
    explicit RandomBoard(unsigned seed) : random_(seed) {
        parts_ = fmt::format(
            "VP = {{ voltage_source = {:.4g}, pins = [\"vcc\", \"gnd\"] }}\n"
            "VM = {{ voltage_source = {:.4g}, pins = [\"vee\", \"gnd\"] }}\n"
            "R0 = {{ resistor = \"1k\", pins = [\"in\", \"gnd\"] }}\n",
            within(3, 30), -within(0, 20));
        const int count = 1 + number(4);
        for (int k = 0; k < count; ++k) transistor(std::to_string(k));
        const int links = number(4);
        for (int k = 0; k < links; ++k) {
            resistor(fmt::format("RX{}", k), nodes_[static_cast<std::size_t>(number(3 * count))],
                     nodes_[static_cast<std::size_t>(number(3 * count))], 1.5, 6);
        }
    }

    test::Stage stage() const { return {.parts = parts_, .tables = models_, .tap = nodes_[0]}; }

  private:
    double within(double low, double high) {
        return std::uniform_real_distribution(low, high)(random_);
    }
    double decades(double low, double high) { return std::pow(10, within(low, high)); }
    int number(int below) { return static_cast<int>(random_() % static_cast<unsigned>(below)); }
    bool coin() { return number(2) == 1; }

    void resistor(const std::string& name, const std::string& a, const std::string& b, double low,
                  double high) {
        if (a == b) return;
        parts_ += fmt::format("{} = {{ resistor = {:.4g}, pins = [\"{}\", \"{}\"] }}\n", name,
                              decades(low, high), a, b);
    }

    std::string rail() {
        static constexpr std::array names{"vcc", "vee", "gnd"};
        return names.at(static_cast<std::size_t>(number(3)));
    }

    void transistor(const std::string& k) {
        const bool jfet = coin();
        const bool mirrored = coin();
        const std::string main = "m" + k;
        const std::string control = "b" + k;
        // Now and then the control pin is the output of the transistor before.
        const std::string drive =
            !nodes_.empty() && number(3) == 0 ? nodes_[nodes_.size() - 3] : control;
        const std::string common = "e" + k;
        nodes_.insert(nodes_.end(), {main, drive, common});
        resistor("RM" + k, main, mirrored != (number(5) == 0) ? "vee" : "vcc", 1, 6);
        resistor("RE" + k, common, rail(), 0, 5.5);
        resistor("RB" + k, drive, rail(), 2, 9);
        if (coin()) resistor("RC" + k, drive, rail(), 2, 7);
        if (jfet) {
            models_ += fmt::format(
                "[jfet.t{}]\npolarity = \"{}\"\nsaturation_current = {:.4g}\n"
                "pinch_off_voltage = {:.4g}\nearly_voltage = {:.4g}\ngate_current = {:.4g}\n",
                k, mirrored ? "p" : "n", decades(-4, -1.3), decades(-0.5, 0.9), decades(1, 3),
                decades(-13, -9));
            parts_ += fmt::format(
                "J{0} = {{ jfet = \"t{0}\", drain = \"{1}\", gate = \"{2}\", source = \"{3}\" }}\n",
                k, main, drive, common);
            return;
        }
        models_ += fmt::format(
            "[bipolar.t{}]\npolarity = \"{}\"\ncurrent_gain = {:.4g}\nbase_emitter_voltage = "
            "{:.4g}\nearly_voltage = {:.4g}\nreverse_current_gain = {:.4g}\nbase_resistance = "
            "{:.4g}\n",
            k, mirrored ? "pnp" : "npn", decades(1, 3), within(0.55, 0.75), decades(1, 3),
            decades(-1, 1), coin() ? 0 : decades(0, 2));
        parts_ += fmt::format(
            "Q{0} = {{ bipolar = \"t{0}\", collector = \"{1}\", base = \"{2}\", emitter = \"{3}\" "
            "}}\n",
            k, main, drive, common);
    }

    std::mt19937 random_;
    std::string parts_;
    std::string models_;
    std::vector<std::string> nodes_;
};

/// The currents that leave each node, summed up, and their sizes.
class CurrentLaw {
  public:
    CurrentLaw(const Circuit& circuit, const OperatingPoint& point)
        : point_(point), sum_(circuit.nodes.size()), size_(circuit.nodes.size()) {
        for (const Element& element : circuit.elements) {
            const auto& law = element.law;
            if (const auto* g = std::get_if<Conductance>(&law)) {
                flows(g->a, g->b, g->siemens * (v(g->a) - v(g->b)));
            } else if (const auto* branch = std::get_if<Branch>(&law)) {
                const Real amperes = point.x[static_cast<std::size_t>(branch->current)];
                flows(branch->a, branch->b, amperes);
                const Real drop = v(branch->a) - v(branch->b) - branch->resistance_ohm * amperes;
                CHECK(abs(drop - branch->dc_v) < 1e-9);
            } else if (const auto* t = std::get_if<Transistor>(&law)) {
                transistor(*t);
            } else {
                FAIL("an element of another kind");
            }
        }
    }

    /// The largest sum over its size, above what a nanovolt at a gigaohm is.
    double worst() const {
        double most = 0;
        for (std::size_t k = 1; k < sum_.size(); ++k) {
            const Real allowed = size_[k] + Real(1e-9);
            most = std::max(most, static_cast<double>(Real(abs(sum_[k]) / allowed)));
        }
        return most;
    }

  private:
    Real v(int node) const { return node > 0 ? Real(point_.node_v(node)) : Real(0); }

    void flows(int a, int b, const Real& amperes) {
        sum_[static_cast<std::size_t>(a)] += amperes;
        sum_[static_cast<std::size_t>(b)] -= amperes;
        for (const int node : {a, b}) size_[static_cast<std::size_t>(node)] += abs(amperes);
    }

    void transistor(const Transistor& t) {
        const Real s = t.sign;
        const Real vc = s * (v(t.control) - v(t.common));
        const Real vm = s * (v(t.control) - v(t.main));
        const Real insulation = 1e-15;
        flows(t.main, t.common, insulation * (v(t.main) - v(t.common)));
        flows(t.control, t.common, insulation * (v(t.control) - v(t.common)));
        flows(t.control, t.main, insulation * (v(t.control) - v(t.main)));
        flows(t.main, t.control, s * Real(t.leak_a));
        if (const auto* q = std::get_if<BipolarLaw>(&t.law)) {
            const Real is = q->saturation_a;
            const Real forward = exp(vc / q->thermal_v) - 1;
            const Real backward = exp(vm / q->thermal_v) - 1;
            flows(t.main, t.common, s * is * (forward - backward) * (1 - vm / q->early_v));
            flows(t.control, t.common, s * is / q->current_gain * forward);
            flows(t.control, t.main, s * is / q->reverse_current_gain * backward);
            return;
        }
        const auto& j = std::get<JfetLaw>(t.law);
        const bool exchanged = vm > vc;
        const Real u = (exchanged ? vm : vc) + j.pinch_off_v;
        const Real vds = abs(vc - vm);
        Real id = 0;
        if (u > 0) {
            id = vds >= u ? Real(j.factor_a_v2 * u * u) : Real(j.factor_a_v2 * vds * (2 * u - vds));
            id *= 1 + vds / j.early_v;
        }
        flows(exchanged ? t.common : t.main, exchanged ? t.main : t.common, s * id);
        flows(t.control, t.common, s * j.gate_saturation_a * (exp(vc / j.thermal_v) - 1));
        flows(t.control, t.main, s * j.gate_saturation_a * (exp(vm / j.thermal_v) - 1));
    }

    const OperatingPoint& point_;
    std::vector<Real> sum_;
    std::vector<Real> size_;
};

TEST_CASE("the rest of a thousand random transistor circuits", "[bias][transistors][random]") {
    constexpr unsigned circuits = 1000;
    int refused = 0;
    double worst = 0;
    for (unsigned seed = 1; seed <= circuits; ++seed) {
        CAPTURE(seed);
        const Circuit circuit =
            build_circuit(test::board_of(RandomBoard(seed).stage()), 0, nullptr);
        try {
            const OperatingPoint point = operating_point(circuit);
            const double residual = CurrentLaw(circuit, point).worst();
            worst = std::max(worst, residual);
            // A step that ends within 1 nV + 1e-9 of the one before: an exponential's current is
            // then known to 1e-6 at worst, a square law's far better.
            CHECK(residual < 1e-6);
        } catch (const Error& error) {
            ++refused;
            CHECK(error.kind() == Error::Kind::no_unique_solution);
            CHECK(error.diagnostics().front().code == "no-operating-point");
        }
    }
    CAPTURE(worst);
    // None of these circuits is without a resting point.
    CHECK(refused == 0);
}

}  // namespace lowhiss::random_transistors_test
