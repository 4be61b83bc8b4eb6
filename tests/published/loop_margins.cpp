// Loops, their margins and natural frequencies, against closed forms, tables and determinants.

#include <Eigen/Dense>
#include <numbers>

#include "lowhiss/analysis/loop_gain.hpp"
#include "lowhiss/analysis/poles.hpp"
#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::loop_margins_test {

using test::pi;

Stability stability_of(const Board& board, double rotation = 0) {
    return Setting(board, test::capsule_of(board), rotation).stability();
}

std::string model(const std::string& more) {
    return "[opamp.amp]\nopen_loop_gain = \"120 dB\"\ngain_bandwidth = \"10 MHz\"\n" + more;
}

/// The frequency of |T| = 1 for T = beta / ((1/A0 + j f/fg)(1 + j f/f2)), a quadratic in f^2, and
/// the margin.
struct TwoPoles {
    double crossover_hz;
    double margin_deg;
};
TwoPoles two_poles(double beta, double fg, double f2) {
    const double a = 1 / (fg * fg * f2 * f2);
    const double b = 1 / (fg * fg) + 1e-12 / (f2 * f2);
    const double c = 1e-12 - beta * beta;
    const double f = std::sqrt((-b + std::sqrt(b * b - 4 * a * c)) / (2 * a));
    const double lag = std::atan2(f / fg, 1e-6) + std::atan(f / f2);
    return {f, 180 - lag * 180 / pi};
}

/// |s| and Q of the only complex pair.
NaturalMode only_mode(const Stability& stability) {
    REQUIRE(stability.modes.size() == 1);
    return stability.modes.front();
}

TEST_CASE("margins of a loop of two poles are those of the closed form", "[stability]") {
    for (const double beta : {1.0, 0.1, 0.01}) {
        CAPTURE(beta);
        const test::Stage stage{.parts = fmt::format(R"(
R1 = {{ resistor = {}, pins = ["out", "n"] }}
R2 = {{ resistor = "1k", pins = ["n", "gnd"] }}
R3 = {{ resistor = "1k", pins = ["in", "gnd"] }}
U1 = {{ opamp = "amp", plus = "in", minus = "n", out = "out" }}
)",
                                                     1000 / beta - 1000),
                                .tables = model("second_pole = \"6 MHz\"\n")};
        const Stability stability = stability_of(test::board_of(stage));
        REQUIRE(stability.loops.size() == 1);
        const TwoPoles expected = two_poles(beta, 10e6, 6e6);
        // Roots are found to 1e-9.
        CHECK_THAT(stability.loops[0].crossover_hz, WithinRel(expected.crossover_hz, 1e-8));
        CHECK_THAT(stability.loops[0].phase_margin_deg, WithinAbs(expected.margin_deg, 1e-6));
        CHECK(std::isnan(stability.loops[0].gain_margin_db));
        CHECK(stability.stable);
        if (beta > 0.5) {
            // s^2 t1 t2 + s (t1 + t2/A0) + 1/A0 + beta = 0
            const double t1 = 1 / (2 * pi * 10e6);
            const double t2 = 1 / (2 * pi * 6e6);
            const double omega = std::sqrt((1e-6 + beta) / (t1 * t2));
            const NaturalMode mode = only_mode(stability);
            CHECK_THAT(mode.frequency_hz, WithinRel(omega / (2 * pi), 1e-10));
            CHECK_THAT(mode.q, WithinRel(omega * t1 * t2 / (t1 + t2 * 1e-6), 1e-10));
        }
    }
}

