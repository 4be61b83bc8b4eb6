#!/usr/bin/env bash
# From a fresh clone to the first table: installs missing packages, builds, sweeps a demo board.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source cli/packages.sh
source cli/build.sh
build=${LOWHISS_BUILD_DIR:-build}

install_packages "${build_packages[@]}"
[ -f "$build/build.ninja" ] ||
    cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DLOWHISS_TESTS=OFF \
        -DLOWHISS_WARNINGS=OFF >/dev/null
build_with_progress "$build" lowhiss
echo "lowhiss: $build/cli/lowhiss sweep netlists/boards/heron-c.toml"
echo
"$build/cli/lowhiss" sweep netlists/boards/heron-c.toml
