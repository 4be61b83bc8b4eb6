// An op-amp with a second pole: A(s) = A0 / ((1 + s/w1)(1 + s/w2)).

#include "lowhiss/analysis/phase.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::two_pole_opamp_test {

using test::Z;

const test::Stage follower{.parts = R"(
U1 = { opamp = "part", plus = "in", minus = "out", out = "out" }
)",
                           .tables = R"(
[opamp.part]
open_loop_gain = "110 dB"
gain_bandwidth = "10 MHz"
second_pole = "4 MHz"
)"};

Z open_loop(double f_hz) {
    const double a0 = std::pow(10, 5.5);
    return a0 / ((1.0 + Z(0, f_hz * a0 / 10e6)) * (1.0 + Z(0, f_hz / 4e6)));
}

TEST_CASE("a follower of two poles is A / (1 + A)") {
    Network network = test::network_of(follower);
    for (const double f_hz : {1.0, 1e3, 1e6, 6e6, 1e8}) {
        CAPTURE(f_hz);
        const Z a = open_loop(f_hz);
        CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(a / (1.0 + a), test::close));
    }
}

TEST_CASE("a follower of two poles rings with Q = sqrt(w1 w2 (1 + A0)) / (w1 + w2)") {
    const double a0 = std::pow(10, 5.5);
    const double p1 = 10e6 / a0;
    const double p2 = 4e6;
    const double f0 = std::sqrt(p1 * p2 * (1 + a0));
    const double q = f0 / (p1 + p2);
    // |H| at f0 is Q A0 / (1 + A0), at -90 degrees; the envelope's delay there is 2Q / w0.
    Network network = test::network_of(follower);
    const Response r = network.respond(f0);
    CHECK_THAT(r.gain, test::CloseTo(Z(0, -q * a0 / (1 + a0)), test::close));
    CHECK_THAT(group_delay_s(r), WithinRel(q / (test::pi * f0), test::close));
}

}  // namespace lowhiss::two_pole_opamp_test
