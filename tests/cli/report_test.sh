#!/usr/bin/env bash
# The page of `report`: one file, small, nothing from outside, a board's texts never markup; and, where
# there is Chromium (package chromium), what it does in a browser.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 boards=$2/netlists/boards
here=$(dirname "${BASH_SOURCE[0]}")

page=$room/page.html
expect 0 "" "$lowhiss" report "$boards"/heron-{b,c,d}.toml --output "$page"
require [ "$(wc -c <"$page")" -lt 1000000 ]
require grep -q '"fail">FAIL: 3 of 4 limit checks pass' "$page"
require grep -q 'R4 changed: resistor 330 Ω' "$page"
require bash -c "! sed '/^<script>/,/<\/script>/d' '$page' | grep -qE '(src|href)=|url\(|@import'"
require [ "$(grep -c '<figure>' "$page")" -eq 50 ]
expect 0 "capsules compared, knob 100 %" "$lowhiss" report "$boards/bittern.toml" \
    --capsule ribbon --capsule dynamic-200 --output -
expect 2 "has no capsule 'ribon'" "$lowhiss" report "$boards/bittern.toml" --capsule ribon --output -
expect 0 "" "$lowhiss" report "$boards/wren.toml" --output - --quiet
require [ "$(head -c 15 "$room/out")" = "<!DOCTYPE html>" ]
expect 2 "would be replaced" "$lowhiss" report "$boards/wren.toml" --output "$boards/wren.toml"
expect 2 "required" "$lowhiss" report "$boards/wren.toml"
expect 2 "there is no such file" "$lowhiss" report "$room/none.toml" --output "$room/none.html"
require [ ! -e "$room/none.html" ]

# A board and a part whose names are markup.
cat >"$room/hostile.toml" <<'BOARD'
[board]
name = "<script>document.title='owned'</script>"
revision = "</title><b>"
[parts]
"R1</script>" = { resistor = "1k", pins = ["in", "out&\"'"], note = "`id`" }
R2 = { resistor = "1k", pins = ["out&\"'", "gnd"] }
[input]
plus = "in"
[output]
plus = "out&\"'"
[[limit]]
name = "<img src=x onerror=alert(1)>"
measure = "gain"
min = "0 dB"
BOARD
expect 0 "" "$lowhiss" report "$room/hostile.toml" --output "$room/hostile.html"
require bash -c "! grep -qE '<script>document|<img|</title><b>|R1</script>' '$room/hostile.html'"
require grep -q '&lt;script&gt;document' "$room/hostile.html"

