#!/usr/bin/env bash
# Draws the pictures of the pages again, with the command in build/: the board by Graphviz, its curves and
# what is heard of it by gnuplot, and the page as Chromium shows it (packages graphviz, gnuplot-nox,
# python3-numpy, chromium). What they were drawn from is kept beside them, for the tests to compare.
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

# A quiet voice through revisions B and C at one loudness, and through D with the level of a loud
# drum.
voice=netlists/voices/vowels.wav
"$lowhiss" listen netlists/boards/heron-b.toml "$voice" --level "44 dB SPL" --match "-23 LUFS" --quiet --output "$room/b.wav"
"$lowhiss" listen netlists/boards/heron-c.toml "$voice" --level "44 dB SPL" --match "-23 LUFS" --quiet --output "$room/c.wav"
"$lowhiss" listen netlists/boards/heron-d.toml "$voice" --level "106 dB SPL" --match "-23 LUFS" --full-scale "24 dBu" --quiet --output "$room/d.wav"
for sound in b c d; do /usr/bin/python3 "$pictures/spectrogram.py" "$room/$sound.wav" >"$room/$sound.points"; done
gnuplot <<GNUPLOT
set terminal pngcairo size 800,700 font "sans,10"
set output "$pictures/heron-heard.png"
set multiplot layout 3,1
set palette maxcolors 16 defined (0 "#ffffff", 1 "#9ecae1", 2 "#3182bd", 3 "#08306b", 4 "#000000")
set cbrange [-110:-30]
set cblabel "dB re full scale"
set xrange [0:2.85]
set yrange [0:16]
set ylabel "kHz"
set tics out nomirror
unset key
set title "Heron, revision B: 44 dB SPL at the capsule"
plot "$room/b.points" using 1:2:3 with image
set title "Heron, revision C: 44 dB SPL at the capsule"
plot "$room/c.points" using 1:2:3 with image
set xlabel "s"
set title "Heron, revision D: 106 dB SPL at the capsule, clipped by U1"
plot "$room/d.points" using 1:2:3 with image
GNUPLOT

"$lowhiss" report netlists/boards/heron-{b,c,d}.toml --quiet --output "$room/page.html"
sha256sum <"$room/page.html" >"$pictures/heron-page.sha256"
chromium --headless --no-sandbox --disable-gpu --hide-scrollbars --virtual-time-budget=5000 \
    --user-data-dir="$room/profile" --window-size=1000,1500 \
    --screenshot="$PWD/$pictures/heron-page.png" "file://$room/page.html" 2>/dev/null
