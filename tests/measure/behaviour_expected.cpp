// Closed forms of headroom, stability, rejection and supply, on one board: a capsule of 1 kohm and
// 2 mV/Pa into an op-amp that does not invert, G = 1 + 9k/1k, on two sources of 9 V; and on a
// balanced pair of dividers.

#include <cmath>
#include <numbers>

#include "measure/expected.hpp"
#include "support/closed_form.hpp"

namespace lowhiss::test {
namespace behaviour_expected_test {

const std::string amplifier_text = R"(
[capsule.source]
kind = "resistive"
resistance = "1k"
sensitivity = "2 mV/Pa"
[opamp.amp]
open_loop_gain = "140 dB"
gain_bandwidth = "10 MHz"
voltage_noise = "10 nV/rtHz"
psrr = "100 dB"
psrr_corner = "100 Hz"
slew_rate = "1 V/us"
swing_from_positive_rail = "1.5 V"
swing_from_negative_rail = "1 V"
supply_min = "10 V"
supply_max = "36 V"
supply_current = "3 mA"
bias_current = "100 nA"
offset_voltage = "2 mV"
[parts]
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R5 = { resistor = "100R", pins = ["v", "vcc"] }
V2 = { voltage_source = "9 V", pins = ["gnd", "vee"] }
U1 = { opamp = "amp", plus = "in", minus = "n", out = "amp", supply = ["vcc", "vee"] }
R1 = { resistor = "9k", pins = ["amp", "n"] }
R2 = { resistor = "1k", pins = ["n", "gnd"] }
R3 = { resistor = "100R", pins = ["amp", "out"] }
C1 = { capacitor = "10u", pins = ["v", "gnd"], rating = "16 V" }
RV1 = { potentiometer = "10k", pins = ["v", "wiper", "gnd"] }
R4 = { resistor = "10k", pins = ["wiper", "gnd"] }
[input]
plus = "in"
capsule = "source"
[output]
plus = "out"
load = "600R"
[[ripple]]
source = "V1"
lines = [["1 kHz", "20 mV"], ["10 kHz", "50 mV"]]
)";

/// A feed on both wires of the output, a battery beside it, and a balanced input: 1 kohm from each
/// terminal, then 10 kohm and 10.1 kohm to ground, listened to between them.
const std::string balanced_text = R"(
[capsule.source]
kind = "resistive"
resistance = "2k"
[battery.block]
full = "9.6 V"
nominal = "9 V"
empty = "6 V"
capacity = "500 mAh"
[opamp.amp]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
[parts]
R1 = { resistor = "1k", pins = ["a", "p"] }
R2 = { resistor = "1k", pins = ["b", "n"] }
R3 = { resistor = "10k", pins = ["p", "gnd"] }
R4 = { resistor = "10.1k", pins = ["n", "gnd"] }
C1 = { capacitor = "1n", pins = ["p", "gnd"] }
U1 = { opamp = "amp", plus = "p", minus = "x", out = "x" }
BT1 = { battery = "block", pins = ["bat", "gnd"] }
R5 = { resistor = "9k", pins = ["bat", "gnd"] }
[input]
plus = "a"
minus = "b"
mismatch = "0R"
capsule = "source"
[output]
plus = "p"
minus = "n"
[feed]
standard = "P48"
plus = "p"
minus = "n"
)";

