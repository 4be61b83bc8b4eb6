#include "lowhiss/solver/lane_solver.hpp"
#include "lowhiss/circuit/index.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <new>
#include <numbers>
#include <numeric>

namespace lowhiss {
namespace {

/// Zeros, aligned for vectors of any length up to eight doubles.
AlignedArray allocate(std::size_t items, std::size_t stride) {
    const std::size_t count = std::max<std::size_t>(items, 1) * stride;
    AlignedArray array(
        static_cast<double*>(::operator new(count * sizeof(double), AlignedDelete::alignment)));
    std::fill_n(array.get(), count, 0.0);
    return array;
}

void set_item(double* array, std::size_t index, std::size_t lane, Complex value) {
    array[index * lane_stride + lane] = value.real();
    array[index * lane_stride + lanes + lane] = value.imag();
}

constexpr auto item = SolvedLanes::item;

std::vector<int> inverse_permutation(const std::vector<int>& order) {
    std::vector<int> place(order.size());
    for (std::size_t k = 0; k < order.size(); ++k) place[at(order[k])] = static_cast<int>(k);
    return place;
}

}  // namespace

LaneSolver::LaneSolver(const Plan& plan, const Pencil& pencil, const LaneKernel& kernel)
    : kernel_(kernel),
      plan_(plan),
      pencil_(pencil),
      size_(at(pencil.size)),
      step_of_row_(inverse_permutation(plan.program->row_of)),
      step_of_column_(inverse_permutation(plan.program->column_of)),
      reduced_(reduce(plan, pencil)),
      plain_(make_system(Side::plain)),
      transposed_(make_system(Side::transposed)),
      slots_(allocate(at(plan.program->slots), lane_stride)),
      measured_(allocate(pencil.measured.size(), lane_stride)) {
    const Program& program = *plan.program;
    for (std::size_t k = program.once_steps(); k < size_; ++k) {
        pivot_scale_.push_back(plan.scaling.row[at(program.row_of[k])] *
                               plan.scaling.column[at(program.column_of[k])]);
    }
    for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
        if (pencil.c[slot] != 0) {
            slope_terms_.push_back({step_of_row_[row], step_of_column_[column], 0, pencil.c[slot]});
        }
        for (const auto& measured : pencil.measured) {
            if (at(measured.slot) != slot) continue;
            measured_at_.emplace_back(step_of_row_[row], step_of_column_[column]);
            const auto place =
                std::find(program.origin.begin(), program.origin.end(), measured.slot);
            slot_of_measured_.push_back(static_cast<int>(place - program.origin.begin()));
        }
    });
}

LaneSolver::System LaneSolver::make_system(Side side) const {
    const bool plain = side == Side::plain;
    System system;
    system.step_of_equation = plain ? step_of_row_ : step_of_column_;
    system.step_of_unknown = plain ? step_of_column_ : step_of_row_;
    const auto& scale = plain ? plan_.scaling.column : plan_.scaling.row;
    system.unit.resize(size_);
    for (std::size_t k = 0; k < size_; ++k) system.unit[at(system.step_of_unknown[k])] = scale[k];
    system.b = allocate(size_, lane_stride);
    system.x = allocate(size_, lane_stride);
    system.r = allocate(size_, lane_stride);
    system.size = allocate(size_, lanes);

    // Count the terms of each length first, then place them.
    const auto for_each_term = [&](auto visit) {
        for_each_slot(pencil_, [&](std::size_t row, std::size_t column, std::size_t slot) {
            const auto [to, from] = plain ? std::pair(row, column) : std::pair(column, row);
            visit(system.step_of_equation[to], system.step_of_unknown[from], slot);
        });
    };
    std::vector<int> count(size_);
    for_each_term(
        [&](int to, int, std::size_t slot) { count[at(to)] += pencil_.g[slot] != 0 ? 1 : 0; });
    Equations& equations = system.equations;
    equations.to.resize(size_);
    std::iota(equations.to.begin(), equations.to.end(), 0);
    std::stable_sort(equations.to.begin(), equations.to.end(),
                     [&](int a, int b) { return count[at(a)] < count[at(b)]; });
    std::vector<int> next(size_);
    equations.start.push_back(0);
    for (const int to : equations.to) {
        next[at(to)] = equations.start.back();
        equations.start.push_back(equations.start.back() + count[at(to)]);
    }
    equations.g.resize(at(equations.start.back()));
    for_each_term([&](int to, int from, std::size_t slot) {
        if (pencil_.g[slot] != 0) equations.g[at(next[at(to)]++)] = {from, pencil_.g[slot]};
        if (pencil_.c[slot] != 0) equations.c.push_back({to, from, 0, pencil_.c[slot]});
    });
    return system;
}

