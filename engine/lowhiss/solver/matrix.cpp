#include "lowhiss/solver/matrix.hpp"

#include <cmath>
#include <limits>

namespace lowhiss {
namespace {

/// The power of two that scales x to 0.5 .. 1; 1 for zero.
double toward_one(double x) {
    if (!(x > 0) || !std::isfinite(x)) return 1;
    int exponent = 0;
    std::frexp(x, &exponent);
    return std::ldexp(1.0, -exponent);
}

}  // namespace

Residual residual(const Pencil& pencil, std::span<const Complex> values, const Scaling& scaling,
                  Side side, std::span<const Complex> b, std::span<const Complex> x) {
    const std::size_t n = b.size();
    const std::vector<double>& unit = side == Side::plain ? scaling.column : scaling.row;
    double largest = 0;
    for (std::size_t k = 0; k < n; ++k) largest = std::max(largest, magnitude(x[k]) / unit[k]);
    Residual result{{b.begin(), b.end()}, std::vector<double>(n), std::vector<double>(n)};
    for (std::size_t k = 0; k < n; ++k) result.size[k] = magnitude(b[k]);
    for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
        const auto [to, from] =
            side == Side::plain ? std::pair(row, column) : std::pair(column, row);
        const double entry = magnitude(values[slot]);
        result.r[to] -= values[slot] * x[from];
        result.size[to] += entry * magnitude(x[from]);
        result.bound[to] += entry * unit[from] * largest;
    });
    return result;
}

namespace {

/// The largest |r| / size_of(equation); NaN if any is NaN.
template <class Size>
double largest_error(const Residual& residual, Size size_of) {
    double worst = 0;
    for (std::size_t k = 0; k < residual.r.size(); ++k) {
        const double size = size_of(k);
        const double r = magnitude(residual.r[k]);
        const double error = size > 0 ? r / size : r;
        if (!(error <= worst)) worst = error;
        if (std::isnan(worst)) return worst;
    }
    return worst;
}

}  // namespace

double strict_error(const Residual& residual) {
    return largest_error(residual, [&](std::size_t k) { return residual.size[k]; });
}

double backward_error(const Residual& residual) {
    const auto n = static_cast<double>(residual.r.size());
    const double noise = 1000 * n * std::numeric_limits<double>::epsilon();
    return largest_error(residual, [&](std::size_t k) {
        const double bound = residual.bound[k];
        return residual.size[k] + (residual.size[k] > noise * bound ? 0 : bound);
    });
}

Scaling equilibrate(const Pencil& pencil, std::span<const Complex> values) {
    const auto n = static_cast<std::size_t>(pencil.size);
    Scaling scaling{std::vector<double>(n, 1), std::vector<double>(n, 1)};
    for (int pass = 0; pass < 3; ++pass) {
        std::vector<double> largest_in_row(n);
        for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
            const double entry = magnitude(values[slot]) * scaling.column[column];
            largest_in_row[row] = std::max(largest_in_row[row], entry);
        });
        for (std::size_t k = 0; k < n; ++k) scaling.row[k] = toward_one(largest_in_row[k]);
        std::vector<double> largest_in_column(n);
        for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
            const double entry = magnitude(values[slot]) * scaling.row[row];
            largest_in_column[column] = std::max(largest_in_column[column], entry);
        });
        for (std::size_t k = 0; k < n; ++k) scaling.column[k] = toward_one(largest_in_column[k]);
    }
    return scaling;
}

}  // namespace lowhiss
