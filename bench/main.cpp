#include <benchmark/benchmark.h>

#include "boards.hpp"

int main(int argc, char** argv) {
    lowhiss::bench::register_solvers();
    benchmark::Initialize(&argc, argv);
    if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
    benchmark::RunSpecifiedBenchmarks();
    benchmark::Shutdown();
    return 0;
}
