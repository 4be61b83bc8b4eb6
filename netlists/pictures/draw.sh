#!/usr/bin/env bash
# Draws the pictures of the pages again, with the command in build/: the board by Graphviz, its curves by
# gnuplot, and the page as Chromium shows it (packages graphviz, gnuplot-nox, chromium). What they were
# drawn from is kept beside them, for the tests to compare.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
lowhiss=${LOWHISS_BUILD_DIR:-build}/cli/lowhiss
pictures=netlists/pictures
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT

for ending in dot svg; do
    "$lowhiss" inspect netlists/boards/heron-c.toml --quiet --graph "$pictures/heron-c.$ending"
done
"$lowhiss" sweep netlists/boards/heron-c.toml --quiet --plot "$pictures/heron-c-sweep.svg"
"$lowhiss" report netlists/boards/heron-{b,c,d}.toml --quiet --output "$room/page.html"
sha256sum <"$room/page.html" >"$pictures/heron-page.sha256"
chromium --headless --no-sandbox --disable-gpu --hide-scrollbars --virtual-time-budget=5000 \
    --user-data-dir="$room/profile" --window-size=1000,1500 \
    --screenshot="$PWD/$pictures/heron-page.png" "file://$room/page.html" 2>/dev/null