# Noise by part: resistors in series with the signal, one of them above a pole at 15.9 Hz, and a
# divider.
cat >"$room/noise.toml" <<'BOARD'
[board]
name = "Noise"
[parts]
"<b>" = { resistor = "600R", pins = ["in", "a"] }
"R2" = { resistor = "250R", pins = ["a", "b"] }
"R3" = { resistor = "150R", pins = ["b", "out"] }
"__proto__" = { resistor = "3k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
BOARD
{
    printf '[board]\nname = "Low noise"\n[parts]\nC9 = { capacitor = "1u", pins = ["in", "n0"] }\n'
    printf 'R9 = { resistor = "10k", pins = ["in", "n0"] }\n'
    for k in 0 1 2 3 4 5 6 7; do
        value=100
        [ $k -eq 2 ] && value=150
        [ $k -eq 5 ] && value=125
        printf 'R%d = { resistor = "%dR", pins = ["n%d", "n%d"] }\n' $k $value $k $((k + 1))
    done
    printf '[input]\nplus = "in"\n[output]\nplus = "n8"\n'
} >"$room/low.toml"
expect 0 "" "$lowhiss" report "$room/noise.toml" "$room/low.toml" --output "$room/noise.html"

# The page has the top of a resonance of Q = 30, 20 lg Q = 29.54 dB; files of numbers keep their grid.
cat >"$room/resonance.toml" <<'BOARD'
[parts]
R1 = { resistor = "22.47R", pins = ["in", "a"] }
L1 = { inductor = "100m", pins = ["a", "out"] }
C1 = { capacitor = "220n", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
BOARD
expect 0 "" "$lowhiss" report "$room/resonance.toml" --output "$room/resonance.html"
require grep -qE '[[,]29\.54[0-9]*,' "$room/resonance.html"
expect 0 "" "$lowhiss" sweep "$room/resonance.toml" --quiet --json "$room/peak.json" --plot "$room/peak.svg"
expect 0 "" "$lowhiss" sweep "$room/resonance.toml" --quiet --json "$room/no-peak.json"
require cmp "$room/peak.json" "$room/no-peak.json"

# The harmonics have a fold where there are any, as `sweep` prints them: Dunlin's JFET, not Wren's op-amp.
expect 0 "" "$lowhiss" report "$boards/dunlin.toml" --output "$room/dunlin.html"
require grep -q '<summary>Distortion: harmonics' "$room/dunlin.html"
expect 0 "J1 " "$lowhiss" sweep "$boards/dunlin.toml" --show distortion
require grep -qF "$(grep 'J1 0' "$room/out" | head -n 1)" <(sed '/<summary>Distortion/,/<\/details>/!d' "$room/dunlin.html")
expect 0 "" "$lowhiss" report "$boards/wren.toml" --output "$room/wren.html"
require bash -c "! grep -q '<summary>Distortion' '$room/wren.html'"

# A variant whose supply is inadequate is not folded away, as one without faults is; its fault begins it.
{
    sed "s|\"\.\./|\"$2/netlists/|g" "$boards/dabchick.toml"
    printf '\n[variants.hurt]\nset = { C9 = { rating = "25 V" } }\n[variants.same]\nset = { C9 = { rating = "100 V" } }\n'
} >"$room/hurt.toml"
expect 0 "" "$lowhiss" report "$room/hurt.toml" --output "$room/hurt.html"
require bash -c "grep -A 2 '^<details open><summary><strong>variant hurt<' '$room/hurt.html' | grep -q 'fail.>ALARM: supply: C9: overvoltage'"
require grep -q '^<details><summary><strong>variant same<' "$room/hurt.html"

# The findings of match for the data that a board is ordered by, with names as text.
ordered=$2/netlists/ordered
expect 0 "" "$lowhiss" report "$boards/heron-c.toml" --ordered "$ordered/heron-c.ipc" --ordered "$ordered/heron-c.csv" \
    --output "$room/ordered.html"
require grep -q '<p class="pass">PASS: what was compared agrees' "$room/ordered.html"
require grep -q 'Compared: 32 parts, 70 pins, 20 nodes' "$room/ordered.html"
sed '/TO.P,R4,1\*/{n;s/STOP_P/GND/}' "$ordered/heron-c-top.gbr" >"$room/moved.gbr"
expect 0 "" "$lowhiss" report "$boards/heron-c.toml" --ordered "$room/moved.gbr" --output "$room/moved.html"
require grep -q '<p class="fail">FAIL: 1 difference<' "$room/moved.html"
require grep -q '<li>moved pins: R4.1 is drawn on node &#39;stop_p&#39;' "$room/moved.html"
sed 's/"R11"/"R<b>11"/' "$ordered/heron-c.csv" >"$room/hostile.csv"
expect 0 "" "$lowhiss" report "$boards/heron-c.toml" --ordered "$room/hostile.csv" --output "$room/hostile-ordered.html"
require grep -q '<p class="fail">FAIL: ' "$room/hostile-ordered.html"
require bash -c "! grep -q '<b>11' '$room/hostile-ordered.html'"
expect 2 "3 boards are given" "$lowhiss" report "$boards"/heron-{b,c,d}.toml --ordered "$ordered/heron-c.ipc" --output "$room/none.html"
expect 2 "there is no such file" "$lowhiss" report "$boards/heron-c.toml" --ordered "$room/none.ipc" --output "$room/none.html"
expect 2 "would be replaced" "$lowhiss" report "$boards/heron-c.toml" --ordered "$room/moved.gbr" --output "$room/moved.gbr"
expect 2 "is not a pair" "$lowhiss" report "$boards/heron-c.toml" --columns designator --output "$room/none.html"
require [ ! -e "$room/none.html" ]

# The best sets of a board that leaves values open, as choose prints them, if they are asked for.
cat >"$room/open.toml" <<'BOARD'
[board]
name = "Open"
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "3k3", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "loss"
measure = "gain"
at = "1 kHz"
min = "-4 dB"
[choose]
least = "ein"
[choose.parts]
R1 = ["470R", "1k", "2k2"]
BOARD
expect 0 "" "$lowhiss" report "$room/open.toml" --output "$room/open.html" --choose
expect 0 "470" "$lowhiss" choose "$room/open.toml"
require grep -q '<details open><summary><strong>Values to choose: least ein' "$room/open.html"
require grep -qF "$(grep '^  1 ' "$room/out" | head -n 1)" "$room/open.html"
expect 0 "" "$lowhiss" report "$room/open.toml" --output "$room/open.html"
require bash -c "! grep -q 'Values to choose' '$room/open.html'"
expect 2 "no board has a [choose]" "$lowhiss" report "$boards/wren.toml" --choose --output "$room/none.html"

# A sound that is embedded is that file, byte for byte.
expect 0 "" "$lowhiss" listen "$boards/wren.toml" "$2/netlists/voices/pink.wav" --level "-50 dBu" --quiet --output "$room/heard.wav"
expect 0 "" "$lowhiss" report "$boards/wren.toml" --sound "$room/heard.wav" --sound "$2/netlists/voices/vowels.wav" --output "$room/sound.html"
require [ "$(grep -c '<audio controls' "$room/sound.html")" -eq 2 ]
grep -o 'audio/wav;base64,[^"]*' "$room/sound.html" | head -n 1 | sed 's/.*base64,//' | base64 -d >"$room/back.wav"
require cmp "$room/heard.wav" "$room/back.wav"
expect 2 "not a sound that browsers play" "$lowhiss" report "$boards/wren.toml" --sound "$boards/wren.toml" --output "$room/none.html"
expect 2 "there is no such file" "$lowhiss" report "$boards/wren.toml" --sound "$room/none.wav" --output "$room/none.html"
expect 2 "would be replaced" "$lowhiss" report "$boards/wren.toml" --sound "$room/heard.wav" --output "$room/heard.wav"

# Pictures: whole files, the package's name where gnuplot is not there, and the numbers all the same.
for ending in svg png pdf; do
    expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --quiet --plot "$room/wren.$ending"
    require [ -s "$room/wren.$ending" ]
done
require grep -q "<svg" "$room/wren.svg"
expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --quiet --plot "$room/again.svg"
require cmp "$room/wren.svg" "$room/again.svg"
expect 0 "" "$lowhiss" compare "$boards"/heron-{b,c}.toml --quiet --plot "$room/compare.svg"
require grep -q "A, 100 %" "$room/compare.svg"
expect 0 "" "$lowhiss" check "$boards/heron-c.toml" --quiet --plot "$room/check.svg"
require grep -q "full gain, at least" "$room/check.svg"
expect 0 "" "$lowhiss" tolerance "$boards/wren.toml" --boards 20 --quiet --plot "$room/tolerance.svg"
require grep -q "all boards" "$room/tolerance.svg"
expect 2 "is not a picture" "$lowhiss" sweep "$boards/wren.toml" --plot "$room/wren.gif"
expect 2 "one board" "$lowhiss" check "$boards"/heron-{b,c}.toml --plot "$room/two.svg"
expect 0 "" "$lowhiss" sweep "$room/hostile.toml" --quiet --plot "$room/hostile.svg"
require bash -c "! grep -q '<script' '$room/hostile.svg'"
expect 0 "│" "$lowhiss" sweep "$boards/wren.toml" --draw
mkdir "$room/nothing"
expect 2 "gnuplot-nox" env PATH="$room/nothing" "$lowhiss" sweep "$boards/wren.toml" --plot "$room/no.svg"
require grep -q "^  EIN .* dBu at" "$room/out"
require [ ! -e "$room/no.svg" ]
expect 0 "" env PATH="$room/nothing" "$lowhiss" report "$boards/wren.toml" --output "$room/plain.html"
require grep -q "gnuplot-nox" "$room/err"

[ $failures -eq 0 ] || exit 1
if ! command -v chromium >/dev/null; then
    echo "SKIPPED: what the page does in a browser needs the package chromium"
    exit 77
fi

# browse PAGE SCRIPT WIDTH: the page in the browser, with a listener for errors at its head and a script that
# uses it at its end.
browse() {
    {
        sed '/<head>/q' "$1"
        echo '<script>var troubles = []; onerror = text => troubles.push(text);</script>'
        sed '1,/<head>/d; /<\/body>/,$d' "$1"
        echo "<script>"
        cat "$here/$2"
        echo "</script></body></html>"
    } >"$room/used.html"
    timeout 120 chromium --headless --no-sandbox --disable-gpu --virtual-time-budget=8000 \
        --window-size="$3",900 --user-data-dir="$room/profile" --dump-dom "file://$room/used.html" \
        >"$room/dom.html" 2>"$room/browser.log"
    require grep -q '<pre id="result">passed' "$room/dom.html"
    grep -o '<pre id="result">[^<]*' "$room/dom.html" | grep -v passed
}
browse "$page" report_browser.js 1000
browse "$room/noise.html" report_noise.js 1000
browse "$room/noise.html" report_noise.js 390

# The sounds are decoded and play to their ends.
if command -v python3 >/dev/null; then
    expect 0 "played 1.50 and 2.87 s" python3 "$here/sound_in_browser.py" "$room/sound.html" "$room"
fi

exit $failures
