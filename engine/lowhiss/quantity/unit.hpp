#pragma once

#include <array>
#include <span>
#include <string_view>

namespace lowhiss {

/// The units of all values of boards and results.
enum class Unit {
    ohm,
    farad,
    henry,
    siemens,
    volt,
    ampere,
    hertz,
    second,
    kelvin,
    per_kelvin,
    per_volt,
    per_square_volt,
    volt_per_root_hertz,
    ampere_per_root_hertz,
    volt_per_second,
    volt_per_pascal,
    ratio,
    fraction,
    decibel,
    dbu,
    degree,
    db_spl,
    ampere_hour,
    hour,
    polarity,
    number
};

/// A metric prefix: "k" is 10^3.
struct Prefix {
    char letter;  // as typed
    int exponent;
    std::string_view printed;  // as printed: "µ" for 'u'
};

/// All prefixes, smallest first.
std::span<const Prefix> prefixes();

enum class PrefixUse { none, optional, required };

/// The meaning of the written number: the value itself, degrees Celsius, or decibels of a voltage
/// ratio.
enum class Scale { linear, celsius, decibel };

/// One way to write a unit. The spelling "" allows a value without a unit.
struct Spelling {
    std::string_view text;  // ASCII only: the parser reads Ω as ohm, µ as u, √ as rt and ° as deg
    int exponent = 0;       // the value is the written number times 10^exponent
    PrefixUse prefix = PrefixUse::optional;
    Scale scale = Scale::linear;
};

/// The one record of a unit, for the parser, the printer, error texts and documentation.
struct UnitInfo {
    Unit unit;
    int symbol_exponent = 0;  // the printed symbol stands for 10^symbol_exponent
    int lowest_prefix = -15;  // range of printed prefixes, as exponents of ten
    int highest_prefix = 9;
    std::string_view name;      // of the quantity: "resistance"
    std::string_view symbol;    // as printed: "Ω"
    std::string_view examples;  // texts the parser accepts, joined by ", "
    std::span<const Spelling> spellings;
    std::string_view tolerance_letters = "";  // IEC 60062 letters that may follow a marking
    std::array<std::string_view, 3>
        when_missing{};  // endings to suggest if a bare number is an error
};

/// All units, in the order of `Unit`.
std::span<const UnitInfo> units();

const UnitInfo& info(Unit unit);

}  // namespace lowhiss
