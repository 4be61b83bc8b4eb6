#!/usr/bin/env bash
# Times the solver beside its peers in one run, and whole commands: tables on standard output, and
# JSON in the build folder. Options go to Google Benchmark; a run without any writes the record that
# bench/README.md explains. LOWHISS_PREVIOUS is the command of another commit to be compared with, and
# LOWHISS_PREVIOUS_BOARDS the folder with its demo boards.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source cli/packages.sh
build=${LOWHISS_BUILD_DIR:-build-bench}

install_packages "${build_packages[@]}" libbenchmark-dev libsuitesparse-dev python3-numpy >&2
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DLOWHISS_TESTS=OFF -DLOWHISS_BENCH=ON \
    >/dev/null
cmake --build "$build" --target lowhiss_bench lowhiss -- --quiet >&2
"$build/bench/lowhiss_bench" --benchmark_out="$build/bench.json" --benchmark_out_format=json \
    "$@" >&2
matrices=$(mktemp -d)
trap 'rm -r "$matrices"' EXIT
"$build/bench/lowhiss_bench" --write-matrices "$matrices"
/usr/bin/python3 bench/batched_dense.py "$matrices" >"$build/batched_dense.json"
/usr/bin/python3 bench/processes.py "$build/cli/lowhiss" ${LOWHISS_PREVIOUS:+"$LOWHISS_PREVIOUS" "$LOWHISS_PREVIOUS_BOARDS"} \
    >"$build/processes.json"
record=/dev/null
[ $# -gt 0 ] || record=bench/last_run.md
/usr/bin/python3 bench/table.py "$build/bench.json" "$build/batched_dense.json" "$build/processes.json" |
    tee "$record"
