#include "lowhiss/quantity/written.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <iterator>
#include <optional>

#include "lowhiss/quantity/ascii.hpp"

namespace lowhiss {
namespace {

struct Replacement {
    std::string_view typed;
    std::string_view plain;
};

constexpr auto replacements = std::to_array<Replacement>({
    {"\u00B5", "u"},    // micro sign
    {"\u03BC", "u"},    // Greek mu
    {"\u03A9", "ohm"},  // Greek omega
    {"\u2126", "ohm"},  // ohm sign
    {"\u221A", "rt"},   // square root
    {"\u00B0", "deg"},  // degree sign
    {"\u2212", "-"},    // minus sign
    {"\u00A0", " "},    // no-break space
    {"\u2009", " "},    // thin space
    {"\u202F", " "},    // narrow no-break space
});

// The functions below remove what they read from the front of `rest`.

std::string_view take(std::string_view& rest, std::size_t count) {
    const auto taken = rest.substr(0, count);
    rest.remove_prefix(taken.size());
    return taken;
}

std::string_view take_digits(std::string_view& rest) {
    return take(rest,
                static_cast<std::size_t>(std::ranges::find_if_not(rest, is_digit) - rest.begin()));
}

std::string_view take_one_of(std::string_view characters, std::string_view& rest) {
    const bool present = !rest.empty() && characters.find(rest.front()) != std::string_view::npos;
    return take(rest, present ? 1 : 0);
}

// The exponent after an e or E, 0 if there is none; nothing if it has no digits. Clamped to a bound
// beyond which even 1000 digits cannot bring the number back into the range of a double.
std::optional<long> take_exponent(std::string_view& rest) {
    constexpr long bound = 100'000;
    auto ahead = rest;
    if (take_one_of("eE", ahead).empty()) return 0;
    const bool negative = take_one_of("+-", ahead) == "-";
    const auto digits = take_digits(ahead);
    if (digits.empty()) {
        if (rest.size() > 1 && is_letter(rest[1])) return 0;  // a unit with an e in front
        return std::nullopt;
    }
    rest = ahead;
    long exponent = 0;
    for (const char digit : digits) exponent = std::min(exponent * 10 + (digit - '0'), bound);
    return negative ? -exponent : exponent;
}

bool starts_with_code(std::string_view rest) {
    return rest.size() > 1 && is_letter(rest[0]) && is_digit(rest[1]);
}

Fault no_number(std::string_view unsigned_text) {
    const auto last = std::ranges::find_if_not(unsigned_text, is_letter);
    const std::string word = lower_case({unsigned_text.begin(), last});
    if (word == "nan" || word == "inf" || word == "infinity") return {"is not a finite number"};
    return {"has no digits"};
}

}  // namespace

std::string Written::with_suffix(std::string_view other) const {
    return fmt::format("{}{}{}{}", before, other.substr(0, 1), fraction,
                       other.substr(std::min<std::size_t>(1, other.size())));
}

std::string plain_spelling(std::string_view text) {
    std::string plain;
    while (!text.empty()) {
        const auto found = std::ranges::find_if(
            replacements, [&](const Replacement& r) { return text.starts_with(r.typed); });
        const bool replaced = found != std::end(replacements);
        plain += replaced ? found->plain : text.substr(0, 1);
        text.remove_prefix(replaced ? found->typed.size() : 1);
    }
    return std::string(trimmed(plain));
}

std::variant<Written, Fault> take_apart(std::string_view plain) {
    std::string_view rest = plain;
    const bool negative = take_one_of("+-", rest) == "-";
    const auto unsigned_text = rest;
    const auto whole = take_digits(rest);
    const bool has_point = !take_one_of(".", rest).empty();
    auto decimals = has_point ? take_digits(rest) : std::string_view{};
    const bool has_digits = !whole.empty() || !decimals.empty();
    if (!has_digits && (has_point || !starts_with_code(rest))) return no_number(unsigned_text);

    const auto behind_digits = rest;
    const auto exponent = has_digits ? take_exponent(rest) : 0;
    if (!exponent) return Fault{"has an exponent without digits"};
    const bool has_exponent = rest.size() < behind_digits.size();

    Written written{.before = std::string(plain.substr(0, plain.size() - rest.size()))};
    if (starts_with_code(rest) && !has_exponent) {
        if (has_point)
            return Fault{fmt::format("has both a decimal point and a {} in place of one", rest[0])};
        written.suffix = take(rest, 1);
        decimals = take_digits(rest);
        written.fraction = decimals;
    }
    if (rest.starts_with('.')) return Fault{"has two decimal points"};
    const auto unit = trimmed(rest);
    if (!written.is_code()) written.before += rest.substr(0, rest.size() - unit.size());
    written.suffix += unit;
    written.number = {negative, fmt::format("{}{}", whole, decimals),
                      *exponent - static_cast<long>(decimals.size())};
    return written;
}

}  // namespace lowhiss
