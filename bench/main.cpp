#include <benchmark/benchmark.h>

#include <string_view>

#include "boards.hpp"

int main(int argc, char** argv) {
    if (argc == 3 && std::string_view(argv[1]) == "--write-matrices") {
        lowhiss::bench::write_matrices(argv[2]);
        return 0;
    }
    lowhiss::bench::register_solvers();
    benchmark::Initialize(&argc, argv);
    if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
    benchmark::RunSpecifiedBenchmarks();
    benchmark::Shutdown();
    return 0;
}
