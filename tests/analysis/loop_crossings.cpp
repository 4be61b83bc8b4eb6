// Crossings of loop gains against closed forms: crossings where |T| rises, pairs close together,
// and conditionally stable loops. All loops are one op-amp, A = 1/(1/A0 + j f/fg), and a network of
// passive sections with ideal buffers between, so that T is a product.

#include <fmt/format.h>

#include <functional>

#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::loop_crossings_test {

using test::pi;
using Loop = std::function<Complex(double f_hz)>;

constexpr double inverse_gain = 1e-6;
constexpr double gain_bandwidth_hz = 10e6;

const std::string model = "[opamp.amp]\nopen_loop_gain = \"120 dB\"\ngain_bandwidth = \"10 MHz\"\n";

Complex open_loop(double f_hz) {
    return 1.0 / Complex(inverse_gain, f_hz / gain_bandwidth_hz);
}

Stability stability_of(const std::string& parts) {
    const test::Stage stage{.parts =
                                "R9 = { resistor = \"1k\", pins = [\"in\", \"gnd\"] }\n"
                                "U1 = { opamp = \"amp\", plus = \"in\", minus = \"n\", out = "
                                "\"out\" }\n" +
                                parts,
                            .tables = model};
    const Board board = test::board_of(stage);
    Stability stability = Setting(board, nullptr, 0).stability();
    REQUIRE(stability.loops.size() == 1);
    return stability;
}

/// The margins of a stable loop's closed form: every sign change of ln |T| and of Im T between
/// 200,000 points, halved 60 times.
struct Margins {
    double phase_deg = unset;
    double crossover_hz = unset;
    double gain_db = unset;
    int crossovers = 0;
};
Margins margins_of(const Loop& t) {
    Margins found;
    const auto zero = [](double low, double high, const auto& of) {
        const bool sign = of(low) > 0;
        for (int k = 0; k < 60; ++k) {
            const double middle = std::sqrt(low * high);
            ((of(middle) > 0) == sign ? low : high) = middle;
        }
        return low;
    };
    const auto ln_gain = [&](double f) { return std::log(std::abs(t(f))); };
    const auto imaginary = [&](double f) { return t(f).imag(); };
    const int points = 200'000;
    const auto at = [&](int k) { return 0.1 * std::pow(3e10, static_cast<double>(k) / points); };
    for (int k = 0; k < points; ++k) {
        if ((ln_gain(at(k)) > 0) != (ln_gain(at(k + 1)) > 0)) {
            const double f = zero(at(k), at(k + 1), ln_gain);
            const double margin = 180 - std::abs(std::arg(t(f))) * 180 / pi;
            ++found.crossovers;
            if (!(margin >= found.phase_deg)) found.crossover_hz = f;
            found.phase_deg = std::fmin(found.phase_deg, margin);
        }
        if ((imaginary(at(k)) > 0) != (imaginary(at(k + 1)) > 0)) {
            const Complex there = t(zero(at(k), at(k + 1), imaginary));
            if (there.real() >= 0) continue;
            found.gain_db = std::fmin(found.gain_db, -20 * std::log10(std::abs(there)));
        }
    }
    return found;
}

/// A resonance beside a divider: H = beta + a (s w0 / Q) / (s^2 + s w0 / Q + w0^2).
struct Peak {
    double beta, a, f0_hz, q;

    Complex operator()(double f_hz) const {
        const Complex s(0, f_hz / f0_hz);
        return open_loop(f_hz) * (beta + a * (s / q) / (s * s + s / q + 1.0));
    }
    std::string parts() const {
        const double ohm = 1e3;
        const double w0 = 2 * pi * f0_hz;
        return fmt::format(R"(
R1 = {{ resistor = {:.17g}, pins = ["out", "x"] }}
R2 = {{ resistor = "1k", pins = ["x", "gnd"] }}
L3 = {{ inductor = {:.17g}, pins = ["out", "y"] }}
C3 = {{ capacitor = {:.17g}, pins = ["y", "b"] }}
R3 = {{ resistor = {:.17g}, pins = ["b", "gnd"] }}
E1 = {{ voltage_gain = {:.17g}, control = ["b", "gnd"], pins = ["n", "x"] }}
R4 = {{ resistor = "1M", pins = ["n", "gnd"] }}
)",
                           1e3 / beta - 1e3, q * ohm / w0, 1 / (q * ohm * w0), ohm, a);
    }
};

TEST_CASE("a loop gain that rises through 1 with lag has the margin of its angle", "[stability]") {
    // R4 loads the divider's 1 kohm by a thousandth, for which the beta of the closed form allows.
    for (const double q : {15.0, 30.0, 100.0}) {
        CAPTURE(q);
        const Peak peak{0.05, 1, 2e6, q};
        const Stability stability = stability_of(peak.parts());
        // The divider with R4 across it: n is x plus what E1 adds, and the current of R4 flows
        // through E1 into x.
        const double source_ohm = 1e3 * (1 - peak.beta);
        const double share = 1e6 / (1e6 + source_ohm);
        const Loop t = [&](double f) { return share * peak(f); };
        const Margins expected = margins_of(t);
        REQUIRE(expected.crossovers == 3);
        CHECK(stability.stable);
        CHECK(expected.phase_deg > 0);
        CHECK_THAT(stability.loops[0].phase_margin_deg, WithinAbs(expected.phase_deg, 1e-5));
        CHECK_THAT(stability.loops[0].crossover_hz, WithinRel(expected.crossover_hz, 1e-6));
    }
}

