#!/usr/bin/env bash
# The build of quickstart.sh and tests/run.sh: a line every 10 % in a log, one rewritten line on a
# terminal, and the compiler's message with a failing status.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
script=$2/cli/build.sh
cd "$room" || exit 1
{
    printf 'rule make\n  command = touch $out\n  description = Making $out\n'
    printf 'rule break\n  command = echo "x.cpp:1: error: no type"; echo "    1 | int" ; exit 1\n'
    for k in {1..40}; do echo "build part$k: make"; done
    echo "build all: phony $(printf 'part%d ' {1..40})"
    printf 'build broken: break\ndefault all\n'
} >build.ninja
run=(bash -c 'set -euo pipefail; source "$0"; build_with_progress . "$@"; echo built' "$script")

expect 0 "lowhiss: building, 20 of 40 (50 %)" "${run[@]}"
require [ "$(grep -c '^lowhiss: building, ' out)" -eq 10 ]
require [ "$(tail -1 out)" = built ]
require [ "$(wc -l <out)" -eq 12 ]
expect 0 "" "${run[@]}"
require [ "$(cat out)" = $'lowhiss: building\nbuilt' ]
expect 1 $'x.cpp:1: error: no type\n    1 | int' "${run[@]}" broken
require [ "$(grep -c '^built' out)" -eq 0 ]
require grep -qxF "    1 | int" out

if command -v script >/dev/null; then
    rm part*
    TERM=xterm script -qec "$(printf '%q ' "${run[@]}")" typescript >/dev/null </dev/null
    require grep -q $'lowhiss: building, 40 of 40 (100%) Making part[0-9]*\e\\[K\r$' typescript
    require [ "$(grep -c 'lowhiss: building' typescript)" -eq 1 ]
    TERM=xterm script -qec "$(printf '%q ' "${run[@]}" broken)" typescript >/dev/null </dev/null
    require [ $? -eq 1 ]
    require grep -q "x.cpp:1: error: no type" typescript
fi
exit $((failures > 0))
