#include "lowhiss/quantity/decibel.hpp"

#include <cmath>
#include <limits>

#include "support/catch.hpp"

namespace lowhiss::decibel_test {

TEST_CASE("Decibels of voltage and power ratios", "[quantity]") {
    CHECK(db_from_ratio(1) == 0);
    CHECK(db_from_ratio(10) == Approx(20).epsilon(1e-15));
    CHECK(db_from_ratio(2) == Approx(6.020599913279624).epsilon(1e-15));
    CHECK(db_from_power_ratio(2) == Approx(3.010299956639812).epsilon(1e-15));
    CHECK(ratio_from_db(20) == 10);
    CHECK(ratio_from_db(-6.020599913279624) == Approx(0.5).epsilon(1e-14));
    CHECK(power_ratio_from_db(3.010299956639812) == Approx(2).epsilon(1e-14));
    CHECK(db_from_ratio(0) == -std::numeric_limits<double>::infinity());
    CHECK(std::isnan(db_from_ratio(-1)));
}

TEST_CASE("Decibels undo themselves", "[quantity]") {
    for (double gain_db = -200; gain_db <= 200; gain_db += 0.37) {
        // |dB| / 8 + 1 ulp of the ratio, at most 26, is 26 * 2.2e-16 * 8.7 dB.
        CHECK(db_from_ratio(ratio_from_db(gain_db)) == Approx(gain_db).margin(5e-14));
        CHECK(db_from_power_ratio(power_ratio_from_db(gain_db)) == Approx(gain_db).margin(5e-14));
    }
}

TEST_CASE("Levels in dBu", "[quantity]") {
    // 0 dBu is 1 mW in 600 ohm; 0.7746 V as quoted from the Audio Precision measurement handbook.
    CHECK(zero_dbu_v * zero_dbu_v / 600 == Approx(1e-3).epsilon(1e-15));
    CHECK(zero_dbu_v == Approx(0.7746).margin(5e-5));
    CHECK(v_from_dbu(0) == zero_dbu_v);
    CHECK(dbu_from_v(zero_dbu_v) == 0);
    // Arithmetic from the definition.
    CHECK(v_from_dbu(4) == Approx(1.2277).margin(5e-5));
    CHECK(dbu_from_v(1) == Approx(2.2185).margin(5e-5));
    CHECK(dbu_from_v(0.31623) == Approx(-7.7815).margin(1e-4));
    CHECK(dbu_from_v(v_from_dbu(-129.5)) == Approx(-129.5).epsilon(1e-15));
}

}  // namespace lowhiss::decibel_test
