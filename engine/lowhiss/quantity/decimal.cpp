#include "lowhiss/quantity/decimal.hpp"

#include <algorithm>
#include <array>
#include <boost/multiprecision/cpp_int.hpp>
#include <charconv>
#include <cstddef>
#include <iterator>
#include <limits>
#include <string_view>
#include <system_error>
#include <utility>

namespace lowhiss {
namespace {

/// Without expression templates: no result is a temporary of another.
using Integer = boost::multiprecision::number<boost::multiprecision::cpp_int_backend<>,
                                              boost::multiprecision::et_off>;

Integer power_of_ten(long exponent) {
    return boost::multiprecision::pow(Integer(10), static_cast<unsigned>(exponent));
}

Integer significand(const Decimal& decimal) {
    const auto first = decimal.digits.find_first_not_of('0');
    if (first == std::string::npos) return 0;
    const Integer magnitude(decimal.digits.substr(first));  // a leading 0 would mean octal
    return decimal.negative ? Integer(-magnitude) : magnitude;
}

Decimal without_trailing_zeros(Decimal decimal) {
    const auto last = decimal.digits.find_last_not_of('0');
    if (last == std::string::npos) return {.digits = "0"};
    decimal.exponent += static_cast<long>(decimal.digits.size() - last - 1);
    decimal.digits.resize(last + 1);
    return decimal;
}

// Splits the "-d.ddde-xx" of std::to_chars.
Decimal from_scientific(std::string_view text) {
    Decimal decimal{.negative = text.starts_with('-')};
    const auto e = text.find('e');
    std::ranges::copy_if(text.substr(0, e), std::back_inserter(decimal.digits),
                         [](char c) { return c >= '0' && c <= '9'; });
    const auto exponent = text.substr(text[e + 1] == '+' ? e + 2 : e + 1);
    std::from_chars(exponent.data(), exponent.data() + exponent.size(), decimal.exponent);
    decimal.exponent -= static_cast<long>(decimal.digits.size()) - 1;
    return without_trailing_zeros(std::move(decimal));
}

}  // namespace

bool is_zero(const Decimal& decimal) {
    return decimal.digits.find_first_not_of('0') == std::string::npos;
}

double nearest_double(const Decimal& decimal) {
    const std::string text = decimal.digits + "e" + std::to_string(decimal.exponent);
    double magnitude = 0;
    const auto result = std::from_chars(text.data(), text.data() + text.size(), magnitude);
    if (result.ec == std::errc::result_out_of_range) {
        // from_chars does not say whether it over- or underflowed; the first significant digit
        // does.
        const auto first = static_cast<long>(decimal.digits.find_first_not_of('0'));
        const long places = static_cast<long>(decimal.digits.size()) - first + decimal.exponent;
        magnitude = places > 0 ? std::numeric_limits<double>::infinity() : 0.0;
    }
    return decimal.negative ? -magnitude : magnitude;
}

Decimal plus_hundredths(const Decimal& decimal, int hundredths) {
    const long exponent = std::clamp(decimal.exponent, -1400L, 400L);
    const long unit = std::min(exponent, -2L);
    const Integer sum =
        significand(decimal) * power_of_ten(exponent - unit) + hundredths * power_of_ten(-2 - unit);
    return without_trailing_zeros({sum < 0, Integer(abs(sum)).str(), unit});
}

Decimal shortest_decimal(double value) {
    std::array<char, 32> text{};
    char* const end = text.data() + text.size();
    const char* const last =
        std::to_chars(text.data(), end, value, std::chars_format::scientific).ptr;
    return from_scientific({text.data(), last});
}

Decimal rounded_decimal(double value, int significant) {
    std::array<char, 32> text{};
    char* const end = text.data() + text.size();
    const int places = std::clamp(significant, 1, 17) - 1;
    const char* const last =
        std::to_chars(text.data(), end, value, std::chars_format::scientific, places).ptr;
    return from_scientific({text.data(), last});
}

}  // namespace lowhiss
