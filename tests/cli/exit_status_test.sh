#!/usr/bin/env bash
# The exit statuses are an interface: 0 done, 1 a limit fails, 2 wrong usage or unusable file, 3 no
# unique solution.
# Files are whole or absent, and nothing but results goes to standard output.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 boards=$2/netlists/boards
streams=("$room/err") # messages go to standard error, and nothing but results anywhere else

expect 0 "" "$lowhiss" sweep "$boards/wren.toml"
require [ ! -s "$room/err" ]
expect 0 "" "$lowhiss" --help
expect 0 "" "$lowhiss" --version
expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --quiet
require [ ! -s "$room/out" ]
expect 0 "factorisations" "$lowhiss" sweep "$boards/wren.toml" --verbose
for words in "read $boards/wren.toml: " "limits and figures of all boards: " \
    " limit checks, 0 figures" " factorisations, " " by the pivoting path, "; do
    expect 0 "$words" "$lowhiss" check "$boards/wren.toml" --verbose --limits-only
done

expect 2 "required" "$lowhiss"
expect 2 "did you mean 'sweep'?" "$lowhiss" swep
expect 2 "BOARD is required" "$lowhiss" sweep
expect 2 "there is no such file" "$lowhiss" sweep "$room/none.toml"
expect 2 "it is a folder" "$lowhiss" sweep "$room"
expect 2 "not a plain file" "$lowhiss" sweep /dev/zero
expect 2 "did you mean 'condenser'?" "$lowhiss" sweep "$boards/heron-a.toml" --variant condensor
expect 2 "did you mean 'ribbon'?" "$lowhiss" sweep "$boards/wren.toml" --capsule ribon
expect 2 "--at: " "$lowhiss" sweep "$boards/wren.toml" --at 1kHz,10mhz
expect 2 "--from must be lower than --to" "$lowhiss" sweep "$boards/wren.toml" --from 1kHz --to 10Hz
expect 2 "is not a knob position" "$lowhiss" sweep "$boards/wren.toml" --knob 0,1.5
expect 2 "is a fraction and other positions are in percent" \
    "$lowhiss" sweep "$boards/wren.toml" --knob 0.5,100
for knob in 0,0.5,1 0,50,100 "0 %,50 %,100%"; do
    expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --knob "$knob" --show gain
    require grep -qE '^ +100 +38' "$room/out"
    require grep -qE '^ +50 +19' "$room/out"
done
expect 2 "cannot both be" "$lowhiss" sweep "$boards/wren.toml" --json - --csv -
expect 2 "No space left" "$lowhiss" sweep "$boards/wren.toml" --json /dev/full
expect 2 "standard output" bash -c '"$0" sweep "$1" >/dev/full' "$lowhiss" "$boards/wren.toml"
expect 2 "Is a directory" "$lowhiss" sweep "$boards/wren.toml" --csv "$room"
expect 2 "No such file" "$lowhiss" sweep "$boards/wren.toml" --csv "$room/none/x.csv"

cat >"$room/floating.toml" <<'BOARD'
[parts]
R1 = { resistor = "1k", pins = ["in", "gnd"] }
R2 = { resistor = "1k", pins = ["in", "out"] }
R3 = { resistor = "1k", pins = ["lost_a", "lost_b"] }
[input]
plus = "in"
[output]
plus = "out"
BOARD
expect 3 "lost_a" "$lowhiss" sweep "$room/floating.toml" --json "$room/floating.json"
require [ ! -e "$room/floating.json" ]
expect 3 "" "$lowhiss" inspect "$room/floating.toml"

expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --json "$room/a.json" --csv "$room/a.csv"
expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --json "$room/b.json" --csv -
require cmp "$room/a.json" "$room/b.json"
require cmp "$room/a.csv" "$room/out"
require [ "$(find "$room" -name '*.json.*' | wc -l)" -eq 0 ]
ln -s a.json "$room/link.json"
expect 0 "" "$lowhiss" sweep "$boards/tern.toml" --json "$room/link.json"
require [ -L "$room/link.json" ]
require grep -q '"board": "Tern"' "$room/a.json"

# check: 1 if a limit fails; one broken board does not keep the others from being checked.
expect 0 "" "$lowhiss" check "$boards/heron-c.toml" "$boards/wren.toml"
expect 1 "" "$lowhiss" check "$boards/heron-b.toml" "$boards/heron-c.toml"
require grep -q "main parts: R4, R5" "$room/out"
echo "[parts" >"$room/broken.toml"
expect 2 "broken.toml:1:" "$lowhiss" check "$room/broken.toml" "$boards/heron-b.toml" \
    --junit "$room/junit.xml" --json "$room/check.json"
require grep -q "heron-b.toml\" tests=\"325\" failures=\"1\" errors=\"0\"" "$room/junit.xml"
require grep -q "broken.toml\" tests=\"1\" failures=\"0\" errors=\"1\"" "$room/junit.xml"
require grep -q '"outcome": "missed"' "$room/check.json"
require [ "$(grep -o 'classname="[^"]*" name="[^"]*"' "$room/junit.xml" | sort | uniq -d | wc -l)" -eq 0 ]
printf '[[limit]]\nname = "bass"\nmeasure = "gain"\nmin = "0 dB"\n' | cat "$room/floating.toml" - \
    >"$room/floating_limit.toml"
