#!/usr/bin/env bash
# clang-format and clang-tidy over every source; needs a configured build directory.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
build=${LOWHISS_BUILD_DIR:-build}
mapfile -t sources < <(git ls-files '*.cpp' '*.hpp')
clang-format --dry-run --Werror "${sources[@]}"
cmake -S . -B "$build" -DCMAKE_EXPORT_COMPILE_COMMANDS=ON >/dev/null
git ls-files 'engine/*.cpp' 'cli/*.cpp' |
    xargs -P "$(nproc)" -n 4 clang-tidy -p "$build" --quiet --warnings-as-errors='*'