void LaneSolver::factorise(std::span<const double> frequency_hz) {
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        const double f_hz = frequency_hz[std::min(lane, frequency_hz.size() - 1)];
        frequency_hz_[lane] = f_hz;
        omega_[lane] = 2 * std::numbers::pi * f_hz;
        for (std::size_t k = 0; k < pencil_.measured.size(); ++k) {
            set_item(measured_.get(), k, lane, -interpolate(*pencil_.measured[k].points, f_hz).ohm);
        }
    }
    kernel_.fill(reduced_.g, reduced_.c, omega_.data(), slots_.get());
    for (std::size_t k = 0; k < pencil_.measured.size(); ++k) {
        double* const slot = slots_.get() + at(slot_of_measured_[k]) * lane_stride;
        for (std::size_t i = 0; i < lane_stride; ++i) slot[i] += measured_[k * lane_stride + i];
    }
    alignas(64) Row smallest{};
    alignas(64) Row largest{};
    kernel_.factorise(plan_.program->each, pivot_scale_, slots_.get(), smallest.data(),
                      largest.data());
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        trusted_[lane] = std::min(smallest[lane], reduced_.smallest_pivot) >
                         suspicious_pivot * std::max(largest[lane], reduced_.largest_pivot);
    }
}

/// Solves A x = b and A^T y = c once, in place; either may be null.
void LaneSolver::substitute(double* x, double* y) const {
    const Program& p = *plan_.program;
    const double* const omega = omega_.data();
    const double* const slots = slots_.get();
    const auto once = [&](const std::vector<LinearTerm>& plain,
                          const std::vector<LinearTerm>& transposed) {
        kernel_.substitute_once(x ? std::span(plain) : std::span<const LinearTerm>(), x,
                                y ? std::span(transposed) : std::span<const LinearTerm>(), y,
                                omega);
    };
    const auto each = [&](const std::vector<Term>& plain, const std::vector<Term>& transposed) {
        kernel_.substitute_each(x ? std::span(plain) : std::span<const Term>(), x,
                                y ? std::span(transposed) : std::span<const Term>(), y, slots);
    };
    once(reduced_.lower, reduced_.upper_transposed);
    each(p.lower.each, p.upper_transposed.each);
    for (double* const values : {x, y}) {
        if (values) kernel_.scale(reduced_.inverse, p.each.pivot, slots, values);
    }
    each(p.upper.each, p.lower_transposed.each);
    once(reduced_.upper, reduced_.lower_transposed);
}

void LaneSolver::System::set(std::span<const Complex> rhs) {
    const std::size_t n = rhs.size();
    if (!std::equal(rhs.begin(), rhs.end(), given.begin(), given.end())) {
        given.assign(rhs.begin(), rhs.end());
        for (std::size_t k = 0; k < n; ++k) {
            double* const to = b.get() + at(step_of_equation[k]) * lane_stride;
            std::fill_n(to, lanes, rhs[k].real());
            std::fill_n(to + lanes, lanes, rhs[k].imag());
        }
    }
    std::copy_n(b.get(), n * lane_stride, x.get());
    previous.fill(std::numeric_limits<double>::infinity());
    going.fill(1);
}

