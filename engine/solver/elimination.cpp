#include "elimination.hpp"

#include <algorithm>
#include <limits>

#include "matrix.hpp"

namespace lowhiss {
namespace {

/// Without the rescue of infinities that operator* makes; they end up in the residual.
Complex product(Complex a, Complex b) {
    return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
}

std::span<const Program::Entry> step(const std::vector<Program::Entry>& entries,
                                     const std::vector<int>& start, std::size_t k) {
    return {entries.data() + start[k], entries.data() + start[k + 1]};
}

}  // namespace

Elimination::Elimination(const Program& program, const Scaling& scaling)
    : program_(program),
      slots_(static_cast<std::size_t>(program.slots)),
      inverse_(program.pivot.size()) {
    for (std::size_t k = 0; k < inverse_.size(); ++k) {
        pivot_scale_.push_back(scaling.row[static_cast<std::size_t>(program.row_of[k])] *
                               scaling.column[static_cast<std::size_t>(program.column_of[k])]);
    }
}

double Elimination::factorise(std::span<const Complex> values) {
    std::copy(values.begin(), values.end(), slots_.begin());
    std::fill(slots_.begin() + static_cast<std::ptrdiff_t>(values.size()), slots_.end(), Complex{});
    const int* target = program_.targets.data();
    Complex* const a = slots_.data();
    double smallest = std::numeric_limits<double>::infinity();
    double largest = 0;
    for (std::size_t k = 0; k < inverse_.size(); ++k) {
        const Complex pivot = a[program_.pivot[k]];
        const double size = magnitude(pivot) * pivot_scale_[k];
        if (!(size >= smallest)) smallest = size;
        largest = std::max(largest, size);
        inverse_[k] = 1.0 / pivot;
        const auto upper = step(program_.upper, program_.upper_start, k);
        for (const auto& [slot, row] : step(program_.lower, program_.lower_start, k)) {
            const Complex l = a[slot] = product(a[slot], inverse_[k]);
            for (const auto& [upper_slot, column] : upper) {
                a[*target++] -= product(l, a[upper_slot]);
            }
        }
    }
    return smallest / largest;
}

std::vector<Complex> Elimination::solve(std::span<const Complex> b) const {
    std::vector<Complex> work(b.begin(), b.end());
    std::vector<Complex> x(b.size());
    const std::size_t n = inverse_.size();
    for (std::size_t k = 0; k < n; ++k) {
        const Complex value = work[static_cast<std::size_t>(program_.row_of[k])];
        if (value == Complex{}) continue;
        for (const auto& [slot, row] : step(program_.lower, program_.lower_start, k)) {
            work[static_cast<std::size_t>(row)] -=
                product(slots_[static_cast<std::size_t>(slot)], value);
        }
    }
    for (std::size_t k = n; k-- > 0;) {
        Complex value = work[static_cast<std::size_t>(program_.row_of[k])];
        for (const auto& [slot, column] : step(program_.upper, program_.upper_start, k)) {
            value -= product(slots_[static_cast<std::size_t>(slot)],
                             x[static_cast<std::size_t>(column)]);
        }
        x[static_cast<std::size_t>(program_.column_of[k])] = product(value, inverse_[k]);
    }
    return x;
}

std::vector<Complex> Elimination::solve_transposed(std::span<const Complex> c) const {
    std::vector<Complex> work(c.begin(), c.end());
    std::vector<Complex> y(c.size());
    const std::size_t n = inverse_.size();
    for (std::size_t k = 0; k < n; ++k) {
        const auto column_k = static_cast<std::size_t>(program_.column_of[k]);
        const Complex value = product(work[column_k], inverse_[k]);
        y[static_cast<std::size_t>(program_.row_of[k])] = value;
        if (value == Complex{}) continue;
        for (const auto& [slot, column] : step(program_.upper, program_.upper_start, k)) {
            work[static_cast<std::size_t>(column)] -=
                product(slots_[static_cast<std::size_t>(slot)], value);
        }
    }
    for (std::size_t k = n; k-- > 0;) {
        Complex& value = y[static_cast<std::size_t>(program_.row_of[k])];
        for (const auto& [slot, row] : step(program_.lower, program_.lower_start, k)) {
            value -=
                product(slots_[static_cast<std::size_t>(slot)], y[static_cast<std::size_t>(row)]);
        }
    }
    return y;
}

}  // namespace lowhiss
