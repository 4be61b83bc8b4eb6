#!/usr/bin/env bash
# Installs the build given into a folder of its own; a project outside the tree finds it, builds
# against it and gets the same gain as the installed command.
set -euo pipefail
build=$1 source=$2
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT

cmake --install "$build" --prefix "$room/prefix" >/dev/null
# The installed headers are complete, and need no library that their user does not name.
include=$room/prefix/include
(cd "$include" && find lowhiss -name '*.hpp' | sort | sed 's/.*/#include "&"/') >"$room/headers.cpp"
[ "$(wc -l <"$room/headers.cpp")" -ge 30 ]
"${CXX:-c++}" -std=c++20 -fsyntax-only -I "$include" "$room/headers.cpp"
if grep -rnE '#include [<"](spdlog|fmt|Eigen|boost|toml|hwy)' "$include/lowhiss"; then exit 1; fi

cmake -S "$source/tests/consumer" -B "$room/consumer" -G Ninja \
    -DCMAKE_PREFIX_PATH="$room/prefix" >/dev/null
cmake --build "$room/consumer" >/dev/null
board="$room/prefix/share/lowhiss/netlists/boards/wren.toml"
from_library=$("$room/consumer/consumer" "$board")
from_command=$("$room/prefix/bin/lowhiss" sweep "$board" --at 1kHz --knob 1 --csv - |
    tail -n 1 | cut -d, -f7)
printf '%s\n%.3f dB\n' "$from_library" "$from_command"
[ "$from_library" = "$(printf '%.3f dB' "$from_command")" ]
