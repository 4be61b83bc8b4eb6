// The Wien network, series RC into parallel RC: x / (1 + 3x + x^2), x = sRC.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::wien_test {

const test::Stage wien{.parts = R"(
R1 = { resistor = "15k", pins = ["in", "a"] }
C1 = { capacitor = "6n8", pins = ["a", "out"] }
R2 = { resistor = "15k", pins = ["out", "gnd"] }
C2 = { capacitor = "6n8", pins = ["out", "gnd"] }
)"};
const double centre = 1 / (2 * test::pi * 15e3 * 6.8e-9);

TEST_CASE("a Wien network passes exactly a third, at no phase, at 1 / (2 pi R C)") {
    CHECK_THAT(test::gain_of(wien, centre), test::CloseTo(1.0 / 3, test::close));
}

TEST_CASE("a Wien network follows its formula on both sides") {
    for (const double u : {1e-4, 0.03, 0.5, 2.0, 30.0, 1e4}) {
        CAPTURE(u);
        const test::Z x(0, u);
        CHECK_THAT(test::gain_of(wien, centre * u),
                   test::CloseTo(x / (1.0 + 3.0 * x + x * x), test::close));
    }
}

}  // namespace lowhiss::wien_test
