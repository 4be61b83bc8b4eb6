#include "lowhiss/quantity/preferred.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/quantity/decimal.hpp"

namespace lowhiss {
namespace {

const std::array<std::string, 7> names{"E3", "E6", "E12", "E24", "E48", "E96", "E192"};

/// IEC 60063 keeps the values of E24 and below, which are older than it and not always the nearest
/// to the powers of ten.
constexpr std::array e24{10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30,
                         33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91};

int size_of_series(std::string_view series) {
    constexpr std::array sizes{3, 6, 12, 24, 48, 96, 192};
    const auto* const found = std::find(names.begin(), names.end(), series);
    return found == names.end() ? 0 : sizes[static_cast<std::size_t>(found - names.begin())];
}

double value_of(int mantissa, long exponent) {
    return nearest_double({false, std::to_string(mantissa), exponent});
}

}  // namespace

std::span<const std::string> preferred_series() {
    return names;
}

std::vector<int> preferred_mantissas(std::string_view series) {
    const int size = size_of_series(series);
    std::vector<int> mantissas;
    if (size == 0) return mantissas;
    if (size <= 24) {
        const std::size_t step = e24.size() / static_cast<std::size_t>(size);
        for (std::size_t k = 0; k < e24.size(); k += step) mantissas.push_back(e24[k]);
        return mantissas;
    }
    for (int k = 0; k < size; ++k) {
        const int rounded = static_cast<int>(std::lround(100 * std::pow(10.0, double(k) / size)));
        // The standard has 9.20 where the power rounds to 9.19.
        mantissas.push_back(rounded == 919 ? 920 : rounded);
    }
    return mantissas;
}

std::vector<double> preferred_values(std::string_view series, double low, double high) {
    std::vector<double> values;
    const std::vector<int> mantissas = preferred_mantissas(series);
    if (mantissas.empty() || !(low > 0 && low <= high && std::isfinite(high))) return values;
    constexpr double rounding = 1e-9;
    const long digits = mantissas.front() == 10 ? 1 : 2;
    const auto first = static_cast<long>(std::floor(std::log10(low))) - 1;
    const auto last = static_cast<long>(std::floor(std::log10(high))) + 1;
    for (long decade = first; decade <= last; ++decade) {
        for (const int mantissa : mantissas) {
            const double value = value_of(mantissa, decade - digits);
            if (value >= low * (1 - rounding) && value <= high * (1 + rounding)) {
                values.push_back(value);
            }
        }
    }
    return values;
}

}  // namespace lowhiss
