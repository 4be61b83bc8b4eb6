#include "lowhiss/quantity/parse.hpp"

#include <charconv>
#include <cmath>
#include <limits>
#include <string>

#include "quantity_support.hpp"
#include "support/catch.hpp"

namespace lowhiss::parse_test {

TEST_CASE("IEC 60062 codes of resistors", "[quantity]") {
    // IEC 60062:2016+A1:2019, the examples as quoted by Wikipedia, "IEC 60062".
    CHECK(value_of("R47", Unit::ohm) == 0.47);
    CHECK(value_of("4R7", Unit::ohm) == 4.7);
    CHECK(value_of("470R", Unit::ohm) == 470);
    CHECK(value_of("4K7", Unit::ohm) == 4700);
    CHECK(value_of("47K", Unit::ohm) == 47e3);
    CHECK(value_of("47K3", Unit::ohm) == 47.3e3);
    CHECK(value_of("470K", Unit::ohm) == 470e3);
    CHECK(value_of("4M7", Unit::ohm) == 4.7e6);
    // Common practice, no source: the lower-case k of drawings, and a zero in front.
    CHECK(value_of("4k7", Unit::ohm) == 4700);
    CHECK(value_of("6k81", Unit::ohm) == 6810);
    CHECK(value_of("2R2", Unit::ohm) == 2.2);
    CHECK(value_of("0R1", Unit::ohm) == 0.1);
    CHECK(value_of("1M0", Unit::ohm) == 1e6);
    CHECK(value_of("-4k7", Unit::ohm) == -4700);
}

TEST_CASE("IEC 60062 codes of capacitors", "[quantity]") {
    // IEC 60062:2016+A1:2019, from memory.
    CHECK(value_of("p33", Unit::farad) == 0.33e-12);
    CHECK(value_of("3p3", Unit::farad) == 3.3e-12);
    CHECK(value_of("33p", Unit::farad) == 33e-12);
    CHECK(value_of("n33", Unit::farad) == 330e-12);
    CHECK(value_of("4n7", Unit::farad) == 4.7e-9);
    CHECK(value_of("100n", Unit::farad) == 100e-9);
    CHECK(value_of("2u2", Unit::farad) == 2.2e-6);
    CHECK(value_of("2µ2", Unit::farad) == 2.2e-6);
    CHECK(value_of("4m7", Unit::farad) == 4.7e-3);
    CHECK(value_of("1F5", Unit::farad) == 1.5);
}

TEST_CASE("A code may have its unit behind it", "[quantity]") {
    CHECK(value_of("4n7F", Unit::farad) == 4.7e-9);
    CHECK(value_of("4k7 ohm", Unit::ohm) == 4700);
    CHECK(value_of("4k7Ω", Unit::ohm) == 4700);
    CHECK(value_of("3V3", Unit::volt) == 3.3);
}

TEST_CASE("Every prefix", "[quantity]") {
    CHECK(value_of("7 fF", Unit::farad) == 7e-15);
    CHECK(value_of("7 pF", Unit::farad) == 7e-12);
    CHECK(value_of("7 nF", Unit::farad) == 7e-9);
    CHECK(value_of("7 uF", Unit::farad) == 7e-6);
    CHECK(value_of("7 \u00B5F", Unit::farad) == 7e-6);  // micro sign
    CHECK(value_of("7 \u03BCF", Unit::farad) == 7e-6);  // Greek mu
    CHECK(value_of("7 mF", Unit::farad) == 7e-3);
    CHECK(value_of("7 kF", Unit::farad) == 7e3);
    CHECK(value_of("7 MF", Unit::farad) == 7e6);
    CHECK(value_of("7 GF", Unit::farad) == 7e9);
    CHECK(value_of("7 mHz", Unit::hertz) == 7e-3);
    CHECK(value_of("7 MHz", Unit::hertz) == 7e6);
}

TEST_CASE("Every unit", "[quantity]") {
    for (const auto text : {"4700", "4.7k", "4.7 kΩ", "4.7k\u2126", "4.7 kohm", "4.7 Kohm",
                            "4700 ohms", "4700R", "4.7\u00A0kΩ", " 4.7 k\t"}) {
        CAPTURE(text);
        CHECK(value_of(text, Unit::ohm) == 4700);
    }
    CHECK(value_of("8", Unit::henry) == 8);
    CHECK(value_of("470u", Unit::henry) == 470e-6);
    CHECK(value_of("2 mS", Unit::siemens) == 2e-3);
    CHECK(value_of("-0.5 V", Unit::volt) == -0.5);
    CHECK(value_of("200nA", Unit::ampere) == 200e-9);
    CHECK(value_of("1e6 MHz", Unit::hertz) == 1e12);
    CHECK(value_of("10 µs", Unit::second) == 10e-6);
    for (const auto text : {"-50 ppm/K", "-50ppm/°C", "-50 ppm/degC", "-0.005 %/K", "-5e-5 /K"}) {
        CAPTURE(text);
        CHECK(value_of(text, Unit::per_kelvin) == -50e-6);
    }
    CHECK(value_of("5 nV/rtHz", Unit::volt_per_root_hertz) == 5e-9);
    CHECK(value_of("5 nV/√Hz", Unit::volt_per_root_hertz) == 5e-9);
    CHECK(value_of("0.7pA/√Hz", Unit::ampere_per_root_hertz) == 0.7e-12);
    CHECK(value_of("9 V/us", Unit::volt_per_second) == 9e6);
    CHECK(value_of("9 V/µs", Unit::volt_per_second) == 9e6);
    CHECK(value_of("9 V/ms", Unit::volt_per_second) == 9e3);
    CHECK(value_of("9 V/s", Unit::volt_per_second) == 9);
    CHECK(value_of("1.6 mV/Pa", Unit::volt_per_pascal) == 1.6e-3);
    CHECK(value_of("60 dB", Unit::decibel) == 60);
    CHECK(value_of("60", Unit::decibel) == 60);
    CHECK(value_of("-129.5 dBu", Unit::dbu) == -129.5);
    CHECK(value_of("130 dB SPL", Unit::db_spl) == 130);
    CHECK(value_of("94dB", Unit::db_spl) == 94);
    CHECK(value_of("550 mAh", Unit::ampere_hour) == 0.55);
    CHECK(value_of("2.2 Ah", Unit::ampere_hour) == 2.2);
    CHECK(value_of("8 h", Unit::hour) == 8);
    CHECK(value_of("45°", Unit::degree) == 45);
    CHECK(value_of("45 deg", Unit::degree) == 45);
    CHECK(value_of("\u221290", Unit::degree) == -90);
    CHECK(value_of("0.999", Unit::number) == 0.999);
    CHECK(value_of("+2.2e-9", Unit::number) == 2.2e-9);
    CHECK(value_of(".5", Unit::number) == 0.5);
    CHECK(value_of("5.", Unit::number) == 5);
}

TEST_CASE("Ratios and fractions", "[quantity]") {
    CHECK(value_of("100k", Unit::ratio) == 1e5);
    CHECK(value_of("10", Unit::ratio) == 10);
    CHECK(value_of("100 V/V", Unit::ratio) == 100);
    CHECK(value_of("100 V/mV", Unit::ratio) == 1e5);
    CHECK(value_of("20 V/µV", Unit::ratio) == 2e7);
    CHECK_THAT(value_of("100 dB", Unit::ratio), WithinRel(1e5, 1e-14));
    CHECK_THAT(value_of("-6 dB", Unit::ratio), WithinRel(0.501187233627272, 1e-14));
    CHECK(value_of("0 dB", Unit::ratio) == 1);
    CHECK(value_of("1 %", Unit::fraction) == 0.01);
    CHECK(value_of("100 ppm", Unit::fraction) == 1e-4);
    CHECK(value_of("0.01", Unit::fraction) == 0.01);
}

TEST_CASE("Temperatures are added in decimal", "[quantity]") {
    CHECK(value_of("20 degC", Unit::kelvin) == 293.15);
    CHECK(value_of("-40 °C", Unit::kelvin) == 233.15);
    CHECK(value_of("300 K", Unit::kelvin) == 300);
    CHECK(value_of("-273.15 degC", Unit::kelvin) == 0);
    CHECK(value_of("0.1 degC", Unit::kelvin) == 273.25);
    CHECK(value_of("-010 degC", Unit::kelvin) == 263.15);
    CHECK(value_of("1e-99999 degC", Unit::kelvin) == 273.15);
    CHECK(value_of("1e300 degC", Unit::kelvin) == 1e300);

    // 293 + 2^-45 lies half-way between two doubles: to even, and upwards with a little more.
    const std::string half_way = "19.850000000000028421709430404007434844970703125";
    CHECK(value_of(half_way + " degC", Unit::kelvin) == 293);
    CHECK(value_of(half_way + std::string(900, '0') + "1 degC", Unit::kelvin) ==
          std::nextafter(293.0, 300.0));
}

TEST_CASE("Decimal texts are correctly rounded", "[quantity]") {
    // 2^53 + 1 is half-way between two doubles, however the point and the prefix are placed.
    constexpr double even = 9007199254740992;
    CHECK(value_of("9007199254740993 Hz", Unit::hertz) == even);
    CHECK(value_of("9007199254740.993 kHz", Unit::hertz) == even);
    CHECK(value_of("9007199254740993e3 mHz", Unit::hertz) == even);
    CHECK(value_of("9007199G254740993", Unit::ohm) == even);
    CHECK(value_of("900719925474099300 %", Unit::fraction) == even);
    const std::string more = "9007199.254740993" + std::string(900, '0') + "1 G";
    CHECK(value_of(more, Unit::ohm) == even + 2);

    // Against std::from_chars of the plain decimal: the worst digits behind each prefix.
    for (const auto digits : {"2.2250738585072014", "1.7976931348623157", "4.9406564584124654",
                              "8.98846567431158", "3.3", "0.1", "179769313486231580793.7"}) {
        for (const Prefix& prefix : prefixes()) {
            const std::string plain = digits + ("e" + std::to_string(prefix.exponent));
            double expected = 0;
            std::from_chars(plain.data(), plain.data() + plain.size(), expected);
            CAPTURE(plain);
            CHECK(value_of(digits + std::string(" ") + prefix.letter + "V", Unit::volt) ==
                  expected);
        }
    }
}

TEST_CASE("The ends of the range of a double", "[quantity]") {
    CHECK(value_of("1.7976931348623157e308 V", Unit::volt) == std::numeric_limits<double>::max());
    CHECK(value_of("5e-324 V", Unit::volt) == std::numeric_limits<double>::denorm_min());
    CHECK(value_of("1e318 fV", Unit::volt) == 1e303);
    CHECK(value_of("0e-99999999999999999999 V", Unit::volt) == 0);
    CHECK(value_of("0e99999999999999999999 V", Unit::volt) == 0);
}

TEST_CASE("The examples of every unit are accepted by it", "[quantity]") {
    for (const UnitInfo& unit : units()) {
        for (const std::string& example : split(unit.examples, ", ")) {
            CAPTURE(unit.name, example);
            CHECK(std::holds_alternative<double>(parse_quantity(example, unit.unit)));
        }
        CHECK_THAT(value_of("1 " + std::string(unit.symbol), unit.unit),
                   WithinRel(std::pow(10.0, unit.symbol_exponent), 1e-5));
    }
}

TEST_CASE("No locale changes what is read", "[quantity]") {
    const CommaLocale locale;
    if (!locale.found()) WARN("no locale with a decimal comma on this machine");
    CHECK(value_of("4.7k", Unit::ohm) == 4700);
    CHECK(std::holds_alternative<QuantityProblem>(parse_quantity("4,7k", Unit::ohm)));
}

}  // namespace lowhiss::parse_test