TEST_CASE("two crossings near together are both found", "[stability]") {
    // The peak passes 1 by a thousandth to a tenth: the crossings are closer than a tenth of a
    // decade.
    for (const double over : {1.1, 1.01, 1.001, 1.0001}) {
        CAPTURE(over);
        const double source_ohm = 1e3 * 0.95;
        const double share = 1e6 / (1e6 + source_ohm);
        // At f0 H is beta + a, and |T| = share (beta + a) fg / f0.
        const double a = over * 2e6 / gain_bandwidth_hz / share - 0.05;
        const Peak peak{0.05, a, 2e6, 8};
        const Margins expected = margins_of([&](double f) { return share * peak(f); });
        REQUIRE(expected.crossovers == 3);
        const Stability stability = stability_of(peak.parts());
        CHECK(stability.stable);
        CHECK_THAT(stability.loops[0].phase_margin_deg, WithinAbs(expected.phase_deg, 1e-4));
        CHECK_THAT(stability.loops[0].crossover_hz, WithinRel(expected.crossover_hz, 1e-5));
    }
}

/// Sections (1 + j f/fz) / (1 + j f/fp) behind one another, buffered, after a gain.
struct Sections {
    double gain, pole_hz, zero_hz;
    int count;

    Complex operator()(double f_hz) const {
        const Complex section =
            (1.0 + Complex(0, f_hz / zero_hz)) / (1.0 + Complex(0, f_hz / pole_hz));
        return open_loop(f_hz) * gain * std::pow(section, count);
    }
    std::string parts() const {
        const double farad = 1e-9;
        const double shunt_ohm = 1 / (2 * pi * zero_hz * farad);
        const double series_ohm = 1 / (2 * pi * pole_hz * farad) - shunt_ohm;
        std::string text;
        std::string from = "out";
        for (int k = 1; k <= count; ++k) {
            const std::string to = k == count ? "n" : fmt::format("b{}", k);
            text += fmt::format(R"(
R{0}1 = {{ resistor = {1:.17g}, pins = ["{2}", "x{0}"] }}
R{0}2 = {{ resistor = {3:.17g}, pins = ["x{0}", "y{0}"] }}
C{0} = {{ capacitor = "1n", pins = ["y{0}", "gnd"] }}
E{0} = {{ voltage_gain = {4:.17g}, control = ["x{0}", "gnd"], pins = ["{5}", "gnd"] }}
)",
                                k, series_ohm, from, shunt_ohm, k == count ? gain : 1.0, to);
            from = to;
        }
        return text;
    }
};

TEST_CASE("a conditionally stable loop has a gain margin below 0 dB", "[stability]") {
    // Two sections between 1 kHz and 20 kHz turn T beyond -180 degrees while |T| is far above 1.
    const Sections loop{1, 1e3, 20e3, 2};
    const Margins expected = margins_of(loop);
    const Stability stability = stability_of(loop.parts());
    CHECK(stability.stable);
    CHECK(expected.gain_db < -20);
    CHECK_THAT(stability.loops[0].gain_margin_db, WithinAbs(expected.gain_db, 1e-6));
    CHECK_THAT(stability.loops[0].phase_margin_deg, WithinAbs(expected.phase_deg, 1e-6));
    // T is -1 there with so much less gain: with a tenth more than that it oscillates, with a tenth
    // less it does not.
    const double lost = std::pow(10, expected.gain_db / 20);
    CHECK_FALSE(stability_of(Sections{lost * 1.1, 1e3, 20e3, 2}.parts()).stable);
    CHECK(stability_of(Sections{lost * 0.9, 1e3, 20e3, 2}.parts()).stable);
}

TEST_CASE("a loop that oscillates has its least gain margin, and a phase margin below 0",
          "[stability]") {
    const Sections loop{0.001, 1e3, 20e3, 2};
    const Margins expected = margins_of(loop);
    const Stability stability = stability_of(loop.parts());
    CHECK_FALSE(stability.stable);
    CHECK_FALSE(stability.latches);
    CHECK(expected.gain_db < 0);
    CHECK_THAT(stability.loops[0].gain_margin_db, WithinAbs(expected.gain_db, 1e-6));
    CHECK_THAT(stability.loops[0].phase_margin_deg, WithinAbs(-expected.phase_deg, 1e-6));
}

TEST_CASE("a loop without feedback has no margins", "[stability]") {
    const Stability stability = stability_of(R"(
R1 = { resistor = "1k", pins = ["n", "gnd"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)");
    CHECK(std::isnan(stability.loops[0].phase_margin_deg));
    CHECK(std::isnan(stability.loops[0].gain_margin_db));
}

}  // namespace lowhiss::loop_crossings_test
