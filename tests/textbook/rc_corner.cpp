// One resistor and one capacitor: the corner that every preamp has at either end.

#include "lowhiss/analysis/phase.hpp"
#include "lowhiss/measure/corner.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::rc_corner_test {

using test::Z;

constexpr double time_s = 4.7e3 * 33e-9;
constexpr double corner = 1 / (2 * test::pi * time_s);

const test::Stage low_pass{.parts = R"(
R1 = { resistor = "4k7", pins = ["in", "out"] }
C1 = { capacitor = "33n", pins = ["out", "gnd"] }
)"};
const test::Stage high_pass{.parts = R"(
C1 = { capacitor = "33n", pins = ["in", "out"] }
R1 = { resistor = "4k7", pins = ["out", "gnd"] }
)"};

// From six decades below the corner, where a high pass passes a millionth, to six above.
std::vector<double> frequencies() {
    std::vector<double> list;
    for (int k = -60; k <= 60; ++k) list.push_back(corner * std::pow(10.0, k / 10.0));
    return list;
}

TEST_CASE("an RC low pass is 1 / (1 + sRC)") {
    Network network = test::network_of(low_pass);
    for (const double f_hz : frequencies()) {
        CAPTURE(f_hz);
        CHECK_THAT(network.respond(f_hz).gain,
                   test::CloseTo(1.0 / (1.0 + test::s_at(f_hz) * time_s), test::close));
    }
}

TEST_CASE("an RC high pass is sRC / (1 + sRC)") {
    Network network = test::network_of(high_pass);
    for (const double f_hz : frequencies()) {
        CAPTURE(f_hz);
        const Z s_time = test::s_at(f_hz) * time_s;
        CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(s_time / (1.0 + s_time), test::close));
    }
}

TEST_CASE("both delay the envelope by RC / (1 + (omega RC)^2)") {
    for (const test::Stage& stage : {low_pass, high_pass}) {
        Network network = test::network_of(stage);
        for (const double f_hz : frequencies()) {
            CAPTURE(f_hz);
            const double delay_s = time_s / (1 + std::norm(test::s_at(f_hz) * time_s));
            // d ln H / d omega is at most 1 / omega; far from the corner the delay is a small part
            // of it, and rounding is of the whole.
            const double allowed_s = test::close * delay_s + 1e-14 / std::abs(test::s_at(f_hz));
            CHECK_THAT(group_delay_s(network.respond(f_hz)), WithinAbs(delay_s, allowed_s));
        }
    }
}

TEST_CASE("the corner of an RC is 1 / (2 pi R C)") {
    // At the corner itself: exactly half the power and 45 degrees.
    Network low = test::network_of(low_pass);
    CHECK_THAT(low.respond(corner).gain, test::CloseTo(Z(0.5, -0.5), test::close));

    // -3.0103 dB under the gain at 1 kHz, of which the corner at 1.026 kHz has already taken some:
    // 1 + x^2 doubles from x = 1000 / corner.
    const double x = 1000 / corner;
    const double low_corner = corner * std::sqrt(1 + 2 * x * x);
    CHECK_THAT(corner_hz(low, low.respond(1000), Corner::high), WithinRel(low_corner, 1e-9));

    Network high = test::network_of(high_pass);
    const double high_corner = corner / std::sqrt(1 + 2 / (x * x));
    CHECK_THAT(corner_hz(high, high.respond(1000), Corner::low), WithinRel(high_corner, 1e-9));
}

}  // namespace lowhiss::rc_corner_test
