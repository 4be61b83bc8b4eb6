#include "lane_solver.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

namespace lowhiss {
namespace {

/// The non-zero values of a pencil by equation; `by_row` those of A, else those of A^T.
Terms terms_of(const Pencil& pencil, const std::vector<double>& values, bool by_row) {
    const auto n = static_cast<std::size_t>(pencil.size);
    std::vector<std::vector<Terms::Term>> lists(n);
    for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
        if (values[slot] == 0) return;
        lists[by_row ? row : column].push_back(
            {static_cast<int>(by_row ? column : row), values[slot]});
    });
    Terms result{{0}, {}};
    for (const auto& list : lists) {
        result.terms.insert(result.terms.end(), list.begin(), list.end());
        result.start.push_back(static_cast<int>(result.terms.size()));
    }
    return result;
}

SplitEquations split(const Pencil& pencil, bool by_row) {
    return {terms_of(pencil, pencil.g, by_row), terms_of(pencil, pencil.c, by_row)};
}

auto allocate(std::size_t items, std::size_t stride) {
    auto array = hwy::AllocateAligned<double>(std::max<std::size_t>(items, 1) * stride);
    if (!array) throw std::bad_alloc();
    std::fill_n(array.get(), std::max<std::size_t>(items, 1) * stride, 0.0);
    return array;
}

void spread(std::span<const Complex> values, double* to) {
    for (std::size_t k = 0; k < values.size(); ++k) {
        std::fill_n(to + k * lane_stride, lanes, values[k].real());
        std::fill_n(to + k * lane_stride + lanes, lanes, values[k].imag());
    }
}

}  // namespace

LaneSolver::LaneSolver(const Plan& plan, const Pencil& pencil)
    : plan_(plan),
      pencil_(pencil),
      by_row_(split(pencil, true)),
      by_column_(split(pencil, false)),
      by_row_reach_(reach_of(by_row_, plan.scaling.column)),
      by_column_reach_(reach_of(by_column_, plan.scaling.row)),
      size_(static_cast<std::size_t>(pencil.size)),
      slots_(allocate(static_cast<std::size_t>(plan.program->slots), lane_stride)),
      inverse_(allocate(size_, lane_stride)),
      x_(allocate(size_, lane_stride)),
      y_(allocate(size_, lane_stride)),
      b_(allocate(size_, lane_stride)),
      work_(allocate(size_, lane_stride)),
      correction_(allocate(size_, lane_stride)),
      r_(allocate(size_, lane_stride)),
      magnitude_(allocate(size_, lanes)),
      equation_size_(allocate(size_, lanes)),
      measured_(allocate(pencil.measured.size(), lane_stride)) {
    const Program& program = *plan.program;
    for (std::size_t k = 0; k < size_; ++k) {
        pivot_scale_.push_back(plan.scaling.row[static_cast<std::size_t>(program.row_of[k])] *
                               plan.scaling.column[static_cast<std::size_t>(program.column_of[k])]);
    }
    column_of_slot_.resize(static_cast<std::size_t>(pencil.slots()));
    for_each_slot(pencil, [&](std::size_t, std::size_t column, std::size_t slot) {
        column_of_slot_[slot] = static_cast<int>(column);
    });
}

LaneSolver::Reach LaneSolver::reach_of(const SplitEquations& equations,
                                       const std::vector<double>& unit) {
    const auto sums = [&](const Terms& terms) {
        std::vector<double> result;
        for (std::size_t k = 0; k + 1 < terms.start.size(); ++k) {
            double sum = 0;
            for (int e = terms.start[k]; e < terms.start[k + 1]; ++e) {
                const auto [index, value] = terms.terms[static_cast<std::size_t>(e)];
                sum += std::abs(value) * unit[static_cast<std::size_t>(index)];
            }
            result.push_back(sum);
        }
        return result;
    };
    return {sums(equations.g), sums(equations.c)};
}

/// A's values in every lane; lanes without a frequency of their own repeat the last.
void LaneSolver::fill(std::span<const double> frequency_hz) {
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        const double f_hz = frequency_hz[std::min(lane, frequency_hz.size() - 1)];
        omega_[lane] = 2 * std::numbers::pi * f_hz;
        for (std::size_t k = 0; k < pencil_.measured.size(); ++k) {
            const Complex ohm = interpolate(*pencil_.measured[k].points, f_hz).ohm;
            measured_[k * lane_stride + lane] = -ohm.real();
            measured_[k * lane_stride + lanes + lane] = -ohm.imag();
        }
    }
    const auto slots = static_cast<std::size_t>(pencil_.slots());
    double* to = slots_.get();
    for (std::size_t k = 0; k < slots; ++k, to += lane_stride) {
        const double g = pencil_.g[k];
        const double c = pencil_.c[k];
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            to[lane] = g;
            to[lanes + lane] = omega_[lane] * c;
        }
    }
    const std::size_t fill = static_cast<std::size_t>(plan_.program->slots) - slots;
    std::fill_n(to, fill * lane_stride, 0.0);
    for (std::size_t k = 0; k < pencil_.measured.size(); ++k) {
        double* const slot =
            slots_.get() + static_cast<std::size_t>(pencil_.measured[k].slot) * lane_stride;
        for (std::size_t i = 0; i < lane_stride; ++i) slot[i] += measured_[k * lane_stride + i];
    }
}

