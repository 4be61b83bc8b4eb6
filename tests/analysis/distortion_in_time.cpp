// Harmonics held against time: the equations of six circuits, written here once more by hand, are
// integrated by Boost.Odeint until they have come to rest, and the last period is analysed by
// Fourier. The levels are so small that terms of higher order stay under 1 %; harmonics agree to 2
// %.

#include <array>
#include <boost/numeric/odeint.hpp>
#include <cmath>
#include <complex>
#include <functional>
#include <numbers>

#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::distortion_in_time_test {

constexpr double tone_hz = 1000;
constexpr double within = 0.02;
const std::string at_25_mv = "temperature = \"290.11295 K\"";
constexpr double vt = 0.025;

using State = std::array<double, 2>;
/// The slopes of the state, and the output, at a source voltage.
struct Equations {
    std::function<State(const State&, double)> slopes;
    std::function<double(const State&, double)> output;
    State start{};
};

struct Sizes {
    double second, third;  ///< over the fundamental
};

Sizes in_time(const Equations& equations, double peak_v) {
    namespace ode = boost::numeric::odeint;
    constexpr int settling = 40;  // periods
    constexpr int samples = 256;
    const auto source = [&](double t) {
        return peak_v * std::cos(2 * std::numbers::pi * tone_hz * t);
    };
    const auto system = [&](const State& x, State& slopes, double t) {
        slopes = equations.slopes(x, source(t));
    };
    const auto stepper = ode::make_controlled<ode::runge_kutta_dopri5<State>>(1e-12, 1e-10);
    State x = equations.start;
    const double step = 1 / tone_hz / samples;
    ode::integrate_adaptive(stepper, system, x, 0.0, settling / tone_hz, step / 100);
    std::array<std::complex<double>, 4> sums{};
    for (int k = 0; k < samples; ++k) {
        const double t = settling / tone_hz + k * step;
        const double out = equations.output(x, source(t));
        for (int n = 1; n <= 3; ++n) {
            sums[static_cast<std::size_t>(n)] +=
                out * std::polar(1.0, -2 * std::numbers::pi * n * k / samples);
        }
        ode::integrate_adaptive(stepper, system, x, t, t + step, step / 10);
    }
    return {std::abs(sums[2] / sums[1]), std::abs(sums[3] / sums[1])};
}

void agrees(const test::Stage& stage, const Equations& equations, double peak_v) {
    const Board board = test::board_of(stage);
    Setting setting(board, nullptr, 0);
    const Harmonics& h = setting.harmonics(tone_hz);
    const double second = std::abs(h.second / h.gain) * peak_v;
    const double third = std::abs(h.third / h.gain) * peak_v * peak_v;
    const Sizes expected = in_time(equations, peak_v);
    if (expected.second > 1e-7) CHECK(second == Approx(expected.second).epsilon(within));
    CHECK(third == Approx(expected.third).epsilon(within));
}

/// I_S of 0.7 V at 1 mA.
double saturation_a() {
    return 1e-3 / std::expm1(0.7 / vt);
}

const std::string npn =
    "[bipolar.n]\npolarity = \"npn\"\ncurrent_gain = 100\nbase_emitter_voltage = \"0.7 V\"\n";

// The base charges 1 uF through 1 kohm and takes its own, bent, current from it.
TEST_CASE("in time: a base behind a resistor and a capacitor", "[distortion][time]") {
    const test::Stage stage{.parts = R"(
V1 = { voltage_source = "5 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "-0.7 V", pins = ["e", "gnd"] }
R1 = { resistor = "1R", pins = ["vcc", "out"] }
R2 = { resistor = "1k", pins = ["in", "b"] }
C1 = { capacitor = "1u", pins = ["b", "gnd"] }
Q1 = { bipolar = "n", collector = "out", base = "b", emitter = "e" }
)",
                            .tables = npn,
                            .board = at_25_mv};
    const auto collector_a = [](double b) { return saturation_a() * std::exp((b + 0.7) / vt); };
    agrees(stage,
           {[=](const State& x, double e) {
                return State{((e - x[0]) / 1e3 - collector_a(x[0]) / 100) / 1e-6, 0};
            },
            [=](const State& x, double) { return 5 - collector_a(x[0]); }},
           15e-3);
}

// The capacitor at the emitter bypasses its resistor in part, so that the second harmonic sees
// another feedback than the fundamental.
TEST_CASE("in time: an emitter bypassed in part", "[distortion][time]") {
    const test::Stage stage{.parts = R"(
V1 = { voltage_source = "5 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "-0.8 V", pins = ["vee", "gnd"] }
R1 = { resistor = "1R", pins = ["vcc", "out"] }
R2 = { resistor = "100R", pins = ["e", "vee"] }
C1 = { capacitor = "3u3", pins = ["e", "gnd"] }
Q1 = { bipolar = "n", collector = "out", base = "in", emitter = "e" }
)",
                            .tables = npn,
                            .board = at_25_mv};
    const auto collector_a = [](double v) { return saturation_a() * std::exp(v / vt); };
    agrees(stage,
           {[=](const State& x, double e) {
                return State{(collector_a(e - x[0]) * 1.01 - (x[0] + 0.8) / 100) / 3.3e-6, 0};
            },
            [=](const State& x, double e) { return 5 - collector_a(e - x[0]); },
            {-0.7, 0}},
           4e-3);
}

