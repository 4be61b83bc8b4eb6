// The stages around the solver, on a demo board.

#include <benchmark/benchmark.h>

#include <functional>
#include <memory>

#include "boards.hpp"
#include "lowhiss/measure/plans.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/promise/check.hpp"
#include "lowhiss/series/random_board.hpp"
#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::bench {
namespace {

void read_a_board(benchmark::State& state) {
    for (auto _ : state) benchmark::DoNotOptimize(demo_board("heron-c"));
}
BENCHMARK(read_a_board)->Unit(benchmark::kMicrosecond);

void plan_a_board(benchmark::State& state) {
    const Case heron = demo_case("heron-c");
    for (auto _ : state) benchmark::DoNotOptimize(make_plan(heron.network->pencil()));
}
BENCHMARK(plan_a_board)->Unit(benchmark::kMicrosecond);

void sweep_a_board(benchmark::State& state) {
    const Board board = demo_board("heron-c");
    SweepRequest request;
    request.frequency_hz = grid_hz();
    for (auto _ : state) benchmark::DoNotOptimize(sweep(board, request));
}
BENCHMARK(sweep_a_board)->Unit(benchmark::kMicrosecond)->UseRealTime();

/// The least work of a tolerance run: boards of a series at 11 knob positions and 61
/// frequencies, gain and noise, on one core.
void respond_as_a_series(benchmark::State& state) {
    const Board board = demo_board("heron-c");
    const Capsule* capsule = capsule_named(board, board.input.capsule);
    const Plans plans = make_plans(board, capsule);
    const std::vector<double> grid = grid_hz(61);
    std::uint64_t index = 0;
    for (auto _ : state) {
        const Board drawn = random_board(board, {}, index++);
        for (int k = 0; k <= 10; ++k) {
            Network network(build_circuit(drawn, k / 10.0, capsule), plans.real);
            benchmark::DoNotOptimize(network.respond_all(grid));
        }
    }
}
BENCHMARK(respond_as_a_series)->Unit(benchmark::kMicrosecond);

void check_a_board(benchmark::State& state) {
    const Board board = demo_board("heron-c");
    const CheckRequest request{&board, {}, true};
    for (auto _ : state) benchmark::DoNotOptimize(check_boards({&request, 1}));
}
BENCHMARK(check_a_board)->Unit(benchmark::kMicrosecond)->UseRealTime();

// One board of a tolerance run, and the stages that it passes, at all knob positions together.

/// A board of a series with the plans of the nominal one, and its settings at all positions.
struct DrawnBoard {
    Board board = demo_board("heron-c");
    const Capsule* capsule = capsule_named(board, board.input.capsule);
    Plans plans = make_plans(board, capsule);

    std::vector<std::unique_ptr<Setting>> settings() const {
        std::vector<std::unique_ptr<Setting>> all;
        for (const double rotation : board.knob->positions) {
            all.push_back(std::make_unique<Setting>(board, capsule, rotation, plans));
        }
        return all;
    }
};

void series_whole_board(benchmark::State& state) {
    const Board board = demo_board("heron-c");
    CheckRequest request{&board, board.limits, true, false, {""}};
    request.response_hz = grid_hz(31);
    request.all_figures = false;
    request.supply = true;
    request.model_gaps = false;
    const PlanShelf plans = plans_for(request);
    request.plans = &plans;
    std::uint64_t index = 0;
    for (auto _ : state) {
        const Board drawn = random_board(board, {}, index++);
        request.board = &drawn;
        benchmark::DoNotOptimize(check_board(request));
    }
}
BENCHMARK(series_whole_board)->Unit(benchmark::kMicrosecond);

void series_draw(benchmark::State& state) {
    const Board board = demo_board("heron-c");
    std::uint64_t index = 0;
    for (auto _ : state) benchmark::DoNotOptimize(random_board(board, {}, index++));
}
BENCHMARK(series_draw)->Unit(benchmark::kMicrosecond);

void series_build_circuits(benchmark::State& state) {
    const DrawnBoard drawn;
    for (auto _ : state) {
        for (const double rotation : drawn.board.knob->positions) {
            benchmark::DoNotOptimize(build_circuit(drawn.board, rotation, drawn.capsule));
        }
    }
}
BENCHMARK(series_build_circuits)->Unit(benchmark::kMicrosecond);

/// Each iteration computes figures of new settings; making these is not timed.
void ask_new_settings(benchmark::State& state, const std::function<void(Setting&)>& ask) {
    const DrawnBoard drawn;
    for (auto _ : state) {
        state.PauseTiming();
        const auto settings = drawn.settings();
        for (const auto& setting : settings) setting->network();
        state.ResumeTiming();
        for (const auto& setting : settings) ask(*setting);
    }
}

void series_noise(benchmark::State& state) {
    ask_new_settings(state, [](Setting& setting) {
        benchmark::DoNotOptimize(setting.noise({20, 20000}).power_v2);
    });
}
BENCHMARK(series_noise)->Unit(benchmark::kMicrosecond);

void series_corners(benchmark::State& state) {
    ask_new_settings(state, [](Setting& setting) {
        benchmark::DoNotOptimize(setting.low_corner_hz() + setting.high_corner_hz());
    });
}
BENCHMARK(series_corners)->Unit(benchmark::kMicrosecond);

void series_natural_frequencies(benchmark::State& state) {
    ask_new_settings(state, [](Setting& setting) {
        benchmark::DoNotOptimize(setting.network().natural_frequencies_rad_s().size());
    });
}
BENCHMARK(series_natural_frequencies)->Unit(benchmark::kMicrosecond);

void series_loop_margins(benchmark::State& state) {
    ask_new_settings(state, [](Setting& setting) {
        benchmark::DoNotOptimize(setting.stability().loops.size());
    });
}
BENCHMARK(series_loop_margins)->Unit(benchmark::kMicrosecond);

}  // namespace
}  // namespace lowhiss::bench