TEST_CASE("a follower with output resistance on a capacitive load", "[stability]") {
    // Closed form for A0 without bound: Q = sqrt(GBW/fp), f0 = sqrt(GBW fp), fp = 1/(2 pi Ro CL);
    // rounded figures computed by a script of its own.
    struct Row {
        const char* ohm;
        const char* farad;
        double crossover_hz, margin_deg, f0_hz, q;
    };
    const Row rows[] = {{"100R", "1n", 3.83397e6, 22.544, 3.9894e6, 2.5066},
                        {"50R", "1n", 0, 31.413, 0, 1.7725},
                        {"100R", "10n", 0, 7.219, 0, 7.927}};
    for (const Row& row : rows) {
        CAPTURE(row.ohm, row.farad);
        const test::Stage stage{
            .parts =
                "R3 = { resistor = \"1k\", pins = [\"in\", \"gnd\"] }\n"
                "U1 = { opamp = \"amp\", plus = \"in\", minus = \"out\", out = \"out\" }\n",
            .output = "cable = \"" + std::string(row.farad) + "\"\n",
            .tables = model("output_resistance = \"" + std::string(row.ohm) + "\"\n")};
        const Stability stability = stability_of(test::board_of(stage));
        REQUIRE(stability.worst_loop() != nullptr);
        const NaturalMode mode = only_mode(stability);
        // Printed to four or five digits.
        CHECK_THAT(stability.worst_loop()->phase_margin_deg, WithinAbs(row.margin_deg, 2e-3));
        // To these and to 63/A0, by which the load's pole is lower than the amplifier's first.
        CHECK_THAT(mode.q, WithinRel(row.q, 2e-4));
        if (row.f0_hz == 0) continue;
        CHECK_THAT(stability.worst_loop()->crossover_hz, WithinRel(row.crossover_hz, 1e-5));
        CHECK_THAT(mode.frequency_hz, WithinRel(row.f0_hz, 1e-4));
    }
}

TEST_CASE("the second pole of a published amplifier on 1 uF", "[stability]") {
    // Maxim application note 5597, "Simulation Shows How Real Op Amps Can Drive Capacitive Loads"
    // (2013), equation 1: an output resistance, 75 ohm by the figure that it prints, and 1 uF make
    // a pole at 2.122 kHz. A gain of -1; its resistors are not in the text found: made large here.
    const auto ratio_at = [](double f_hz, const char* farad) {
        const test::Stage stage{.parts = R"(
R1 = { resistor = "10M", pins = ["in", "n"] }
R2 = { resistor = "10M", pins = ["n", "out"] }
U1 = { opamp = "amp", plus = "gnd", minus = "n", out = "out" }
)",
                                .output = "cable = \"" + std::string(farad) + "\"\n",
                                .tables = model("output_resistance = \"75R\"\n")};
        Network network = test::network_of(stage);
        return return_ratio(network, loop_sources(network.circuit()).front(), f_hz);
    };
    const Complex bent = ratio_at(2122, "1u") / ratio_at(2122, "0.001p");
    CHECK_THAT(std::arg(bent) * 180 / pi,
               WithinAbs(-45, 0.02));  // 2.122 kHz is printed to four digits
    CHECK_THAT(std::abs(bent), WithinRel(1 / std::numbers::sqrt2, 3e-4));
}

TEST_CASE("natural frequencies of Butterworth filters are those of the table", "[stability]") {
    // Zverev, Handbook of Filter Synthesis (1967), normalised Butterworth: poles on the unit circle
    // at angles of pi (2k + n - 1) / 2n; element values 2 sin((2k - 1) pi / 2n) between 1 ohm and
    // 1 ohm, from memory. At 600 ohm and 20 kHz.
    for (const int n : {2, 3, 5, 7}) {
        CAPTURE(n);
        const double omega = 2 * pi * 20e3;
        std::string parts = "R1 = { resistor = \"600R\", pins = [\"in\", \"n0\"] }\n";
        int node = 0;
        for (int k = 1; k <= n; ++k) {
            const double g = 2 * std::sin((2 * k - 1) * pi / (2 * n));
            if (k % 2 == 1) {
                parts += fmt::format(
                    "C{} = {{ capacitor = \"{:.17g} F\", pins = [\"n{}\", \"gnd\"] }}\n", k,
                    g / (600 * omega), node);
            } else {
                parts += fmt::format("L{} = {{ inductor = {:.17g}, pins = [\"n{}\", \"n{}\"] }}\n",
                                     k, g * 600 / omega, node, node + 1);
                ++node;
            }
        }
        parts += fmt::format("R2 = {{ resistor = \"600R\", pins = [\"n{}\", \"gnd\"] }}\n", node);
        const test::Stage stage{.parts = parts, .tap = "n" + std::to_string(node)};
        const Network network = test::network_of(stage);
        const Poles poles = poles_of(network.pencil(), *network.plan());
        REQUIRE(poles.known);
        REQUIRE(poles.s.size() == static_cast<std::size_t>(n));
        for (int k = 1; k <= n; ++k) {
            const Complex expected = std::polar(omega, pi * (2 * k + n - 1) / (2 * n));
            const auto nearest = std::min_element(
                poles.s.begin(), poles.s.end(), [&](const Complex& a, const Complex& b) {
                    return std::abs(a - expected) < std::abs(b - expected);
                });
            CHECK_THAT(*nearest, test::Within(expected, 1e-10 * omega));
        }
    }
}

