#include "lowhiss/solver/solver.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <numeric>
#include <optional>

#include "lowhiss/solver/lane_solver.hpp"
#include "lowhiss/solver/matrix.hpp"
#include "lowhiss/solver/sharpen.hpp"

namespace lowhiss {
namespace {

/// What c^T x of a solution, the gain, may be off by, of itself or of a gain that counts as none.
constexpr double most_error = 1e-9;
constexpr double smallest_gain = 1e-6;

constexpr double epsilon = std::numeric_limits<double>::epsilon();

bool is_small(double error, Complex gain) {
    return error <= most_error * std::max(std::abs(gain), smallest_gain);
}

/// An error E in A with |E| <= eta |A| moves the gain by at most eta |y|^T |A| |x|, to first order;
/// the uncertainty is that with epsilon for eta.
bool is_sharp(double uncertainty, double backward_error, Complex gain) {
    return is_small(uncertainty / epsilon * backward_error, gain);
}

Complex product(std::span<const Complex> a, std::span<const Complex> b) {
    Complex sum = 0;
    for (std::size_t k = 0; k < a.size(); ++k) sum += a[k] * b[k];
    return sum;
}

/// sum over slots of y[row] value x[column]: y^T A x.
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
    std::optional<ReferenceSolver> reference;
    bool on_reference = false;  ///< it has the last single frequency
    double frequency_hz = 0;
    SolverAccount account;

    LaneSolver& lane_solver() {
        if (!in_lanes) in_lanes = std::make_unique<LaneSolver>(*plan, pencil, kernel);
        return *in_lanes;
    }

    ReferenceSolver& fall_back(double f_hz) {
        ++account.fallbacks;
        if (!reference) reference.emplace(pencil);
        reference->factorise(f_hz);
        return *reference;
    }

    Solution solve_by_reference(double f_hz, std::span<const Complex> b,
                                std::span<const Complex> c) {
        ReferenceSolver& solver = fall_back(f_hz);
        Solution solution{solver.solve(b), solver.solve_transposed(c)};
        note_error(solver.account().worst_backward_error);
        return solution;
    }

    /// The reference path's solution and how uncertain it is: sharpened where rounding might show,
    /// and infinitely uncertain where that does not settle.
    std::pair<Solution, double> solve_sharply(double f_hz, std::span<const Complex> b,
                                              std::span<const Complex> c) {
        Solution solution = solve_by_reference(f_hz, b, c);
        const double uncertain = uncertainty(f_hz, solution);
        const Complex gain = product(c, solution.x);
        if (is_sharp(uncertain, largest_backward_error, gain)) return {solution, uncertain};
        const double move = most_error / 100 * std::max(std::abs(gain), smallest_gain);
        const bool settled =
            sharpen(pencil, f_hz, Side::plain, b, c, move, *reference, solution.x) &&
            sharpen(pencil, f_hz, Side::transposed, c, b, move, *reference, solution.y);
        return {solution,
                settled ? uncertainty(f_hz, solution) : std::numeric_limits<double>::infinity()};
    }

    void note_error(double error) {
        account.worst_backward_error = std::max(account.worst_backward_error, error);
    }

    double uncertainty(double f_hz, const Solution& solution) const {
        std::vector<Complex> values(static_cast<std::size_t>(pencil.slots()));
        evaluate(pencil, f_hz, values);
        return epsilon * bilinear<double>(pencil, values, solution, magnitude);
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
        on_reference = false;
        for (std::size_t lane = 0; lane < f_hz.size(); ++lane) {
            if (solver.is_trusted(lane) && lane_is_sharp(lane, c)) {
                note_error(solver.backward_error(lane));
                continue;
            }
            const auto [solution, uncertain] = solve_sharply(f_hz[lane], b, c);
            solver.replace(lane, solution, uncertain, slope(f_hz[lane], solution));
            on_reference = true;
        }
    }

    bool lane_is_sharp(std::size_t lane, std::span<const Complex> c) {
        const SolvedLanes solved = lane_solver().solved();
        Complex gain = 0;
        for (std::size_t k = 0; k < c.size(); ++k) {
            if (c[k] != 0.0) gain += c[k] * solved.x_at(k, lane);
        }
        const double eta = std::max(lane_solver().backward_error(lane), good_backward_error);
        return is_sharp(solved.uncertainty[lane], eta, gain) ||
               is_small(lane_solver().likely_error(lane), gain);
    }

    /// The reference path alone, its solutions laid out as the lanes'.
    void solve_without_plan(std::span<const double> list_hz, std::span<const Complex> b,
                            std::span<const Complex> c, const Visit& visit) {
        const std::size_t n = b.size();
        std::vector<double> x(n * lane_stride);
        std::vector<double> y(n * lane_stride);
        std::vector<int> place(n);
        std::iota(place.begin(), place.end(), 0);
        for (std::size_t k = 0; k < list_hz.size(); ++k) {
            const auto [solution, uncertain] = solve_sharply(list_hz[k], b, c);
            count(1);
            for (std::size_t i = 0; i < n; ++i) {
                x[i * lane_stride] = solution.x[i].real();
                x[i * lane_stride + lanes] = solution.x[i].imag();
                y[i * lane_stride] = solution.y[i].real();
                y[i * lane_stride + lanes] = solution.y[i].imag();
            }
            const Complex slope_s = slope(list_hz[k], solution);
            std::array<double, lane_stride> slopes{};
            slopes[0] = slope_s.real();
            slopes[lanes] = slope_s.imag();
            on_reference = true;
            visit(
                {k, 1, x.data(), y.data(), place.data(), place.data(), &uncertain, slopes.data()});
        }
    }

    std::vector<Complex> solve_more(Side side, std::span<const Complex> rhs) {
        ++account.solutions;
        if (!on_reference) {
            if (auto x = lane_solver().solve_more(side, rhs)) return *std::move(x);
            fall_back(frequency_hz);
            on_reference = true;
        }
        return side == Side::plain ? reference->solve(rhs) : reference->solve_transposed(rhs);
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
    worst_backward_error = std::max(worst_backward_error, other.worst_backward_error);
}

Solver::Solver(std::shared_ptr<const Plan> plan, const Pencil& pencil, const LaneKernel& kernel)
    : state_(std::make_unique<State>(std::move(plan), pencil, kernel)) {}

Solver::~Solver() = default;
Solver::Solver(Solver&&) noexcept = default;
Solver& Solver::operator=(Solver&&) noexcept = default;

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
