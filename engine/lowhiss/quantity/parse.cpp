#include "lowhiss/quantity/parse.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <string>
#include <vector>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/phrase.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/quantity/suffix.hpp"
#include "lowhiss/quantity/written.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t longest = 1000;

// "a resistance such as 4k7, 4.7 kΩ or 4700 ohm"
std::string accepted(const UnitInfo& unit) {
    std::string examples(unit.examples);
    examples.replace(examples.rfind(", "), 2, " or ");
    return fmt::format("{} such as {}", with_article(unit.name), examples);
}

// Whether exactly three digits follow every comma.
bool groups_thousands(std::string_view plain) {
    while (plain.find(',') != std::string_view::npos) {
        plain.remove_prefix(plain.find(',') + 1);
        if (std::ranges::find_if_not(plain, is_digit) - plain.begin() != 3) return false;
    }
    return true;
}

// A comma may be a decimal point or group thousands: offers every reading that is valid. These have
// no comma, so parse_quantity does not recurse.
Fault comma(const std::string& plain, Unit unit) {
    std::vector<std::string> texts{plain};
    std::ranges::replace(texts[0], ',', '.');
    if (groups_thousands(plain)) std::erase(texts.emplace_back(plain), ',');

    std::erase_if(texts, [&](const std::string& text) {
        return std::holds_alternative<QuantityProblem>(parse_quantity(text, unit));
    });
    return {"has a comma", write_one_of(texts)};
}

std::variant<double, Fault> in_range(double value, bool zero_is_exact) {
    if (std::isinf(value)) return Fault{"is too large (the limit is 1.8e308)"};
    if (value == 0 && !zero_is_exact) return Fault{"is so small that it would be read as 0"};
    return value;
}

std::variant<double, Fault> value_of(Decimal number, const Suffix& suffix) {
    number.exponent += suffix.exponent;
    if (suffix.spelling.scale == Scale::celsius) number = plus_hundredths(number, 273'15);
    auto value = in_range(nearest_double(number), is_zero(number));
    if (suffix.spelling.scale != Scale::decibel || std::holds_alternative<Fault>(value))
        return value;
    return in_range(ratio_from_db(std::get<double>(value)), false);
}

std::variant<double, Fault> read(std::string_view text, const UnitInfo& unit) {
    if (text.size() > longest) return Fault{"is longer than 1000 bytes"};
    const std::string plain = plain_spelling(text);
    if (plain.empty()) return Fault{"is empty"};
    if (plain.find(',') != std::string::npos) return comma(plain, unit.unit);

    const auto parts = take_apart(plain);
    if (const auto* fault = std::get_if<Fault>(&parts)) return *fault;
    const auto& written = std::get<Written>(parts);
    const auto suffix = find_suffix(written, unit);
    if (!suffix) return explain_suffix(written, unit);
    return value_of(written.number, *suffix);
}

}  // namespace

std::variant<double, QuantityProblem> parse_quantity(std::string_view text, Unit unit) {
    const auto result = read(text, info(unit));
    if (const auto* value = std::get_if<double>(&result)) return *value;
    const auto& fault = std::get<Fault>(result);
    return QuantityProblem{fmt::format("{} {}", quote(text), fault.found), accepted(info(unit)),
                           fault.advice};
}

}  // namespace lowhiss