/// 9 V through 1 kohm and 10 uF to 10 kohm: charging gives 10/11 of 9 V, falling by e in 0.11 s.
const std::string charging_text = R"(
[parts]
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "a"] }
C1 = { capacitor = "10u", pins = ["a", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
R3 = { resistor = "10M", pins = ["in", "out"] }
R4 = { resistor = "1M", pins = ["in", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)";
/// The input is an ideal source: R3 is in parallel with R2.
constexpr double charging_load_ohm = 1 / (1 / 10e3 + 1 / 10e6);

double db(double ratio) {
    return 20 * std::log10(ratio);
}
double dbu(double volts) {
    return db(volts / 0.7745966692414834);
}

constexpr double loop = 1e6;  // 140 dB over a gain of ten: what is left out is a millionth
constexpr double finite_loop_db = 10 / loop;

/// Output volts by one volt on V1: through the divided-down feed of R5, which carries no signal,
/// and the rejection, times ten and over the load.
double ripple_gain(double f_hz) {
    return std::hypot(1, f_hz / 100) / 1e5 * 10 * 600 / 700 / std::hypot(1, f_hz / 1e6);
}

/// White noise, in V^2/Hz at the amplifier's output: capsule, amplifier, R1 and R2; 9 kohm beside
/// 1 kohm at the minus input are 900 ohm.
double amplifier_noise_v2_hz() {
    return 100 * (thermal_v2_hz(1000) + 1e-16 + thermal_v2_hz(900));
}

/// A-weighted noise bandwidth of 20 Hz to 20 kHz, 12 467.18 Hz, by the definition of IEC 61672-1
/// (tests/published/weighting.cpp).
constexpr double a_weighted_hz = 12467.18;

double self_noise_v() {
    // R3 and the load's noiseless 600 ohm divide all alike but for R3's own noise.
    const double at_output = amplifier_noise_v2_hz() * std::pow(600.0 / 700, 2) +
                             thermal_v2_hz(100) * std::pow(600.0 / 700, 2);
    return std::sqrt(at_output * a_weighted_hz) / (10 * 600.0 / 700);
}

/// Rejection of the two dividers, driven by 1 V to both ends through 1 kohm each and their own 1
/// kohm.
Z leg(double to_ground_ohm, double farad, double f_hz, double series_ohm) {
    const Z admittance = 1 / to_ground_ohm + s_at(f_hz) * farad + 1 / 6800.0;
    return 1.0 / (1.0 + series_ohm * admittance);
}

double common_rejection_db(double f_hz) {
    const Z common = leg(10e3, 1e-9, f_hz, 2e3) - leg(10.1e3, 0, f_hz, 2e3);
    // A floating source drives one current through both legs.
    const Z p = 1.0 / (1 / 10e3 + s_at(f_hz) * 1e-9 + 1 / 6800.0);
    const Z n = 1.0 / Z(1 / 10.1e3 + 1 / 6800.0);
    return db(std::abs((p + n) / (p + n + 4e3)) / std::abs(common));
}

Expected on_amplifier(double value, double margin, MeasureArguments arguments = {}) {
    return {nullptr, value, margin, std::move(arguments), amplifier_text};
}
Expected on_balanced(double value, double margin, MeasureArguments arguments = {}) {
    return {nullptr, value, margin, std::move(arguments), balanced_text};
}

MeasureArguments of_at(const std::string& part, double f_hz) {
    MeasureArguments arguments = at(f_hz);
    arguments.part = part;
    return arguments;
}

}  // namespace behaviour_expected_test

std::map<std::string, Expected> behaviour_expectations() {
    using namespace behaviour_expected_test;
    // The upper rail is 9 V less 100 ohm times 3 mA and what the output takes of it; the output
    // rests where the bias current puts it: -100 nA x 1 kohm x 10 + 100 nA x 9 kohm = -0.1 mV.
    const double rest_v = -1e-3 + 0.9e-3;
    const double rail_v = 9 - 0.3;
    const double swing_v = std::min(rail_v - 1.5 - rest_v, rest_v + 9 - 1);
    const double clip_v = swing_v / 10 / std::numbers::sqrt2;
    // At 100 kHz 1 V/us allow 1.592 V, less than 7.2 V; the gain is down by its first pole there.
    const double slewed_v = 1e6 / (2 * pi * 100e3);
    const double gain_100k = 10 / std::hypot(1, 100e3 / 1e6);
    // 0 dBu at 20 kHz, over the load's divider: between the inputs are V / A, of which m tanh(v /
    // m) makes v^3 / (12 m^2) at 60 kHz, divided there by 0.1 + 1 / A.
    const auto inverse_gain = [](double f_hz) { return Z(1e-7, f_hz / 10e6); };
    const double amplifier_v = 0.7745966692414834 * std::numbers::sqrt2 * 700 / 600;
    const double between_v = amplifier_v * std::abs(inverse_gain(20e3));
    const double pair_v = 1e6 / (2 * pi * 10e6);
    const double slewing = std::pow(between_v, 3) / (12 * pair_v * pair_v) /
                           std::abs(0.1 + inverse_gain(60e3)) / amplifier_v;
    const double noise_v = self_noise_v();
    // T = 0.1 / (1/A0 + j f/fg): it crosses at 1 MHz.
    const double crossover = 1e6;
    const double lag_deg = std::atan2(crossover / 10e6, 1e-7) * 180 / pi;
    const double bare_ripple_v = std::hypot(0.02 * ripple_gain(1000), 0.05 * ripple_gain(10000));
    const double feed_p = 1 / (6800 * 1.002), feed_n = 1 / (6800 * 0.998);
    // Both nodes, joined by the capsule and the stoppers in series: 4 kohm.
    const auto feed_ratio = [&] {
        const double gp = 1 / 10e3 + feed_p, gn = 1 / 10.1e3 + feed_n, g = 1 / 4e3;
        // [gp + g, -g; -g, gn + g] v = [feed_p, feed_n]
        const double det = (gp + g) * (gn + g) - g * g;
        const double vp = (feed_p * (gn + g) + g * feed_n) / det;
        const double vn = (feed_n * (gp + g) + g * feed_p) / det;
        return std::abs(vp - vn);
    };
    const auto wire_v = [](double volts) {
        const double gp = 1 / 10e3 + 1 / 6800.0, gn = 1 / 10.1e3 + 1 / 6800.0, g = 1 / 4e3;
        const double drive = volts / 6800;
        const double det = (gp + g) * (gn + g) - g * g;
        return std::pair(drive * (gn + 2 * g) / det, drive * (gp + 2 * g) / det);
    };
    const auto [plus_v, minus_v] = wire_v(48);
    const auto [plus_52, minus_52] = wire_v(52);
    const double feed_a = (48 - plus_v) / 6800 + (48 - minus_v) / 6800;
    const double feed_52_a = (52 - plus_52) / 6800 + (52 - minus_52) / 6800;
    // The board's own noise over ten, over what the source's comes through with.
    const double band_hz = 20e3 - 20;
    const double own_v2_hz =
        (amplifier_noise_v2_hz() + thermal_v2_hz(100)) * std::pow(600.0 / 700, 2);
    const double rejection_hz = band_hz + (std::pow(20e3, 3) - std::pow(20, 3)) / 3e4;
    const double through_hz = rejection_hz * std::pow(10 * 600.0 / 700 / 1e5, 2);
    const double quiet_v = std::sqrt(own_v2_hz * band_hz / 10 / through_hz * band_hz);
    // From each end of the radio generator to ground, at 1 MHz.
    const Z p_ohm = 1.0 / (1 / 10e3 + s_at(1e6) * 1e-9 + 1 / 6800.0);
    const Z n_ohm = 1.0 / Z(1 / 10.1e3 + 1 / 6800.0);
    return {
        {"max_input", on_amplifier(dbu(clip_v), 2e-5)},  // the finite loop's rest and rail current
        {"max_output",
         on_amplifier(dbu(slewed_v / std::numbers::sqrt2 * 600 / 700), 1e-5, at(100e3))},
        {"max_spl", on_amplifier(db(slewed_v / gain_100k / std::numbers::sqrt2 / 2e-3 / 20e-6),
                                 1e-5, at(100e3))},
        {"second_harmonic", on_amplifier(0, 0, at(20e3))},
        {"third_harmonic", on_amplifier(slewing, 1e-5 * slewing, at(20e3))},
        {"distortion", on_amplifier(slewing, 1e-5 * slewing, at(20e3))},
        {"output_level",
         on_amplifier(dbu(2e-3 * 10 * 600 / 700 / std::hypot(1, 1e-3)), finite_loop_db)},
        {"self_noise", on_amplifier(db(noise_v / 2e-3 / 20e-6), 2e-3)},  // its slope at 20 kHz
        {"dynamic_range", on_amplifier(dbu(clip_v) - dbu(noise_v), 2e-3)},
        {"phase_margin", on_amplifier(180 - lag_deg, 1e-6)},
        {"gain_margin",
         // Three equal sections at f3 in a loop of GBW give 180 degrees where the two sections give
         // 90: at f3, and the loop's gain is half of GBW / f3 there.
         {nullptr, -db(10e6 / 30e6 / 2), 1e-5, {}, R"(
[opamp.amp]
open_loop_gain = "140 dB"
gain_bandwidth = "10 MHz"
second_pole = "30 MHz"
[parts]
R1 = { resistor = 530.5164769729845, pins = ["amp", "x"] }
C1 = { capacitor = "10p", pins = ["x", "gnd"] }
E1 = { voltage_gain = 1, control = ["x", "gnd"], pins = ["n", "gnd"] }
R2 = { resistor = "1k", pins = ["in", "gnd"] }
U1 = { opamp = "amp", plus = "in", minus = "n", out = "amp" }
[input]
plus = "in"
[output]
plus = "amp"
)"}},
        {"loop_gain", on_amplifier(db(0.1 / std::hypot(1e-7, 20e3 / 10e6)), 1e-6, at(20e3))},
        {"mode_q", {nullptr, std::sqrt(10.0 / 30), 1e-6, {}, R"(
[opamp.amp]
open_loop_gain = "140 dB"
gain_bandwidth = "10 MHz"
second_pole = "30 MHz"
[parts]
R2 = { resistor = "1k", pins = ["in", "gnd"] }
U1 = { opamp = "amp", plus = "in", minus = "amp", out = "amp" }
[input]
plus = "in"
[output]
plus = "amp"
)"}},
        {"common_mode_rejection", on_balanced(common_rejection_db(5000), 1e-8, at(5000))},
        {"supply_rejection",
         on_amplifier(db(1e5 / std::hypot(1, 10)), finite_loop_db, of_at("V1", 1000))},
        {"feed_rejection", on_balanced(-db(feed_ratio()), 1e-8, at(1e-3))},
        {"ripple_output", on_amplifier(dbu(bare_ripple_v), finite_loop_db)},
        {"quiet_level", on_amplifier(quiet_v, 1e-3 * quiet_v, of("V1"))},  // the same
        {"radio_rejection",
         // At an open balanced input each terminal has half of the generator's voltage.
         on_balanced(db(0.5 * std::abs((2150.0 + p_ohm + n_ohm) / p_ohm)), 1e-8, at(1e6))},
        {"radio_common_rejection", on_balanced(db(std::abs(1.0 + 1300.0 / p_ohm)), 1e-8, at(1e6))},
        {"output_loss", on_amplifier(db(700.0 / 600), 1e-4)},
        {"supply_margin", on_amplifier(rail_v + 9 - 10, 1e-4)},
        {"settling_time",
         {nullptr, std::log(100) * (1e3 + charging_load_ohm) * 10e-6, 1e-9, {}, charging_text}},
        {"switch_on_thump",
         {nullptr, 9 * charging_load_ohm / (1e3 + charging_load_ohm), 1e-9, {}, charging_text}},
        {"supply_current", on_balanced(feed_a + 1e-3, 1e-9)},
        {"feed_margin", on_balanced(10e-3 - feed_52_a, 1e-9)},
        // 500 mAh into 9 kohm: the mean of 1/V from 9.6 V to 9 V, and from 9 V to 6 V.
        {"battery_life",
         on_balanced(0.5 * 9e3 * (std::log(9.6 / 9) / 0.6 + std::log(9.0 / 6) / 3) / 2, 3e-3)},
        {"output_offset", on_amplifier((0.1e-3 + 20e-3) * 600 / 700, 1e-7)},
        {"wiper_current", on_amplifier(9.0 / 2 / (10e3 + 2500), 1e-12)},
        {"capacitor_stress", on_amplifier(9.0 / 16, 1e-9)},
    };
}

}  // namespace lowhiss::test
