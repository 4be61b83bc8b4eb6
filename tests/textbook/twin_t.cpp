// Twin-T notch from an ideal source into no load: H = (1 + x^2) / (1 + 4x + x^2), x = sRC.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::twin_t_test {

const double notch = 1 / (2 * test::pi * 10e3 * 10e-9);

const test::Stage twin_t{.parts = R"(
R1 = { resistor = "10k", pins = ["in", "r"] }
R2 = { resistor = "10k", pins = ["r", "out"] }
C3 = { capacitor = "20n", pins = ["r", "gnd"] }
C1 = { capacitor = "10n", pins = ["in", "c"] }
C2 = { capacitor = "10n", pins = ["c", "out"] }
R3 = { resistor = "5k", pins = ["c", "gnd"] }
)"};

TEST_CASE("a twin-T follows its formula") {
    Network network = test::network_of(twin_t);
    for (const double u : {1e-3, 0.1, 0.236, 0.7, 0.999, 1.001, 1.4, 4.2, 10.0, 1e3}) {
        CAPTURE(u);
        const test::Z x(0, u);
        const test::Z expected = (1.0 + x * x) / (1.0 + 4.0 * x + x * x);
        // In the notch the two paths cancel to `expected` of what each of them passes.
        CHECK_THAT(network.respond(notch * u).gain, test::Within(expected, test::close));
    }
}

TEST_CASE("a twin-T lets nothing through at 1 / (2 pi R C)") {
    CHECK_THAT(test::gain_of(twin_t, notch), test::Within(0, 1e-13));
}

TEST_CASE("a twin-T is 3.0103 dB down at sqrt5 - 2 and sqrt5 + 2 times its notch") {
    for (const double u : {std::sqrt(5) - 2, std::sqrt(5) + 2}) {
        CHECK_THAT(std::norm(test::gain_of(twin_t, notch * u)), WithinAbs(0.5, test::close));
    }
}

}  // namespace lowhiss::twin_t_test
