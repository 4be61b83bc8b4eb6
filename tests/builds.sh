#!/usr/bin/env bash
# Builds and tests in other ways than Release by g++: tests/builds.sh KIND..., each in build-KIND,
# warnings being errors:
#
#   gcc-debug, clang-debug, clang-release   what their names say (package clang)
#   sanitize   address and undefined-behaviour sanitizers, g++
#   coverage   which lines of the engine the tests run (package gcovr); tests/records/coverage.md
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
[ $# -gt 0 ] || set -- gcc-debug clang-debug clang-release sanitize coverage

configure() {
    local kind=$1
    shift
    cmake -S . -B "build-$kind" -G Ninja -DLOWHISS_TESTS=ON "$@" >/dev/null
    cmake --build "build-$kind" -- --quiet
}

# Lines by stage, of gcovr's table of files.
table() {
    echo "| stage | lines | not run | run |"
    echo "| --- | --- | --- | --- |"
    awk -F, 'function row(name, lines, ran) {
            return sprintf("| %s | %d | %d | %.1f %% |", name, lines, lines - ran, 100 * ran / lines) }
        NR > 1 { split($1, path, "/"); stage = "`" path[3] "`"
            all[stage] += $2; run[stage] += $3; whole += $2; whole_run += $3 }
        END { for (stage in all) print row(stage, all[stage], run[stage]) | "sort"
            close("sort"); print row("all", whole, whole_run) }' "$1"
}

for kind; do
    echo "lowhiss: $kind"
    case $kind in
        gcc-debug) configure $kind -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_COMPILER=g++ ;;
        clang-debug) configure $kind -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_COMPILER=clang++ ;;
        clang-release) configure $kind -DCMAKE_BUILD_TYPE=Release -DCMAKE_CXX_COMPILER=clang++ \
            -DCMAKE_UNITY_BUILD=OFF ;; # each file stands alone
        sanitize) configure $kind -DCMAKE_BUILD_TYPE=RelWithDebInfo -DLOWHISS_SANITIZE=ON ;;
        coverage) configure $kind -DCMAKE_BUILD_TYPE=Release -DLOWHISS_COVERAGE=ON ;;
        *) echo "tests/builds.sh: no kind of build is called '$kind'" >&2 && exit 2 ;;
    esac
    ctest --test-dir "build-$kind" --output-on-failure --parallel "$(nproc)"
    [ $kind != coverage ] || {
        gcovr --root . --filter engine/ --csv build-coverage/coverage.csv build-coverage
        table build-coverage/coverage.csv | tee tests/records/coverage.md
    }
done
