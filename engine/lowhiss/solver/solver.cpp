#include "lowhiss/solver/solver.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <numbers>
#include <numeric>
#include <optional>

#include "lowhiss/circuit/index.hpp"
#include "lowhiss/solver/lane_solver.hpp"
#include "lowhiss/solver/matrix.hpp"
#include "lowhiss/solver/pivoting.hpp"
#include "lowhiss/solver/sharpen.hpp"

namespace lowhiss {
namespace {

/// The largest error of the gain c^T x, relative to the gain.
constexpr double most_error = 1e-9;

constexpr double epsilon = std::numeric_limits<double>::epsilon();

Complex product(std::span<const Complex> a, std::span<const Complex> b) {
    Complex sum = 0;
    for (std::size_t k = 0; k < a.size(); ++k) sum += a[k] * b[k];
    return sum;
}

/// y^T A x, with `map` applied to each factor.
template <class Number, class Map>
Number bilinear(const Pencil& pencil, std::span<const Complex> values, const Solution& solution,
                Map map) {
    Number sum = 0;
    for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
        sum += map(solution.y[row]) * map(values[slot]) * map(solution.x[column]);
    });
    return sum;
}

}  // namespace

struct Solver::State {
    State(std::shared_ptr<const Plan> shared_plan, const Pencil& equations,
          const LaneKernel& lane_kernel)
        : plan(std::move(shared_plan)),
          pencil(equations),
          kernel(lane_kernel),
          is_planned(plan && plan->program && fits(*plan, pencil)) {}

    std::shared_ptr<const Plan> plan;
    const Pencil& pencil;
    const LaneKernel& kernel;
    bool is_planned;
    std::unique_ptr<LaneSolver> in_lanes;
    std::optional<PivotingSolver> pivoting;
    bool in_pivoting = false;  ///< the pivoting paths hold the last single frequency
    double smallest_gain = 0;
    double frequency_hz = 0;
    SolverAccount account;

    LaneSolver& lane_solver() {
        if (!in_lanes) in_lanes = std::make_unique<LaneSolver>(*plan, pencil, kernel);
        return *in_lanes;
    }

    bool is_small(double error, Complex gain) const {
        return error <= most_error * std::max(std::abs(gain), smallest_gain);
    }

    /// An error E in A with |E| <= eta |A| changes the gain by at most eta |y|^T |A| |x|, to first
    /// order. The uncertainty is that bound with eta = epsilon.
    bool is_sharp(double uncertainty, double backward_error, Complex gain) const {
        return is_small(uncertainty / epsilon * backward_error, gain);
    }

    /// A gain so small may be rounding noise about an exact zero, which passes the lenient test of
    /// backward errors, so that another test is needed.
    bool is_dubious(Complex gain) const {
        constexpr double noise = 1e-8;
        return std::abs(gain) < noise && std::abs(gain) >= smallest_gain;
    }

    PivotingSolver& fall_back(double f_hz) {
        ++account.fallbacks;
        if (!pivoting) pivoting.emplace(pencil);
        pivoting->factorise(f_hz);
        return *pivoting;
    }

    Solution solve_sharply(double f_hz, std::span<const Complex> b, std::span<const Complex> c) {
        PivotingSolver& solver = fall_back(f_hz);
        if (!solver.is_extended()) {
            if (auto solution = solve_by_reference(solver.reference(), f_hz, b, c)) {
                return *std::move(solution);
            }
        }
        ++account.extended;
        ExtendedSolver::Transfer transfer = solver.extended().transfer(b, c);
        const bool is_none = std::abs(transfer.gain) <= transfer.bound;
        transfer.solution.gain = is_none ? 0 : transfer.gain;
        return std::move(transfer.solution);
    }

