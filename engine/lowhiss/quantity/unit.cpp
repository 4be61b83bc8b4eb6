#include "lowhiss/quantity/unit.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <functional>
#include <iterator>

namespace lowhiss {
namespace {

constexpr auto all_prefixes = std::to_array<Prefix>({{'f', -15, "f"},
                                                     {'p', -12, "p"},
                                                     {'n', -9, "n"},
                                                     {'u', -6, "µ"},
                                                     {'m', -3, "m"},
                                                     {'k', 3, "k"},
                                                     {'M', 6, "M"},
                                                     {'G', 9, "G"}});

// A unit that takes every prefix, and may be left out.
constexpr std::array<Spelling, 2> plain(std::string_view text) {
    return {{{text}, {""}}};
}

// A unit that takes no prefix, and may be left out.
constexpr std::array<Spelling, 2> bare(std::string_view text) {
    return {{{text, 0, PrefixUse::none}, {"", 0, PrefixUse::none}}};
}

namespace spelled {

constexpr auto ohm = std::to_array<Spelling>({{"ohm"}, {"ohms"}, {"R", 0, PrefixUse::none}, {""}});
// "100" is nearly always a forgotten prefix, not a hundred farads.
constexpr auto farad = std::to_array<Spelling>({{"F"}, {"", 0, PrefixUse::required}});
constexpr auto henry = plain("H");
constexpr auto siemens = plain("S");
constexpr auto volt = plain("V");
constexpr auto ampere = plain("A");
constexpr auto hertz = plain("Hz");
constexpr auto second = plain("s");
// "20" may mean either, so a temperature has no spelling "".
constexpr auto kelvin = std::to_array<Spelling>(
    {{"K", 0, PrefixUse::none}, {"degC", 0, PrefixUse::none, Scale::celsius}});
// A bare number is ambiguous: "100" nearly always means 100 ppm/K.
constexpr auto per_kelvin = std::to_array<Spelling>({{"ppm/K", -6, PrefixUse::none},
                                                     {"ppm/degC", -6, PrefixUse::none},
                                                     {"%/K", -2, PrefixUse::none},
                                                     {"%/degC", -2, PrefixUse::none},
                                                     {"/K", 0, PrefixUse::none},
                                                     {"/degC", 0, PrefixUse::none}});
constexpr auto per_volt = std::to_array<Spelling>(
    {{"%/V", -2, PrefixUse::none}, {"ppm/V", -6, PrefixUse::none}, {"/V", 0, PrefixUse::none}});
constexpr auto per_square_volt = std::to_array<Spelling>({{"%/V^2", -2, PrefixUse::none},
                                                          {"ppm/V^2", -6, PrefixUse::none},
                                                          {"/V^2", 0, PrefixUse::none}});
constexpr auto volt_per_root_hertz = plain("V/rtHz");
constexpr auto ampere_per_root_hertz = plain("A/rtHz");
constexpr auto volt_per_second = std::to_array<Spelling>({{"V/us", 6}, {"V/ms", 3}, {"V/s"}, {""}});
constexpr auto volt_per_pascal = plain("V/Pa");
constexpr auto ratio = std::to_array<Spelling>({{"dB", 0, PrefixUse::none, Scale::decibel},
                                                {"V/V", 0, PrefixUse::none},
                                                {"V/mV", 3, PrefixUse::none},
                                                {"V/uV", 6, PrefixUse::none},
                                                {""}});
constexpr auto fraction = std::to_array<Spelling>(
    {{"%", -2, PrefixUse::none}, {"ppm", -6, PrefixUse::none}, {"", 0, PrefixUse::none}});
constexpr auto decibel = bare("dB");
constexpr auto dbu = bare("dBu");
constexpr auto degree = bare("deg");
constexpr auto db_spl = std::to_array<Spelling>({{"dB SPL", 0, PrefixUse::none},
                                                 {"dBSPL", 0, PrefixUse::none},
                                                 {"dB", 0, PrefixUse::none},
                                                 {"", 0, PrefixUse::none}});
constexpr auto ampere_hour = plain("Ah");
constexpr auto hour = bare("h");
constexpr auto number = std::to_array<Spelling>({{"", 0, PrefixUse::none}});

}  // namespace spelled

constexpr auto table = std::to_array<UnitInfo>({
    {.unit = Unit::ohm,
     .name = "resistance",
     .symbol = "Ω",
     .examples = "4k7, 4.7 kΩ, 4700 ohm",
     .spellings = spelled::ohm,
     .tolerance_letters = "ELPWBCDFGHJKMN"},
    {.unit = Unit::farad,
     .name = "capacitance",
     .symbol = "F",
     .examples = "4n7, 22 µF, 100p",
     .spellings = spelled::farad,
     .tolerance_letters = "JKMN",  // below 10 pF, other letters are in picofarads, not percent
     .when_missing = {"p", "n", " F"}},
    {.unit = Unit::henry,
     .name = "inductance",
     .symbol = "H",
     .examples = "470u, 4.7 mH, 8 H",
     .spellings = spelled::henry,
     .tolerance_letters = "JKMN"},
    {.unit = Unit::siemens,
     .name = "conductance",
     .symbol = "S",
     .examples = "2 mS, 2m, 0.002",
     .spellings = spelled::siemens},
    {.unit = Unit::volt,
     .name = "voltage",
     .symbol = "V",
     .examples = "9 V, 3.3 mV, 0.5",
     .spellings = spelled::volt},
    {.unit = Unit::ampere,
     .name = "current",
     .symbol = "A",
     .examples = "200 nA, 4 mA, 1p",
     .spellings = spelled::ampere},
    {.unit = Unit::hertz,
     .name = "frequency",
     .symbol = "Hz",
     .examples = "1 kHz, 10 MHz, 20",
     .spellings = spelled::hertz},
    {.unit = Unit::second,
     .name = "time",
     .symbol = "s",
     .examples = "10 us, 1.5 ms, 2 s",
     .spellings = spelled::second},
    {.unit = Unit::kelvin,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "temperature",
     .symbol = "K",
     .examples = "20 degC, -5 °C, 293.15 K",
     .spellings = spelled::kelvin,
     .when_missing = {" degC", " K"}},
    {.unit = Unit::per_kelvin,
     .symbol_exponent = -6,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "temperature coefficient",
     .symbol = "ppm/K",
     .examples = "100 ppm/K, -30 ppm/°C, 0.4 %/K",
     .spellings = spelled::per_kelvin,
     .when_missing = {" ppm/K"}},
    {.unit = Unit::per_volt,
     .symbol_exponent = -2,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "voltage coefficient",
     .symbol = "%/V",
     .examples = "0.5 %/V, -200 ppm/V",
     .spellings = spelled::per_volt,
     .when_missing = {" %/V"}},
    {.unit = Unit::per_square_volt,
     .symbol_exponent = -2,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "quadratic voltage coefficient",
     .symbol = "%/V^2",
     .examples = "0.02 %/V^2, -50 ppm/V^2",
     .spellings = spelled::per_square_volt,
     .when_missing = {" %/V^2"}},
    {.unit = Unit::volt_per_root_hertz,
     .name = "voltage noise density",
     .symbol = "V/√Hz",
     .examples = "5 nV/rtHz, 5 nV/√Hz, 5n",
     .spellings = spelled::volt_per_root_hertz},
    {.unit = Unit::ampere_per_root_hertz,
     .name = "current noise density",
     .symbol = "A/√Hz",
     .examples = "0.7 pA/rtHz, 0.7 pA/√Hz, 0.7p",
     .spellings = spelled::ampere_per_root_hertz},
    {.unit = Unit::volt_per_second,
     .symbol_exponent = 6,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "slew rate",
     .symbol = "V/µs",
     .examples = "9 V/us, 500 V/ms, 9e6 V/s",
     .spellings = spelled::volt_per_second},
    {.unit = Unit::volt_per_pascal,
     .name = "sensitivity",
     .symbol = "V/Pa",
     .examples = "1.6 mV/Pa, 1.6m, 0.0016 V/Pa",
     .spellings = spelled::volt_per_pascal},
    {.unit = Unit::ratio,
     .lowest_prefix = 0,  // 0.5 reads better than 500m
     .name = "ratio",
     .symbol = "",
     .examples = "100k, 100 dB, 100 V/mV",
     .spellings = spelled::ratio},
    {.unit = Unit::fraction,
     .symbol_exponent = -2,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "fraction",
     .symbol = "%",
     .examples = "1 %, 100 ppm, 0.01",
     .spellings = spelled::fraction},
    {.unit = Unit::decibel,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "figure in dB",
     .symbol = "dB",
     .examples = "60 dB, -3 dB, 0.5",
     .spellings = spelled::decibel},
    {.unit = Unit::dbu,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "level",
     .symbol = "dBu",
     .examples = "4 dBu, -129.5 dBu, -20",
     .spellings = spelled::dbu},
    {.unit = Unit::degree,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "angle",
     .symbol = "°",
     .examples = "45 deg, 45°, -90",
     .spellings = spelled::degree},
    {.unit = Unit::db_spl,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "sound pressure level",
     .symbol = "dB SPL",
     .examples = "94 dB SPL, 130 dB SPL, 12",
     .spellings = spelled::db_spl},
    {.unit = Unit::ampere_hour,
     .lowest_prefix = -3,
     .highest_prefix = 0,
     .name = "charge",
     .symbol = "Ah",
     .examples = "550 mAh, 2.2 Ah, 0.5",
     .spellings = spelled::ampere_hour},
    {.unit = Unit::hour,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "duration",
     .symbol = "h",
     .examples = "8 h, 0.5 h, 12",
     .spellings = spelled::hour},
    {.unit = Unit::polarity,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "polarity",
     .symbol = "",
     .examples = "1, -1",
     .spellings = spelled::number},
    {.unit = Unit::number,
     .lowest_prefix = 0,
     .highest_prefix = 0,
     .name = "number",
     .symbol = "",
     .examples = "0.999, -2, 1e-3",
     .spellings = spelled::number},
});

constexpr std::size_t index_of(Unit unit) {
    return static_cast<std::size_t>(unit);
}

static_assert(std::size(table) == index_of(Unit::number) + 1);
static_assert(std::ranges::adjacent_find(table, std::ranges::greater_equal{}, &UnitInfo::unit) ==
              std::end(table));

}  // namespace

std::span<const Prefix> prefixes() {
    return all_prefixes;
}

std::span<const UnitInfo> units() {
    return table;
}

const UnitInfo& info(Unit unit) {
    return table[index_of(unit)];
}

}  // namespace lowhiss
