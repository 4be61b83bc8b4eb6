#!/usr/bin/env bash
# Builds and tests in other ways than Release by g++: tests/builds.sh KIND..., each in build-KIND,
# warnings being errors:
#
#   gcc-debug, clang-debug, clang-release   what their names say (package clang)
#   sanitize   address and undefined-behaviour sanitizers, g++
#   coverage   which lines of the engine the tests run (package gcovr): a table in build-coverage/
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
[ $# -gt 0 ] || set -- gcc-debug clang-debug clang-release sanitize coverage

configure() {
    local kind=$1
    shift
    cmake -S . -B "build-$kind" -G Ninja -DLOWHISS_TESTS=ON "$@" >/dev/null
    cmake --build "build-$kind" -- --quiet
}

for kind; do
    echo "lowhiss: $kind"
    case $kind in
        gcc-debug) configure $kind -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_COMPILER=g++ ;;
        clang-debug) configure $kind -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_COMPILER=clang++ ;;
        clang-release) configure $kind -DCMAKE_BUILD_TYPE=Release -DCMAKE_CXX_COMPILER=clang++ ;;
        sanitize) configure $kind -DCMAKE_BUILD_TYPE=RelWithDebInfo -DLOWHISS_SANITIZE=ON ;;
        coverage) configure $kind -DCMAKE_BUILD_TYPE=Release -DLOWHISS_COVERAGE=ON ;;
        *) echo "tests/builds.sh: no kind of build is called '$kind'" >&2 && exit 2 ;;
    esac
    ctest --test-dir "build-$kind" --output-on-failure --parallel "$(nproc)"
    [ $kind != coverage ] ||
        gcovr --root . --filter engine/ --exclude-throw-branches --print-summary \
            --txt build-coverage/coverage.txt build-coverage
done