TEST_CASE("poles are sharp from a millihertz to gigahertz in one circuit", "[stability]") {
    // RC low passes with buffers between: each pole is -1/RC.
    std::string parts;
    std::vector<double> expected;
    std::string node = "in";
    for (int decade = -2; decade <= 9; ++decade) {
        const double farad = 1 / (2 * pi * 1e4 * std::pow(10, decade) * 1.3);
        const std::string k = std::to_string(decade + 2);
        parts +=
            fmt::format("R{0} = {{ resistor = \"10k\", pins = [\"{1}\", \"c{0}\"] }}\n", k, node);
        parts += fmt::format(
            "C{0} = {{ capacitor = \"{1:.17g} F\", pins = [\"c{0}\", \"gnd\"] }}\n", k, farad);
        parts += fmt::format(
            "E{0} = {{ voltage_gain = 1, control = [\"c{0}\", \"gnd\"], pins = [\"b{0}\", \"gnd\"] "
            "}}\n",
            k);
        node = "b" + k;
        expected.push_back(-1 / (1e4 * farad));
    }
    const test::Stage stage{.parts = parts, .tap = node};
    const Network network = test::network_of(stage);
    std::vector<Complex> found = poles_of(network.pencil(), *network.plan()).s;
    std::sort(found.begin(), found.end(),
              [](const Complex& a, const Complex& b) { return std::abs(a) < std::abs(b); });
    REQUIRE(found.size() == expected.size());
    for (std::size_t k = 0; k < found.size(); ++k) {
        CHECK_THAT(found[k], test::CloseTo(expected[k], 1e-10));
    }
}

TEST_CASE("a Wien bridge oscillates from a gain of three on", "[stability]") {
    // s^2 + s w0 (3 - K) + w0^2 = 0: Q = 1/(3 - K). An ideal amplifier of gain K.
    for (const double gain : {2.0, 2.9, 3.0, 3.1}) {
        CAPTURE(gain);
        const test::Stage stage{.parts = fmt::format(R"(
R9 = {{ resistor = "1M", pins = ["in", "w"] }}
R1 = {{ resistor = "10k", pins = ["out", "x"] }}
C1 = {{ capacitor = "10n", pins = ["x", "w"] }}
R2 = {{ resistor = {}, pins = ["w", "gnd"] }}
C2 = {{ capacitor = "10n", pins = ["w", "gnd"] }}
E1 = {{ voltage_gain = {}, control = ["w", "gnd"], pins = ["out", "gnd"] }}
)",
                                                     1e10 / (1e6 - 1e4), gain)};
        const Stability stability = stability_of(test::board_of(stage));
        const NaturalMode mode = only_mode(stability);
        CHECK_THAT(mode.frequency_hz, WithinRel(1591.5494309189535, 1e-9));
        CHECK(stability.stable == (gain <= 3));
        if (gain == 3.0)
            CHECK_THAT(1 / mode.q, WithinAbs(0, 1e-9));
        else
            CHECK_THAT(mode.q, WithinRel(1 / (3 - gain), 1e-8));
    }
}