/// As solve_refined, lane by lane: a finished lane keeps its solution while the others are refined.
void LaneSolver::solve(std::span<const Complex> b, std::span<const Complex> c) {
    backward_error_.fill(0);
    plain_.set(b);
    transposed_.set(c);
    substitute(plain_.x.get(), transposed_.x.get());
    for (;;) {
        double* const x = is_good(plain_) ? nullptr : plain_.r.get();
        double* const y = is_good(transposed_) ? nullptr : transposed_.r.get();
        if (!x && !y) break;
        substitute(x, y);
        if (x) kernel_.add(size_, plain_.going.data(), x, plain_.x.get());
        if (y) kernel_.add(size_, transposed_.going.data(), y, transposed_.x.get());
    }
    kernel_.uncertainty(size_, transposed_.x.get(), plain_.size.get(), plain_.b.get(),
                        uncertainty_.data());
    kernel_.bilinear(slope_terms_, transposed_.x.get(), plain_.x.get(), slope_.data());
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        uncertainty_[lane] *= std::numeric_limits<double>::epsilon();
        // times j
        std::swap(slope_[lane], slope_[lanes + lane]);
        slope_[lane] = -slope_[lane];
    }
    add_measured_slope();
    gain_.fill(0);
    for (std::size_t k = 0; k < c.size(); ++k) {
        if (c[k] == 0.0) continue;
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const Complex term = c[k] * item(plain_.x.get(), at(step_of_column_[k]), lane);
            set_item(gain_.data(), 0, lane, gain(lane) + term);
        }
    }
}

void LaneSolver::add_measured_slope() {
    for (std::size_t k = 0; k < pencil_.measured.size(); ++k) {
        const auto [row, column] = measured_at_[k];
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const Complex z_slope_s =
                interpolate(*pencil_.measured[k].points, frequency_hz_[lane]).slope_ohm_per_hz /
                (2 * std::numbers::pi);
            const Complex term = item(transposed_.x.get(), at(row), lane) * z_slope_s *
                                 item(plain_.x.get(), at(column), lane);
            slope_[lane] -= term.real();
            slope_[lanes + lane] -= term.imag();
        }
    }
}

SolvedLanes LaneSolver::solved() const {
    return {0,
            0,
            plain_.x.get(),
            transposed_.x.get(),
            step_of_column_.data(),
            step_of_row_.data(),
            gain_.data(),
            slope_.data()};
}

double LaneSolver::likely_error(std::size_t lane) const {
    double sum = 0;
    for (std::size_t k = 0; k < size_; ++k) {
        const double left = magnitude(item(plain_.r.get(), k, lane)) +
                            std::numeric_limits<double>::epsilon() * plain_.size[k * lanes + lane];
        const double error = left * magnitude(item(transposed_.x.get(), k, lane));
        sum += error * error;
    }
    return std::sqrt(sum);
}

double LaneSolver::cancellation(std::size_t lane) const {
    double sum = 0;
    for (const auto& [row, column, g, c] : pencil_.cancelled) {
        sum += magnitude(item(transposed_.x.get(), at(step_of_row_[at(row)]), lane)) *
               (g + omega_[lane] * c) *
               magnitude(item(plain_.x.get(), at(step_of_column_[at(column)]), lane));
    }
    return sum;
}

double LaneSolver::second_order_noise(std::size_t lane) const {
    constexpr double noise = 1e-25;
    double most_x = 0;
    double most_y = 0;
    for (std::size_t k = 0; k < size_; ++k) {
        most_x = std::max(most_x, magnitude(item(plain_.x.get(), k, lane)) / plain_.unit[k]);
        most_y =
            std::max(most_y, magnitude(item(transposed_.x.get(), k, lane)) / transposed_.unit[k]);
    }
    return noise * most_x * most_y;
}

void LaneSolver::replace(std::size_t lane, const Solution& solution, Complex slope) {
    for (std::size_t k = 0; k < size_; ++k) {
        set_item(plain_.x.get(), at(step_of_column_[k]), lane, solution.x[k]);
        set_item(transposed_.x.get(), at(step_of_row_[k]), lane, solution.y[k]);
    }
    set_item(gain_.data(), 0, lane, solution.gain);
    slope_[lane] = slope.real();
    slope_[lanes + lane] = slope.imag();
}

