#!/usr/bin/env bash
# Random circuits against extended precision: tests/numbers.sh [COUNT [FIRST]], a million unless said
# otherwise, which takes some hour and a half of one core.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
build=${LOWHISS_BUILD_DIR:-build}
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DLOWHISS_TESTS=ON >/dev/null
cmake --build "$build" --target lowhiss_numbers -- --quiet
record=/dev/null
[ $# -gt 0 ] || record=tests/records/numbers.md
printf '```text\n%s\n```\n' "$("$build/tests/lowhiss_numbers" "${@:-1000000}")" | tee "$record"
