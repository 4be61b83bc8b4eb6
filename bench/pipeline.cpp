// The stages around the solver, on a demo board.

#include <benchmark/benchmark.h>

#include "boards.hpp"
#include "lowhiss/measure/plans.hpp"
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

}  // namespace
}  // namespace lowhiss::bench
