#!/usr/bin/env bash
# Installs missing packages, builds everything, runs every test.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source cli/packages.sh
source cli/build.sh
build=${LOWHISS_BUILD_DIR:-build}

install_packages "${build_packages[@]}" catch2 graphviz gnuplot-nox parallel slurmctld slurmd slurm-client \
    fish zsh groff-base dpkg-dev file python3
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DLOWHISS_TESTS=ON >/dev/null
build_with_progress "$build"
ctest --test-dir "$build" --output-on-failure --parallel "$(nproc)" "$@"
