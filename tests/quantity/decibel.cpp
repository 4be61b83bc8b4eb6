#include "lowhiss/quantity/decibel.hpp"

#include <cmath>
#include <limits>

#include "support/catch.hpp"

namespace lowhiss::decibel_test {

TEST_CASE("Decibels of voltage and power ratios", "[quantity]") {
    CHECK(db_from_ratio(1) == 0);
    CHECK_THAT(db_from_ratio(10), WithinRel(20, 1e-15));
    CHECK_THAT(db_from_ratio(2), WithinRel(6.020599913279624, 1e-15));
    CHECK_THAT(db_from_power_ratio(2), WithinRel(3.010299956639812, 1e-15));
    CHECK(ratio_from_db(20) == 10);
    CHECK_THAT(ratio_from_db(-6.020599913279624), WithinRel(0.5, 1e-14));
    CHECK_THAT(power_ratio_from_db(3.010299956639812), WithinRel(2, 1e-14));
    CHECK(db_from_ratio(0) == -std::numeric_limits<double>::infinity());
    CHECK(std::isnan(db_from_ratio(-1)));
}

TEST_CASE("Decibels undo themselves", "[quantity]") {
    for (double gain_db = -200; gain_db <= 200; gain_db += 0.37) {
        // |dB| / 8 + 1 ulp of the ratio, at most 26, is 26 * 2.2e-16 * 8.7 dB.
        CHECK_THAT(db_from_ratio(ratio_from_db(gain_db)), WithinAbs(gain_db, 5e-14));
        CHECK_THAT(db_from_power_ratio(power_ratio_from_db(gain_db)), WithinAbs(gain_db, 5e-14));
    }
}

TEST_CASE("Levels in dBu", "[quantity]") {
    // 0 dBu is 1 mW in 600 ohm; 0.7746 V as quoted from the Audio Precision measurement handbook.
    CHECK_THAT(zero_dbu_v * zero_dbu_v / 600, WithinRel(1e-3, 1e-15));
    CHECK_THAT(zero_dbu_v, WithinAbs(0.7746, 5e-5));
    CHECK(v_from_dbu(0) == zero_dbu_v);
    CHECK(dbu_from_v(zero_dbu_v) == 0);
    // Arithmetic from the definition.
    CHECK_THAT(v_from_dbu(4), WithinAbs(1.2277, 5e-5));
    CHECK_THAT(dbu_from_v(1), WithinAbs(2.2185, 5e-5));
    CHECK_THAT(dbu_from_v(0.31623), WithinAbs(-7.7815, 1e-4));
    CHECK_THAT(dbu_from_v(v_from_dbu(-129.5)), WithinRel(-129.5, 1e-15));
}

}  // namespace lowhiss::decibel_test