expect 3 "" "$lowhiss" check "$room/floating_limit.toml"
require grep -q ERROR "$room/out"
sed 's/"gain"/"gian"/' "$room/floating_limit.toml" >"$room/slip.toml"
expect 2 "did you mean 'gain'?" "$lowhiss" check "$room/slip.toml"
expect 2 "No space left" "$lowhiss" check "$boards/heron-c.toml" --junit /dev/full

# compare --at-gain: a board without the gain is compared at its nearest one, up to 0.5 dB off, which
# is said; beyond that the status is 2. 1 + 10 kohm / 100 ohm is 40.086 dB.
cat >"$room/fixed.toml" <<'BOARD'
[opamp.quiet]
open_loop_gain = "140 dB"
gain_bandwidth = "100 MHz"
output_resistance = "30R"
[parts]
R1 = { resistor = "47k", pins = ["in", "gnd"] }
U1 = { opamp = "quiet", plus = "in", minus = "fb", out = "out" }
R2 = { resistor = "10k", pins = ["out", "fb"] }
R3 = { resistor = "100R", pins = ["fb", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
BOARD
expect 0 "" "$lowhiss" compare "$room/fixed.toml" "$boards/heron-c.toml" --at-gain 40dB
require grep -qF "A has no gain of 40 dB: compared at 40.09 dB, the nearest" "$room/out"
require grep -qE '^    A +-1' "$room/out"
expect 2 "A, fixed, has no gain of 50 dB: the nearest is 40.09 dB" \
    "$lowhiss" compare "$room/fixed.toml" "$boards/heron-c.toml" --at-gain 50dB
require grep -qF "A  does not reach this gain; nearest 40.09 dB" "$room/out"
expect 2 "B, fixed, has no gain of 39 dB" \
    "$lowhiss" compare "$room/fixed.toml" "$room/fixed.toml" --at-gain 39dB --json "$room/no.json"
require [ ! -s "$room/out" ]
require [ ! -e "$room/no.json" ]

# check asks about a slip in a node's name, and about inputs that were exchanged.
sed -e 's/"fb", "gnd"/"fb", "GND"/' "$room/fixed.toml" >"$room/slip.toml"
expect 0 "the node 'GND' differs from 'gnd', which is ground, by case alone" \
    "$lowhiss" check "$room/slip.toml"
require grep -qF "did you mean 'gnd'?" "$room/err"
sed -e 's/plus = "in", minus = "fb"/plus = "fb", minus = "in"/' "$room/fixed.toml" >"$room/slip.toml"
"$lowhiss" check "$room/slip.toml" >"$room/out" 2>"$room/err"
require grep -qF "positive feedback at direct current, which nothing limits" "$room/err"
"$lowhiss" check "$room/slip.toml" --quiet >"$room/out" 2>"$room/err"
require [ ! -s "$room/err" ]

# tolerance: a series is the same every time, in parts and on one core; a yield can be required.
expect 0 "" "$lowhiss" tolerance "$boards/wren.toml" --boards 40 --json "$room/a.json"
require grep -q "of 40 boards meet every limit" "$room/out"
expect 0 "" taskset -c 0 "$lowhiss" tolerance "$boards/wren.toml" --boards 40 --json "$room/b.json"
require cmp "$room/a.json" "$room/b.json"
expect 1 "" "$lowhiss" tolerance "$boards/heron-b.toml" --variant inverted --boards 5 --least-yield 0.5
require grep -q "0 of 5 boards meet every limit: yield 0 %, 95 % confidence 0 % to 52.18" "$room/out"
for share in 0.5 "50 %" 50% 50; do
    expect 1 "" "$lowhiss" tolerance "$boards/heron-b.toml" --variant inverted --boards 2 --quiet \
        --least-yield "$share"
done
expect 2 "accepted: 0 to 1, or 0 % to 100 %" "$lowhiss" tolerance "$boards/wren.toml" --least-yield 101%
expect 0 "" "$lowhiss" tolerance "$boards/heron-b.toml" --variant inverted --boards 5 --quiet
require [ ! -s "$room/out" ]
expect 2 "did you mean 'inverted'?" "$lowhiss" tolerance "$boards/heron-b.toml" --variant invertd
expect 2 "would be replaced" "$lowhiss" tolerance "$boards/wren.toml" --json "$boards/wren.toml"
expect 3 "" "$lowhiss" tolerance "$room/floating_limit.toml" --boards 3
expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --board-index 7 --csv "$room/seven.csv" --at 1kHz
expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --board-index 8 --csv "$room/eight.csv" --at 1kHz
require [ "$(cmp -s "$room/seven.csv" "$room/eight.csv"; echo $?)" -eq 1 ]

# sweep --board-index is the tolerance run's own board, with its temperature and op-amp figures: the
# noise of a resistor and of an op-amp whose worst figure is twice the typical one.
cat >"$room/outdoors.toml" <<'END'
[board]
temperature_range = ["-20 degC", "60 degC"]
[parts]
R1 = { resistor = "1k", pins = ["plus", "gnd"], temperature_coefficient = ["-1000 ppm/K", "1000 ppm/K"] }
C1 = { capacitor = "100u", pins = ["in", "plus"], tolerance = ["-20 %", "80 %"] }
R2 = { resistor = "9k", pins = ["out", "minus"], tolerance = "5 %" }
R3 = { resistor = "1k", pins = ["minus", "gnd"], tolerance = "5 %" }
U1 = { opamp = "noisy", plus = "plus", minus = "minus", out = "out" }
[input]
plus = "in"
[output]
plus = "out"
[opamp.noisy]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
voltage_noise = "5 nV/rtHz"
current_noise = "ideal"
worst = { voltage_noise = "10 nV/rtHz", gain_bandwidth = "5 MHz" }
[[limit]]
name = "hiss"
measure = "output_noise"
max = "100 uV"
END
expect 0 "" "$lowhiss" tolerance "$room/outdoors.toml" --boards 3 --first 4 --seed 7
require grep -qF "temperature -20 degC to 60" "$room/out"
expect 0 "" "$lowhiss" tolerance "$room/outdoors.toml" --boards 3 --first 4 --seed 7 --json "$room/run.json"
require grep -qE '"temperature_range_k": ?\[' "$room/run.json"
for index in 4 5 6; do
    expect 0 "" "$lowhiss" sweep "$room/outdoors.toml" --board-index "$index" --seed 7 \
        --json "$room/one.json"
    noise=$(grep -oE '"output_noise_v": ?[0-9.e-]+' "$room/one.json" | grep -oE '[0-9.e-]+$')
    require grep -qF -- "$noise" "$room/run.json"
    temperatures+=("$(grep -oE '"temperature_k": ?[0-9.]+' "$room/one.json")")
done
require [ "$(printf '%s\n' "${temperatures[@]}" | sort -u | wc -l)" -eq 3 ]

# sweep --board-index worst is the worst board that the tolerance run found: one figure, digit by digit.
range=(--boards 30 --seed 7)
expect 0 "" "$lowhiss" tolerance "$room/outdoors.toml" "${range[@]}" --json "$room/run.json"
require grep -qF "that board: lowhiss sweep $room/outdoors.toml" "$room/out"
expect 0 "" "$lowhiss" sweep "$room/outdoors.toml" --board-index worst "${range[@]}" --json "$room/one.json"
require grep -qF "worst board found for 'hiss', plain" "$room/out"
require grep -qE '"worst_of": ?"hiss"' "$room/one.json"
require grep -qE '"U1 voltage_noise": ?"high"' "$room/one.json"
noise=$(grep -oE '"output_noise_v": ?[0-9.e-]+' "$room/one.json" | grep -oE '[0-9.e-]+$')
require grep -qF -- "$noise" "$room/run.json"
expect 0 "" "$lowhiss" sweep "$room/outdoors.toml" --board-index worst:hiss "${range[@]}" --json "$room/named.json"
require cmp "$room/one.json" "$room/named.json"
expect 2 "did you mean 'hiss'?" "$lowhiss" sweep "$room/outdoors.toml" --board-index worst:his
expect 2 "the board has no limit" "$lowhiss" sweep "$boards/dabchick.toml" --board-index worst:hiss --boards 2
expect 2 "a single variant" "$lowhiss" sweep "$boards/heron-c.toml" --board-index worst --variant all
expect 2 "also accepted: worst, or worst:LIMIT" "$lowhiss" sweep "$boards/wren.toml" --board-index worse

# Of very many mistakes a hundred are printed, with the number of the others.
{
    echo '[parts]'
    echo "R1 = { resistor = \"1k\", pins = [\"a\", \"gnd\"]$(seq -f ', k%g = 1' 300 | tr -d '\n') }"
} >"$room/many.toml"
expect 2 "... and 202 more" "$lowhiss" sweep "$room/many.toml"

# CLI11 would accept these as other numbers.
for wrong in "--boards 010" "--boards 0x10" "--seed -1" "--first 99999999999999999999"; do
    # shellcheck disable=SC2086
    expect 2 "plain digits" "$lowhiss" tolerance "$boards/wren.toml" $wrong
done
expect 2 "is not a finite number" "$lowhiss" tolerance "$boards/wren.toml" --least-yield nan
expect 2 "plain digits" "$lowhiss" sweep "$boards/wren.toml" --board-index -1

widest=$("$lowhiss" sweep "$boards/heron-c.toml" --variant all --capsule ribbon |
    LC_ALL=C.UTF-8 awk '{ if (length($0) > widest) widest = length($0) } END { print widest }')
require [ "$widest" -le 80 ]

exit $((failures > 0))
