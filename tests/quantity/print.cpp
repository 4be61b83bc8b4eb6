#include "lowhiss/quantity/print.hpp"

#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>

#include "quantity_support.hpp"
#include "support/catch.hpp"

namespace lowhiss::print_test {

TEST_CASE("Values are printed with a prefix and their unit", "[quantity]") {
    CHECK(print_quantity(4700, Unit::ohm) == "4.7 kΩ");
    CHECK(print_quantity(0.47, Unit::ohm) == "470 mΩ");
    CHECK(print_quantity(22e-6, Unit::farad) == "22 µF");
    CHECK(print_quantity(999.9, Unit::hertz) == "999.9 Hz");
    CHECK(print_quantity(1e-15, Unit::farad) == "1 fF");
    CHECK(print_quantity(999e9, Unit::hertz) == "999 GHz");
    CHECK(print_quantity(5e-9, Unit::volt_per_root_hertz) == "5 nV/√Hz");
    CHECK(print_quantity(1.6e-3, Unit::volt_per_pascal) == "1.6 mV/Pa");
    CHECK(print_quantity(-0.5, Unit::volt) == "-500 mV");
    CHECK(print_quantity(0, Unit::farad) == "0 F");
    CHECK(print_quantity(-0.0, Unit::volt) == "0 V");
}

TEST_CASE("Some units take no prefix in print", "[quantity]") {
    CHECK(print_quantity(9e6, Unit::volt_per_second) == "9 V/µs");
    CHECK(print_quantity(500, Unit::volt_per_second) == "0.0005 V/µs");
    CHECK(print_quantity(0.01, Unit::fraction) == "1 %");
    CHECK(print_quantity(1e5, Unit::ratio) == "100k");
    CHECK(print_quantity(0.5, Unit::ratio) == "0.5");
    CHECK(print_quantity(-129.5, Unit::dbu) == "-129.5 dBu");
    CHECK(print_quantity(100, Unit::decibel) == "100 dB");
    CHECK(print_quantity(-90, Unit::degree) == "-90°");
    CHECK(print_quantity(-50e-6, Unit::per_kelvin) == "-50 ppm/K");
    CHECK(print_quantity(0.004, Unit::per_kelvin) == "4000 ppm/K");
    CHECK(print_quantity(0.999, Unit::number) == "0.999");
    CHECK(print_quantity(1234567, Unit::number) == "1234567");
}

TEST_CASE("Temperatures are printed in degC where that is exact and short", "[quantity]") {
    CHECK(print_quantity(293.15, Unit::kelvin) == "20 degC");
    CHECK(print_quantity(273.15, Unit::kelvin) == "0 degC");
    CHECK(print_quantity(0, Unit::kelvin) == "-273.15 degC");
    CHECK(print_quantity(1e-20, Unit::kelvin) == "1e-20 K");
    CHECK(print_quantity(293.15, Unit::kelvin, 3) == "20 degC");
}

TEST_CASE("Values beyond the prefixes have an exponent", "[quantity]") {
    CHECK(print_quantity(1e-30, Unit::farad) == "1e-30 F");
    CHECK(print_quantity(1.5e12, Unit::ohm) == "1.5e12 Ω");
    CHECK(print_quantity(1e-5, Unit::ratio) == "1e-5");
    CHECK(print_quantity(1e7, Unit::fraction) == "1e9 %");
    CHECK(print_quantity(5e-324, Unit::volt) == "5e-324 V");
}

TEST_CASE("Rounding carries into the next prefix", "[quantity]") {
    CHECK(print_quantity(129.4e-9, Unit::volt, 3) == "129 nV");
    CHECK(print_quantity(999.96, Unit::hertz, 4) == "1 kHz");
    CHECK(print_quantity(999.94, Unit::hertz, 4) == "999.9 Hz");
    CHECK(print_quantity(123456, Unit::ohm, 1) == "100 kΩ");
    CHECK(print_quantity(123456, Unit::ohm, 0) == "100 kΩ");
    CHECK(print_quantity(0.1, Unit::volt, 99) == "100.00000000000001 mV");
    CHECK(print_quantity(0.012345, Unit::fraction, 3) == "1.23 %");
    CHECK(print_quantity(-0.0, Unit::volt, 3) == "0 V");
}

TEST_CASE("What is no number", "[quantity]") {
    constexpr double inf = std::numeric_limits<double>::infinity();
    CHECK(print_quantity(std::nan(""), Unit::ohm) == "-");
    CHECK(print_quantity(std::nan(""), Unit::kelvin, 3) == "-");
    CHECK(print_quantity(inf, Unit::ohm) == "inf Ω");
    CHECK(print_quantity(-inf, Unit::decibel, 3) == "-inf dB");
    CHECK(print_quantity(inf, Unit::kelvin) == "inf K");
}

TEST_CASE("What is printed reads back to the same double", "[quantity]") {
    std::mt19937_64 random(20240229);
    std::uniform_real_distribution<double> exponent(-18, 14);
    for (int i = 0; i < 100'000; ++i) {
        const Unit unit = units()[random() % units().size()].unit;
        const double sign = random() % 2 ? 1 : -1;
        const double value = sign * std::pow(10.0, exponent(random));
        const std::string text = print_quantity(value, unit);
        if (value_of(text, unit) != value) FAIL(text << " is not " << value);
    }
}

TEST_CASE("So does any finite double at all", "[quantity]") {
    std::mt19937_64 random(468);
    for (int i = 0; i < 50'000; ++i) {
        const auto value = std::bit_cast<double>(std::uint64_t{random()});
        if (!std::isfinite(value)) continue;
        const Unit unit = units()[random() % units().size()].unit;
        const std::string text = print_quantity(value, unit);
        if (value_of(text, unit) != value) FAIL(text << " is not " << value);
    }
}

TEST_CASE("A rounded text is within half a digit", "[quantity]") {
    std::mt19937_64 random(61672);
    std::uniform_real_distribution<double> exponent(-15, 12);
    for (int i = 0; i < 20'000; ++i) {
        const int significant = static_cast<int>(random() % 9) + 1;
        const double value = std::pow(10.0, exponent(random));
        const double read = value_of(print_quantity(value, Unit::volt, significant), Unit::volt);
        // 1e-15: the two conversions to double.
        const double half_digit = 0.5 * std::pow(10.0, 1 - significant) + 1e-15;
        if (!(std::abs(read / value - 1) <= half_digit)) FAIL(value << " reads " << read);
    }
}

TEST_CASE("No locale changes what is printed", "[quantity]") {
    const CommaLocale locale;
    if (!locale.found()) WARN("no locale with a decimal comma on this machine");
    CHECK(print_quantity(4700, Unit::ohm) == "4.7 kΩ");
    CHECK(print_quantity(1.5e-30, Unit::farad, 3) == "1.5e-30 F");
}

}  // namespace lowhiss::print_test
