#include "lowhiss/solver/solver.hpp"

#include <algorithm>
#include <numeric>
#include <optional>

#include "elimination.hpp"
#include "lane_solver.hpp"
#include "matrix.hpp"

namespace lowhiss {

struct Solver::State {
    State(std::shared_ptr<const Plan> shared_plan, const Pencil& equations)
        : plan(std::move(shared_plan)), pencil(equations) {
        values.resize(static_cast<std::size_t>(pencil.slots()));
        if (plan->program) elimination.emplace(*plan->program, plan->scaling);
    }

    std::shared_ptr<const Plan> plan;
    const Pencil& pencil;
    std::vector<Complex> values;
    std::optional<Elimination> elimination;
    std::unique_ptr<LaneSolver> lane_solver;
    std::optional<ReferenceSolver> reference;
    double frequency_hz = 0;
    bool on_reference = false;
    SolverAccount account;

    void fall_back() {
        ++account.fallbacks;
        if (!reference) reference.emplace(pencil);
        reference->factorise(frequency_hz);
        on_reference = true;
    }

    /// Solves what the lanes could; tells which they could not.
    std::vector<std::size_t> solve_lanes(std::span<const double> list_hz,
                                         std::span<const Complex> b, std::span<const Complex> c,
                                         std::span<Solution> solutions) {
        std::vector<std::size_t> left;
        if (!lane_solver) lane_solver = std::make_unique<LaneSolver>(*plan, pencil);
        for (std::size_t first = 0; first < list_hz.size(); first += lanes) {
            const std::size_t count = std::min(lanes, list_hz.size() - first);
            lane_solver->solve(list_hz.subspan(first, count), b, c);
            for (std::size_t lane = 0; lane < count; ++lane) {
                if (!lane_solver->is_trusted(lane)) {
                    left.push_back(first + lane);
                    ++account.left_by_lanes;
                    continue;
                }
                solutions[first + lane] = {lane_solver->x(lane), lane_solver->y(lane)};
                ++account.factorisations;
                account.solutions += 2;
                account.worst_backward_error =
                    std::max(account.worst_backward_error, lane_solver->backward_error(lane));
            }
        }
        return left;
    }

    std::vector<Complex> solve(Side side, std::span<const Complex> b) {
        ++account.solutions;
        if (!on_reference) {
            auto refined =
                solve_refined(pencil, values, plan->scaling, side, b, [&](const auto& rhs) {
                    return side == Side::plain ? elimination->solve(rhs)
                                               : elimination->solve_transposed(rhs);
                });
            if (refined) {
                account.worst_backward_error =
                    std::max(account.worst_backward_error, refined->backward_error);
                return std::move(refined->x);
            }
            fall_back();
        }
        auto x = side == Side::plain ? reference->solve(b) : reference->solve_transposed(b);
        account.worst_backward_error =
            std::max(account.worst_backward_error, reference->account().worst_backward_error);
        return x;
    }
};

Solver::Solver(std::shared_ptr<const Plan> plan, const Pencil& pencil)
    : state_(std::make_unique<State>(std::move(plan), pencil)) {}

Solver::~Solver() = default;
Solver::Solver(Solver&&) noexcept = default;
Solver& Solver::operator=(Solver&&) noexcept = default;

void Solver::factorise(double frequency_hz) {
    ++state_->account.factorisations;
    state_->frequency_hz = frequency_hz;
    state_->on_reference = false;
    if (!state_->elimination) return state_->fall_back();
    evaluate(state_->pencil, frequency_hz, state_->values);
    if (!(state_->elimination->factorise(state_->values) > suspicious_pivot)) state_->fall_back();
}

std::vector<Complex> Solver::solve(std::span<const Complex> b) {
    return state_->solve(Side::plain, b);
}

std::vector<Complex> Solver::solve_transposed(std::span<const Complex> c) {
    return state_->solve(Side::transposed, c);
}

std::vector<Solution> Solver::solve_at(std::span<const double> frequency_hz,
                                       std::span<const Complex> b, std::span<const Complex> c) {
    std::vector<Solution> solutions(frequency_hz.size());
    std::vector<std::size_t> left(frequency_hz.size());
    std::iota(left.begin(), left.end(), std::size_t{0});
    if (state_->elimination) left = state_->solve_lanes(frequency_hz, b, c, solutions);
    for (const std::size_t k : left) {
        factorise(frequency_hz[k]);
        solutions[k] = {solve(b), solve_transposed(c)};
    }
    return solutions;
}

const SolverAccount& Solver::account() const {
    return state_->account;
}

}  // namespace lowhiss