    /// The solution of the reference path, sharpened if rounding could spoil the gain; nothing if
    /// that does not settle, or if the sums in A are less exact than the gain must be.
    std::optional<Solution> solve_by_reference(ReferenceSolver& solver, double f_hz,
                                               std::span<const Complex> b,
                                               std::span<const Complex> c) {
        try {
            Solution solution{solver.solve(b), solver.solve_transposed(c)};
            note_error(solver.account().worst_backward_error);
            solution.gain = product(c, solution.x);
            if (is_dubious(solution.gain) ||
                !is_small(cancellation(f_hz, solution), solution.gain)) {
                return std::nullopt;
            }
            const double uncertain = uncertainty(f_hz, solution);
            if (is_sharp(uncertain, largest_backward_error, solution.gain)) return solution;
            if (!is_small(uncertain, solution.gain)) return std::nullopt;
            const double move = most_error / 100 * std::max(std::abs(solution.gain), smallest_gain);
            const bool settled =
                sharpen(pencil, f_hz, Side::plain, b, c, move, solver, solution.x) &&
                sharpen(pencil, f_hz, Side::transposed, c, b, move, solver, solution.y);
            solution.gain = product(c, solution.x);
            if (!settled || is_dubious(solution.gain) ||
                !is_small(uncertainty(f_hz, solution), solution.gain)) {
                return std::nullopt;
            }
            return solution;
        } catch (const Singular&) {
            return std::nullopt;
        }
    }

    void note_error(double error) {
        account.worst_backward_error = std::max(account.worst_backward_error, error);
    }

    double uncertainty(double f_hz, const Solution& solution) const {
        std::vector<Complex> values(static_cast<std::size_t>(pencil.slots()));
        evaluate(pencil, f_hz, values);
        return epsilon * bilinear<double>(pencil, values, solution, magnitude);
    }

    double cancellation(double f_hz, const Solution& solution) const {
        double sum = 0;
        for (const auto& [row, column, g, c] : pencil.cancelled) {
            sum += magnitude(solution.y[at(row)]) * (g + 2 * std::numbers::pi * f_hz * c) *
                   magnitude(solution.x[at(column)]);
        }
        return sum;
    }

    Complex slope(double f_hz, const Solution& solution) const {
        std::vector<Complex> values(static_cast<std::size_t>(pencil.slots()));
        evaluate_slope(pencil, f_hz, values);
        return bilinear<Complex>(pencil, values, solution, [](Complex z) { return z; });
    }

    void count(std::size_t frequencies) {
        account.factorisations += frequencies;
        account.solutions += 2 * frequencies;
    }

    void solve_in_lanes(std::span<const double> f_hz, std::span<const Complex> b,
                        std::span<const Complex> c) {
        LaneSolver& solver = lane_solver();
        solver.factorise(f_hz);
        solver.solve(b, c);
        count(f_hz.size());
        in_pivoting = false;
        for (std::size_t lane = 0; lane < f_hz.size(); ++lane) {
            if (solver.is_trusted(lane) && lane_is_sharp(lane)) {
                note_error(solver.backward_error(lane));
                continue;
            }
            const Solution solution = solve_sharply(f_hz[lane], b, c);
            solver.replace(lane, solution, slope(f_hz[lane], solution));
            in_pivoting = true;
        }
    }

    bool lane_is_sharp(std::size_t lane) {
        const LaneSolver& solver = lane_solver();
        const Complex gain = solver.gain(lane);
        if (!is_small(solver.cancellation(lane), gain)) return false;
        if (is_dubious(gain)) {
            const double error = solver.likely_error(lane);
            const bool is_exact = error == 0;  // no signal can reach the output
            return is_exact ||
                   (is_small(error, gain) && std::abs(gain) > solver.second_order_noise(lane));
        }
        const double eta = std::max(solver.backward_error(lane), good_backward_error);
        return is_sharp(solver.uncertainty(lane), eta, gain) ||
               is_small(solver.likely_error(lane), gain);
    }