// A diode that rests at 0.1 mA loads a source of 1 kohm; 100 nF beside it.
TEST_CASE("in time: a diode at rest in its bend", "[distortion][time]") {
    const test::Stage stage{.parts = R"(
V1 = { voltage_source = "1 V", pins = ["vb", "gnd"] }
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "4k7", pins = ["vb", "out"] }
C1 = { capacitor = "100n", pins = ["out", "gnd"] }
D1 = { diode = "0.6 V", anode = "out", cathode = "vn" }
V2 = { voltage_source = "-0.4 V", pins = ["vn", "gnd"] }
)",
                            .board = at_25_mv};
    const double slope_v = 1.8 * vt;
    const double is = 1e-3 / std::expm1(0.6 / slope_v);
    agrees(stage,
           {[=](const State& x, double e) {
                const double diode_a = is * std::expm1((x[0] + 0.4) / slope_v);
                return State{((e - x[0]) / 1e3 + (1 - x[0]) / 4.7e3 - diode_a) / 100e-9, 0};
            },
            [](const State& x, double) { return x[0]; }},
           20e-3);
}

// Square law with an Early voltage: the drain's own voltage, behind 10 nF, bends the current too,
// and the source is bypassed in part.
TEST_CASE("in time: a JFET with loads at drain and source", "[distortion][time]") {
    const test::Stage stage{.parts = R"(
V1 = { voltage_source = "20 V", pins = ["vdd", "gnd"] }
R1 = { resistor = "2k2", pins = ["vdd", "out"] }
C1 = { capacitor = "47n", pins = ["out", "gnd"] }
R2 = { resistor = "470R", pins = ["s", "gnd"] }
C2 = { capacitor = "330n", pins = ["s", "gnd"] }
J1 = { jfet = "j", drain = "out", gate = "in", source = "s" }
)",
                            .tables = R"(
[jfet.j]
polarity = "n"
saturation_current = "6 mA"
pinch_off_voltage = "2 V"
early_voltage = "30 V"
)"};
    const auto drain_a = [](double v, double across) {
        return 6e-3 / 4 * (v + 2) * (v + 2) * (1 + across / 30);
    };
    agrees(stage,
           {[=](const State& x, double e) {
                const double i = drain_a(e - x[1], x[0] - x[1]);
                return State{((20 - x[0]) / 2.2e3 - i) / 47e-9, (i - x[1] / 470) / 330e-9};
            },
            [](const State& x, double) { return x[0]; },
            {14, 1}},
           50e-3);
}

// C (1 + a v + b v^2) with a resistor: the charge is the state, its voltage a root.
TEST_CASE("in time: a capacitor with voltage coefficients", "[distortion][time]") {
    const test::Stage stage{.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
C1 = { capacitor = "100n", pins = ["out", "gnd"], voltage_coefficient = "3 %/V", square_voltage_coefficient = "0.5 %/V^2" }
)"};
    const auto voltage = [](double q) {
        double v = q / 100e-9;
        for (int k = 0; k < 20; ++k) {
            const double charge = 100e-9 * (v + 0.03 / 2 * v * v + 0.005 / 3 * v * v * v);
            v += (q - charge) / (100e-9 * (1 + 0.03 * v + 0.005 * v * v));
        }
        return v;
    };
    agrees(stage,
           {[=](const State& x, double e) {
                return State{(e - voltage(x[0])) / 1e3, 0};
            },
            [=](const State& x, double) { return voltage(x[0]); }},
           1);
}

// An op-amp's input stage that delivers SR tanh(v / m), m = SR / (2 pi GBW), as a follower.
TEST_CASE("in time: the onset of slewing", "[distortion][time]") {
    constexpr double gbw_hz = 30e3;
    const test::Stage stage{.parts = R"(
U1 = { opamp = "slow", plus = "in", minus = "out", out = "out" }
)",
                            .tables = R"(
[opamp.slow]
open_loop_gain = "160 dB"
gain_bandwidth = "30 kHz"
slew_rate = "0.02 V/us"
)"};
    const double m = 0.02e6 / (2 * std::numbers::pi * gbw_hz);
    agrees(stage,
           {[=](const State& x, double e) {
                return State{0.02e6 * std::tanh((e - x[0]) / m), 0};
            },
            [](const State& x, double) { return x[0]; }},
           0.5);
}

}  // namespace lowhiss::distortion_in_time_test