void LaneSolver::solve(std::span<const double> frequency_hz, std::span<const Complex> b,
                       std::span<const Complex> c) {
    fill(frequency_hz);
    alignas(64) Row pivot_ratio{};
    factorise_lanes(*plan_.program, pivot_scale_.data(), slots_.get(), inverse_.get(),
                    pivot_ratio.data());
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        trusted_[lane] = pivot_ratio[lane] > suspicious_pivot;
        backward_error_[lane] = 0;
    }
    refine(Side::plain, b, x_.get());
    refine(Side::transposed, c, y_.get());
}

/// As solve_refined does, lane by lane: a lane that is done keeps its solution while others go on.
void LaneSolver::refine(Side side, std::span<const Complex> rhs, double* solution) {
    constexpr double rounding = 4 * std::numeric_limits<double>::epsilon();
    const bool plain = side == Side::plain;
    const auto run = [&](double* to) {
        (plain ? solve_lanes : solve_transposed_lanes)(*plan_.program, slots_.get(), inverse_.get(),
                                                       work_.get(), to);
    };
    spread(rhs, b_.get());
    std::copy_n(b_.get(), size_ * lane_stride, work_.get());
    run(solution);
    Row previous;
    previous.fill(std::numeric_limits<double>::infinity());
    std::array<bool, lanes> going;
    going.fill(true);
    for (;;) {
        residual_lanes(plain ? by_row_ : by_column_, omega_.data(), b_.get(), solution,
                       magnitude_.get(), r_.get(), equation_size_.get());
        add_measured(side, solution);
        strict_error_lanes(size_, r_.get(), equation_size_.get(), error_.data());
        std::optional<Row> lenient;
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            if (!going[lane]) continue;
            going[lane] = error_[lane] > rounding && error_[lane] < previous[lane] / 2;
            previous[lane] = error_[lane];
            if (going[lane]) continue;
            double error = error_[lane];
            if (!(error <= largest_backward_error)) {
                if (!lenient) lenient = lenient_error(side, solution);
                error = (*lenient)[lane];
            }
            trusted_[lane] = trusted_[lane] && error <= largest_backward_error;
            backward_error_[lane] = std::max(backward_error_[lane], error);
        }
        if (std::none_of(going.begin(), going.end(), [](bool on) { return on; })) return;
        std::copy_n(r_.get(), size_ * lane_stride, work_.get());
        run(correction_.get());
        for (std::size_t k = 0; k < size_ * lane_stride; ++k) {
            if (going[k % lanes]) solution[k] += correction_[k];
        }
    }
}

/// The backward error of matrix.hpp, which forgives equations whose unknowns are rounding noise
/// about an exact zero, from the residual that was found last.
LaneSolver::Row LaneSolver::lenient_error(Side side, const double* x) const {
    const bool plain = side == Side::plain;
    const std::vector<double>& unit = plain ? plan_.scaling.column : plan_.scaling.row;
    const Reach& reach = plain ? by_row_reach_ : by_column_reach_;
    const double noise = 1000 * static_cast<double>(size_) * std::numeric_limits<double>::epsilon();
    const auto magnitude_at = [](const double* item, std::size_t lane) {
        return std::abs(item[lane]) + std::abs(item[lanes + lane]);
    };
    Row worst{};
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        double largest = 0;
        for (std::size_t k = 0; k < size_; ++k) {
            largest = std::max(largest, magnitude_at(x + k * lane_stride, lane) / unit[k]);
        }
        for (std::size_t k = 0; k < size_; ++k) {
            const double bound = (reach.g[k] + omega_[lane] * reach.c[k]) * largest;
            double size = equation_size_[k * lanes + lane];
            if (!(size > noise * bound)) size += bound;
            const double r = magnitude_at(r_.get() + k * lane_stride, lane);
            const double error = size > 0 ? r / size : r;
            if (!(error <= worst[lane])) worst[lane] = error;
            if (std::isnan(error)) break;  // it stays
        }
    }
    return worst;
}

void LaneSolver::add_measured(Side side, const double* x) {
    for (std::size_t k = 0; k < pencil_.measured.size(); ++k) {
        const auto slot = static_cast<std::size_t>(pencil_.measured[k].slot);
        const auto row = static_cast<std::size_t>(pencil_.row[slot]);
        const auto column = static_cast<std::size_t>(column_of_slot_[slot]);
        const auto [to, from] =
            side == Side::plain ? std::pair(row, column) : std::pair(column, row);
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const Complex a{measured_[k * lane_stride + lane],
                            measured_[k * lane_stride + lanes + lane]};
            const Complex unknown{x[from * lane_stride + lane],
                                  x[from * lane_stride + lanes + lane]};
            r_[to * lane_stride + lane] -= (a * unknown).real();
            r_[to * lane_stride + lanes + lane] -= (a * unknown).imag();
            equation_size_[to * lanes + lane] += magnitude(a) * magnitude(unknown);
        }
    }
}

std::vector<Complex> LaneSolver::taken(const double* unknowns, std::size_t lane) const {
    std::vector<Complex> result(size_);
    for (std::size_t k = 0; k < size_; ++k) {
        result[k] = {unknowns[k * lane_stride + lane], unknowns[k * lane_stride + lanes + lane]};
    }
    return result;
}

}  // namespace lowhiss
