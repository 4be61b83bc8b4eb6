// The series of preferred values of IEC 60063:2015 (from memory), against E24 and E192 values that
// any catalogue prints, and by the largest error of the nearest value, found exhaustively.

#include "lowhiss/quantity/preferred.hpp"

#include <algorithm>
#include <cmath>

#include "support/catch.hpp"

namespace lowhiss::preferred_test {

TEST_CASE("the series have their values") {
    CHECK(preferred_mantissas("E3") == std::vector<int>{10, 22, 47});
    CHECK(preferred_mantissas("E6") == std::vector<int>{10, 15, 22, 33, 47, 68});
    CHECK(preferred_mantissas("E12") ==
          std::vector<int>{10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82});
    CHECK(preferred_mantissas("E24").size() == 24);
    const auto e96 = preferred_mantissas("E96");
    REQUIRE(e96.size() == 96);
    for (const int known : {100, 102, 105, 301, 332, 442, 576, 715, 845, 976}) {
        CHECK(std::count(e96.begin(), e96.end(), known) == 1);
    }
    const auto e48 = preferred_mantissas("E48");
    for (std::size_t k = 0; k < 48; ++k) CHECK(e48[k] == e96[2 * k]);
    const auto e192 = preferred_mantissas("E192");
    CHECK(std::count(e192.begin(), e192.end(), 920) == 1);  // 10^(185/192) rounds to 919
    CHECK(std::count(e192.begin(), e192.end(), 919) == 0);
    for (std::size_t k = 0; k < 96; ++k) CHECK(e96[k] == e192[2 * k]);
    CHECK(preferred_mantissas("E10").empty());
}

TEST_CASE("values between two ends have the ends, and are the nearest doubles") {
    CHECK(preferred_values("E6", 1e3, 1e4) ==
          std::vector<double>{1000, 1500, 2200, 3300, 4700, 6800, 10000});
    CHECK(preferred_values("E12", 4.7e-6, 5.6e-6) == std::vector<double>{4.7e-6, 5.6e-6});
    CHECK(preferred_values("E24", 47e-6, 1000e-6).front() == 47e-6);
    CHECK(preferred_values("E24", 47e-6, 1000e-6).back() == 1e-3);
    CHECK(preferred_values("E96", 0.1, 0.1) == std::vector<double>{0.1});
    CHECK(preferred_values("E6", 2.3, 3.2).empty());
    CHECK(preferred_values("E6", 0, 1).empty());
    CHECK(preferred_values("E6", 2, 1).empty());
    CHECK(preferred_values("E6", 1, INFINITY).empty());
    CHECK(preferred_values("E7", 1, 10).empty());
}

/// The largest error of the nearest of these values or ratios to any target, in percent: half the
/// widest gap on a logarithmic scale of a decade that repeats.
double largest_error_percent(std::vector<double> values) {
    for (double& value : values) value = std::log10(value) - std::floor(std::log10(value) + 1e-12);
    std::sort(values.begin(), values.end());
    double widest = values.front() + 1 - values.back();
    for (std::size_t k = 1; k < values.size(); ++k) {
        widest = std::max(widest, values[k] - values[k - 1]);
    }
    return 100 * (std::pow(10, widest / 2) - 1);
}

std::vector<double> decade(const char* series) {
    std::vector<double> values;
    for (const int mantissa : preferred_mantissas(series)) values.push_back(mantissa);
    return values;
}

// The four rows of figures: computed independently, by exhaustion over the series.
TEST_CASE("one value, a ratio of two and a pair meet any wish so well") {
    CHECK(largest_error_percent(decade("E12")) == Approx(11.80).margin(0.005));
    CHECK(largest_error_percent(decade("E24")) == Approx(7.42).margin(0.005));
    CHECK(largest_error_percent(decade("E96")) == Approx(1.49).margin(0.005));
    const auto of_ratios = [](const char* series) {
        std::vector<double> ratios;
        for (const double a : decade(series)) {
            for (const double b : decade(series)) ratios.push_back(a / b);
        }
        return largest_error_percent(ratios);
    };
    CHECK(of_ratios("E12") == Approx(8.71).margin(0.005));
    CHECK(of_ratios("E24") == Approx(3.28).margin(0.005));
    CHECK(of_ratios("E96") == Approx(0.88).margin(0.005));
    // The second value is from the same decade down to the second below it.
    const auto of_pairs = [](const char* series) {
        std::vector<double> pairs;
        const std::vector<double> values = preferred_values(series, 0.1, 99);
        for (const double a : decade(series)) {
            for (const double b : values) {
                pairs.push_back(a + b);
                pairs.push_back(a * b / (a + b));
            }
        }
        return largest_error_percent(pairs);
    };
    CHECK(of_pairs("E12") == Approx(0.778).margin(0.002));
    CHECK(of_pairs("E24") == Approx(0.349).margin(0.002));
}

}  // namespace lowhiss::preferred_test