std::optional<std::vector<Complex>> LaneSolver::solve_more(Side side, std::span<const Complex> b) {
    System& system = side == Side::plain ? plain_ : transposed_;
    const auto substitute_one = [&](double* values) {
        if (side == Side::plain)
            substitute(values, nullptr);
        else
            substitute(nullptr, values);
    };
    system.set(b);
    substitute_one(system.x.get());
    while (!is_good(system)) {
        substitute_one(system.r.get());
        kernel_.add(size_, system.going.data(), system.r.get(), system.x.get());
    }
    if (!trusted_[0]) return std::nullopt;
    std::vector<Complex> x(size_);
    for (std::size_t k = 0; k < size_; ++k) {
        x[k] = item(system.x.get(), at(system.step_of_unknown[k]), 0);
    }
    return x;
}

/// Computes the residual; returns whether all lanes are finished.
bool LaneSolver::is_good(System& s) {
    if (std::all_of(s.going.begin(), s.going.end(), [](double on) { return on == 0; })) return true;
    kernel_.residual(s.equations, omega_.data(), s.b.get(), s.x.get(), s.r.get(), s.size.get());
    add_measured(s);
    kernel_.strict_error(size_, good_backward_error, s.r.get(), s.size.get(), error_.data());
    std::optional<Row> lenient;
    bool all_done = true;
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        if (s.going[lane] == 0) continue;
        if (error_[lane] > good_backward_error && error_[lane] < s.previous[lane] / 2) {
            s.previous[lane] = error_[lane];
            all_done = false;
            continue;
        }
        s.going[lane] = 0;
        double error = error_[lane];
        if (!(error <= largest_backward_error)) {
            if (!lenient) lenient = lenient_error(s);
            error = (*lenient)[lane];
        }
        trusted_[lane] = trusted_[lane] && error <= largest_backward_error;
        backward_error_[lane] = std::max(backward_error_[lane], error);
    }
    return all_done;
}

/// The lenient backward error of matrix.hpp, from the last residual.
LaneSolver::Row LaneSolver::lenient_error(const System& s) const {
    const double noise = 1000 * static_cast<double>(size_) * std::numeric_limits<double>::epsilon();
    Row largest{};
    for (std::size_t k = 0; k < size_; ++k) {
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            largest[lane] =
                std::max(largest[lane], magnitude(item(s.x.get(), k, lane)) / s.unit[k]);
        }
    }
    std::vector<double> g_of(size_);
    std::vector<double> c_of(size_);
    for (std::size_t k = 0; k < size_; ++k) {
        for (int e = s.equations.start[k]; e < s.equations.start[k + 1]; ++e) {
            const auto& term = s.equations.g[at(e)];
            g_of[at(s.equations.to[k])] += std::abs(term.value) * s.unit[at(term.from)];
        }
    }
    for (const LinearTerm& term : s.equations.c) {
        c_of[at(term.to)] += std::abs(term.c) * s.unit[at(term.from)];
    }
    Row worst{};
    for (std::size_t to = 0; to < size_; ++to) {
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const double bound = (g_of[to] + omega_[lane] * c_of[to]) * largest[lane];
            double whole = s.size[to * lanes + lane];
            if (!(whole > noise * bound)) whole += bound;
            const double r = magnitude(item(s.r.get(), to, lane));
            const double error = whole > 0 ? r / whole : r;
            // NaN is kept.
            if (!(error <= worst[lane]) && !std::isnan(worst[lane])) worst[lane] = error;
        }
    }
    return worst;
}

void LaneSolver::add_measured(System& s) {
    for (std::size_t k = 0; k < pencil_.measured.size(); ++k) {
        const auto [row, column] = measured_at_[k];
        const bool plain = &s == &plain_;
        const std::size_t to = at(plain ? row : column);
        const std::size_t from = at(plain ? column : row);
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const Complex a = item(measured_.get(), k, lane);
            const Complex unknown = item(s.x.get(), from, lane);
            set_item(s.r.get(), to, lane, item(s.r.get(), to, lane) - a * unknown);
            s.size[to * lanes + lane] += magnitude(a) * magnitude(unknown);
        }
    }
}

}  // namespace lowhiss
