// The peak rate of multiply-adds of one core of this processor, to which the solver's is compared.

#include <benchmark/benchmark.h>

namespace {

// As wide as the processor's registers: a wider one would be spilt.
#ifdef __AVX512F__
constexpr int width = 8;
#else
constexpr int width = 4;
#endif
using Wide = double __attribute__((vector_size(width * sizeof(double))));

void peak_multiply_adds(benchmark::State& state) {
    constexpr int chains = 12;  // enough to hide the latency, few enough for the registers
    Wide sum[chains];
    for (int k = 0; k < chains; ++k) sum[k] = Wide{} + k;
    Wide factor = Wide{} + 0.999;
    Wide term = Wide{} + 1e-3;
    benchmark::DoNotOptimize(factor);
    benchmark::DoNotOptimize(term);
    for (auto _ : state) {
        for (int turn = 0; turn < 1000; ++turn) {
            for (int k = 0; k < chains; ++k) sum[k] = sum[k] * factor + term;
        }
        benchmark::DoNotOptimize(sum);
    }
    state.counters["per_point"] = benchmark::Counter(
        1.0 * width * chains * 1000,
        benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}
BENCHMARK(peak_multiply_adds);

}  // namespace
