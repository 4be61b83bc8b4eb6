#!/usr/bin/env bash
# clang-format and clang-tidy over every source. Needs clang, clang-format and clang-tidy.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
build=build-lint
mapfile -t sources < <(git ls-files '*.cpp' '*.hpp')
clang-format --dry-run --Werror "${sources[@]}"
cmake -S . -B "$build" -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_UNITY_BUILD=OFF -DCMAKE_EXPORT_COMPILE_COMMANDS=ON \
    -DLOWHISS_TESTS=OFF >/dev/null
cmake --build "$build" --target lowhiss_commit >/dev/null # a header of the command's
git ls-files 'engine/*.cpp' 'cli/*.cpp' |
    xargs -P "$(nproc)" -n 4 clang-tidy -p "$build" --quiet --warnings-as-errors='*'
