// Every way in which a text can be wrong, with its whole diagnostic.

#include <string>

#include "lowhiss/quantity/parse.hpp"
#include "support/catch.hpp"

namespace lowhiss::problem_test {

struct Mistake {
    std::string text;
    Unit unit;
    std::string found;
    std::string advice;
};

QuantityProblem problem_of(const std::string& text, Unit unit) {
    const auto result = parse_quantity(text, unit);
    REQUIRE(std::holds_alternative<QuantityProblem>(result));
    return std::get<QuantityProblem>(result);
}

TEST_CASE("Each mistake has its own text", "[quantity]") {
    const std::string long_text(1001, '9');
    const std::string cut(40, '9');
    const Mistake mistakes[] = {
        {"", Unit::ohm, "'' is empty", ""},
        {" \t", Unit::ohm, "' \\x09' is empty", ""},
        {long_text, Unit::ohm, "'" + cut + "…' is longer than 1000 bytes", ""},

        {"4,7k", Unit::ohm, "'4,7k' has a comma", "write 4.7k"},
        {"1,000 Hz", Unit::hertz, "'1,000 Hz' has a comma", "write 1.000 Hz or 1000 Hz"},
        {"1,000,000", Unit::hertz, "'1,000,000' has a comma", "write 1000000"},
        {"4,7 foo", Unit::ohm, "'4,7 foo' has a comma", ""},

        {"1.2.3", Unit::ohm, "'1.2.3' has two decimal points", ""},
        {"1..2 V", Unit::volt, "'1..2 V' has two decimal points", ""},
        {"4k7.2", Unit::ohm, "'4k7.2' has two decimal points", ""},
        {"4.7k7", Unit::ohm, "'4.7k7' has both a decimal point and a k in place of one", ""},

        {"kΩ", Unit::ohm, "'kΩ' has no digits", ""},
        {"-", Unit::ohm, "'-' has no digits", ""},
        {".", Unit::ohm, "'.' has no digits", ""},
        {"--5", Unit::volt, "'--5' has no digits", ""},
        {"1e", Unit::volt, "'1e' has an exponent without digits", ""},
        {"1e- V", Unit::volt, "'1e- V' has an exponent without digits", ""},
        {"nan", Unit::ohm, "'nan' is not a finite number", ""},
        {"-Inf V", Unit::volt, "'-Inf V' is not a finite number", ""},
        {"infinity", Unit::ratio, "'infinity' is not a finite number", ""},
        {"info", Unit::ratio, "'info' has no digits", ""},

        {"1e309", Unit::ohm, "'1e309' is too large (the limit is 1.8e308)", ""},
        {"1e300 GV", Unit::volt, "'1e300 GV' is too large (the limit is 1.8e308)", ""},
        {"1e99999999999999999999", Unit::ohm,
         "'1e99999999999999999999' is too large (the limit is 1.8e308)", ""},
        {"1e400 degC", Unit::kelvin, "'1e400 degC' is too large (the limit is 1.8e308)", ""},
        {"7000 dB", Unit::ratio, "'7000 dB' is too large (the limit is 1.8e308)", ""},
        {"1e-320 fF", Unit::farad, "'1e-320 fF' is so small that it would be read as 0", ""},
        {"-7000 dB", Unit::ratio, "'-7000 dB' is so small that it would be read as 0", ""},

        {"100", Unit::farad, "'100' has neither a prefix letter nor a unit",
         "write 100p, 100n or 100 F"},
        {"20", Unit::kelvin, "'20' has no unit", "write 20 degC or 20 K"},
        {"100", Unit::per_kelvin, "'100' has no unit", "write 100 ppm/K"},

        {"4K7K", Unit::ohm, "'4K7K' ends in K, the IEC 60062 letter of a 10 % tolerance",
         "write 4K7 and tolerance = \"10 %\""},
        {"4k7F", Unit::ohm, "'4k7F' ends in F, the IEC 60062 letter of a 1 % tolerance",
         "write 4k7 and tolerance = \"1 %\""},
        {"47KJ", Unit::ohm, "'47KJ' ends in J, the IEC 60062 letter of a 5 % tolerance",
         "write 47K and tolerance = \"5 %\""},
        {"100nK", Unit::farad, "'100nK' ends in K, the IEC 60062 letter of a 10 % tolerance",
         "write 100n and tolerance = \"10 %\""},
        {"4n7M", Unit::farad, "'4n7M' ends in M, the IEC 60062 letter of a 20 % tolerance",
         "write 4n7 and tolerance = \"20 %\""},

        {"22 µF", Unit::ohm, "'22 µF' has the unit F of a capacitance", ""},
        {"47 kF", Unit::ohm, "'47 kF' has the unit F of a capacitance", ""},
        {"2R2", Unit::farad, "'2R2' has the unit R of a resistance", ""},
        {"10 MHz", Unit::second, "'10 MHz' has the unit Hz of a frequency", ""},
        {"5 %", Unit::decibel, "'5 %' has the unit % of a fraction", ""},
        {"1 mH", Unit::volt, "'1 mH' has the unit H of an inductance", ""},
        {"10 S", Unit::second, "'10 S' has the unit S of a conductance", "write 10 s"},
        {"10K", Unit::hertz, "'10K' has the unit K of a temperature", "write 10k"},

        {"10 mhz", Unit::hertz, "'10 mhz' has a letter in the wrong case",
         "write 10 mHz or 10 MHz"},
        {"5 NV/rtHz", Unit::volt_per_root_hertz, "'5 NV/rtHz' has a letter in the wrong case",
         "write 5 nV/rtHz"},
        {"5 nv/√hz", Unit::volt_per_root_hertz, "'5 nv/√hz' has a letter in the wrong case",
         "write 5 nV/rtHz"},
        {"4N7", Unit::farad, "'4N7' has a letter in the wrong case", "write 4n7"},
        {"2r2", Unit::ohm, "'2r2' has a letter in the wrong case", "write 2R2"},
        {"100 db", Unit::ratio, "'100 db' has a letter in the wrong case", "write 100 dB"},

        {"10k", Unit::number, "'10k' has the prefix k, which a number does not take", ""},
        {"5 foo", Unit::ohm, "'5 foo' has the unknown unit 'foo'", ""},
        {"1 kdB", Unit::decibel, "'1 kdB' has the unknown unit 'kdB'", ""},
        {"3x5", Unit::ohm, "'3x5' has the unknown unit 'x'", ""},
        {"4700 \xff", Unit::farad, "'4700 \\xFF' has the unknown unit '\\xFF'", ""},

        {"470 ohm x", Unit::ohm, "'470 ohm x' has 'x' after the value", ""},
        {"470 ohm;", Unit::ohm, "'470 ohm;' has ';' after the value", ""},
        {"4k7 5", Unit::ohm, "'4k7 5' has '5' after the value", ""},
        {"1_000", Unit::ohm, "'1_000' has '_000' after the value", ""},
    };
    for (const Mistake& mistake : mistakes) {
        CAPTURE(mistake.text);
        const QuantityProblem problem = problem_of(mistake.text, mistake.unit);
        CHECK(problem.found == mistake.found);
        CHECK(problem.advice == mistake.advice);
    }
}

TEST_CASE("What is accepted is said by example", "[quantity]") {
    CHECK(problem_of("", Unit::ohm).accepted == "a resistance such as 4k7, 4.7 kΩ or 4700 ohm");
    CHECK(problem_of("", Unit::henry).accepted == "an inductance such as 470u, 4.7 mH or 8 H");
    CHECK(problem_of("", Unit::dbu).accepted == "a level such as 4 dBu, -129.5 dBu or -20");
    for (const UnitInfo& unit : units()) {
        CHECK(problem_of("", unit.unit).accepted.find(std::string(unit.name)) != std::string::npos);
    }
}

TEST_CASE("Every tolerance letter is known", "[quantity]") {
    for (const UnitInfo& unit : units()) {
        for (const char letter : unit.tolerance_letters) {
            const std::string text = std::string("1m0") + letter;
            CHECK(problem_of(text, unit.unit).found.starts_with("'" + text + "' ends in "));
        }
    }
}

}  // namespace lowhiss::problem_test