TEST_CASE("the sign of the margin tells the side that the poles are on", "[stability]") {
    // One integrator and an RC of two sections in the loop of a follower: two poles on the right
    // from some gain on. Root locus and Nyquist's criterion must agree.
    bool seen_stable = false;
    bool seen_unstable = false;
    for (const char* farad : {"1p", "3p", "10p", "30p", "100p", "300p", "1n", "10n"}) {
        CAPTURE(farad);
        const std::string c = farad;
        const test::Stage stage{
            .parts =
                "R9 = { resistor = \"1k\", pins = [\"in\", \"gnd\"] }\n"
                "R1 = { resistor = \"1k\", pins = [\"out\", \"x\"] }\n"
                "C1 = { capacitor = \"" +
                c +
                "\", pins = [\"x\", \"gnd\"] }\n"
                "R2 = { resistor = \"1k\", pins = [\"x\", \"n\"] }\n"
                "C2 = { capacitor = \"" +
                c +
                "\", pins = [\"n\", \"gnd\"] }\n"
                "U1 = { opamp = \"amp\", plus = \"in\", minus = \"n\", out = \"out\" }\n",
            .tables = model("")};
        const Stability stability = stability_of(test::board_of(stage));
        const double margin_deg = stability.worst_loop()->phase_margin_deg;
        CHECK(stability.stable == (margin_deg > 0));
        seen_stable = seen_stable || stability.stable;
        seen_unstable = seen_unstable || !stability.stable;
        // Two equal sections give 180 degrees with a gain of 1/|T| where Im T is 0.
        if (stability.stable) CHECK(stability.loops[0].gain_margin_db > 0);
    }
    CHECK(seen_stable);
    CHECK(seen_unstable);
}

/// The matrix with a controlled source's entries taken out.
Eigen::MatrixXcd without(const LoopSource& source, Eigen::MatrixXcd a) {
    if (const auto* amplifier = std::get_if<AmplifierSource>(&source.law)) {
        a(amplifier->equation, amplifier->answer) = 0;
        return a;
    }
    const auto& transistor = std::get<Transconductance>(source.law);
    const auto take = [&](int to, int from, double siemens) {
        if (to > 0 && from > 0) a(to - 1, from - 1) -= siemens;
    };
    take(transistor.main, transistor.control, transistor.siemens);
    take(transistor.main, transistor.common, -transistor.siemens);
    take(transistor.common, transistor.control, -transistor.siemens);
    take(transistor.common, transistor.common, transistor.siemens);
    return a;
}

/// Up to a multiple of 2 pi in the imaginary part. Rows and columns are scaled, so that nothing
/// overflows or is lost.
Complex ln_determinant(Eigen::MatrixXcd a) {
    Complex sum = 0;
    for (Eigen::Index k = 0; k < a.rows(); ++k) {
        const double size = a.row(k).cwiseAbs().maxCoeff();
        a.row(k) /= size;
        sum += std::log(size);
    }
    for (Eigen::Index k = 0; k < a.cols(); ++k) {
        const double size = a.col(k).cwiseAbs().maxCoeff();
        a.col(k) /= size;
        sum += std::log(size);
    }
    return sum + std::log(a.fullPivLu().determinant());
}

TEST_CASE("return ratios are ratios of determinants", "[stability]") {
    // 1 + T = det A / det A with the controlled source's entries taken out (Bode 1945, chapter 4),
    // on demo boards, by dense determinants.
    for (const char* name : {"heron-c", "curlew", "wren", "bittern", "redshank", "plover-loop"}) {
        const BoardReading reading = read_board(
            std::string(LOWHISS_SOURCE_DIR "/netlists/boards/") + name + ".toml", disk_reader());
        REQUIRE(reading.board);
        Network network = test::network_of(*reading.board, 0.7);
        for (const double f_hz : {50.0, 20e3, 3e6}) {
            CAPTURE(name, f_hz);
            const Pencil& pencil = network.pencil();
            std::vector<Complex> values(static_cast<std::size_t>(pencil.slots()));
            evaluate(pencil, f_hz, values);
            Eigen::MatrixXcd a = Eigen::MatrixXcd::Zero(pencil.size, pencil.size);
            for (int column = 0; column < pencil.size; ++column) {
                for (int k = pencil.column_start[static_cast<std::size_t>(column)];
                     k < pencil.column_start[static_cast<std::size_t>(column) + 1]; ++k) {
                    a(pencil.row[static_cast<std::size_t>(k)], column) =
                        values[static_cast<std::size_t>(k)];
                }
            }
            for (const LoopSource& source : loop_sources(network.circuit())) {
                const Eigen::MatrixXcd opened = without(source, a);
                const Complex ratio = std::exp(ln_determinant(a) - ln_determinant(opened));
                const Complex t = return_ratio(network, source, f_hz);
                CHECK_THAT(1.0 + t, test::CloseTo(ratio, 1e-6));  // a determinant loses digits
            }
        }
    }
}

}  // namespace lowhiss::loop_margins_test