    /// Solves by the pivoting paths alone and stores the solutions as those of the lanes.
    void solve_without_plan(std::span<const double> list_hz, std::span<const Complex> b,
                            std::span<const Complex> c, const Visit& visit) {
        const std::size_t n = b.size();
        std::vector<double> x(n * lane_stride);
        std::vector<double> y(n * lane_stride);
        std::vector<int> place(n);
        std::iota(place.begin(), place.end(), 0);
        for (std::size_t k = 0; k < list_hz.size(); ++k) {
            const Solution solution = solve_sharply(list_hz[k], b, c);
            count(1);
            const auto put = [](double* lane, Complex value) {
                lane[0] = value.real();
                lane[lanes] = value.imag();
            };
            for (std::size_t i = 0; i < n; ++i) {
                put(x.data() + i * lane_stride, solution.x[i]);
                put(y.data() + i * lane_stride, solution.y[i]);
            }
            std::array<double, lane_stride> gain{};
            put(gain.data(), solution.gain);
            std::array<double, lane_stride> slopes{};
            put(slopes.data(), slope(list_hz[k], solution));
            in_pivoting = true;
            visit(
                {k, 1, x.data(), y.data(), place.data(), place.data(), gain.data(), slopes.data()});
        }
    }

    std::vector<Complex> solve_more(Side side, std::span<const Complex> rhs) {
        ++account.solutions;
        if (!in_pivoting) {
            if (auto x = lane_solver().solve_more(side, rhs)) return *std::move(x);
            fall_back(frequency_hz);
            in_pivoting = true;
        }
        return side == Side::plain ? pivoting->solve(rhs) : pivoting->solve_transposed(rhs);
    }

    void solve(std::span<const double> list_hz, std::span<const Complex> b,
               std::span<const Complex> c, const Visit& visit) {
        if (!is_planned) return solve_without_plan(list_hz, b, c, visit);
        for (std::size_t first = 0; first < list_hz.size(); first += lanes) {
            const auto part = list_hz.subspan(first, std::min(lanes, list_hz.size() - first));
            solve_in_lanes(part, b, c);
            SolvedLanes solved = lane_solver().solved();
            solved.first = first;
            solved.count = part.size();
            visit(solved);
        }
    }
};

void SolverAccount::add(const SolverAccount& other) {
    factorisations += other.factorisations;
    solutions += other.solutions;
    fallbacks += other.fallbacks;
    extended += other.extended;
    worst_backward_error = std::max(worst_backward_error, other.worst_backward_error);
}

Solver::Solver(std::shared_ptr<const Plan> plan, const Pencil& pencil, const LaneKernel& kernel)
    : state_(std::make_unique<State>(std::move(plan), pencil, kernel)) {}

Solver::~Solver() = default;
Solver::Solver(Solver&&) noexcept = default;
Solver& Solver::operator=(Solver&&) noexcept = default;

void Solver::neglect_gains_below(double gain) {
    state_->smallest_gain = gain;
}

void Solver::solve_at(std::span<const double> frequency_hz, std::span<const Complex> b,
                      std::span<const Complex> c, const Visit& visit) {
    state_->solve(frequency_hz, b, c, visit);
}

Solution Solver::solve_at(double frequency_hz, std::span<const Complex> b,
                          std::span<const Complex> c) {
    Solution solution;
    state_->frequency_hz = frequency_hz;
    state_->solve({&frequency_hz, 1}, b, c, [&](const SolvedLanes& solved) {
        for (std::size_t k = 0; k < b.size(); ++k) {
            solution.x.push_back(solved.x_at(k, 0));
            solution.y.push_back(solved.y_at(k, 0));
        }
        solution.gain = solved.gain_at(0);
    });
    return solution;
}

std::vector<Complex> Solver::solve_more(std::span<const Complex> b) {
    return state_->solve_more(Side::plain, b);
}

std::vector<Complex> Solver::solve_more_transposed(std::span<const Complex> c) {
    return state_->solve_more(Side::transposed, c);
}

const SolverAccount& Solver::account() const {
    return state_->account;
}

}  // namespace lowhiss
