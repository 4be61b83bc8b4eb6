#!/usr/bin/env bash
# `list`: the library's own figures, the models that meet a condition, the order for a source, and
# the messages of refusals.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1
list() { "$lowhiss" list "$@"; }
cd "$room" || exit 1
rows() { grep -cE "^  ($1) " "$room/out"; } # rows PATTERN: of the last list

# Every model of the sources is there, in lines of 80 columns.
expect 0 'Op-amps: include = ["library:opamps"]' list
for name in $(sed -n 's/^\[\(opamp\|preamp_ic\|bipolar\|jfet\|battery\|capsule\)\.\([^]]*\)\]$/\2/p' "$2"/netlists/{models,capsules}/*.toml); do
    require grep -q "^  $name " "$room/out"
done
require [ "$(LC_ALL=C.UTF-8 wc -L <"$room/out")" -le 80 ]

# The NE5532 has 4.88 nV/rtHz and 0.529 pA/rtHz in netlists/models/opamps.toml.
expect 0 "" list opamps
require grep -qE "^  ne5532 +4\.88 +0\.529 +10 MHz +4 mA +NE5532" "$room/out"
expect 0 "" list opamps --where "voltage_noise < 1.1 nV/rtHz" --where "supply_current<=8 mA"
require [ "$(rows 'opa1612|lt1028')" = 2 ]
require [ "$(rows 'ad797|ne5532|bipolar-low-noise')" = 0 ]
expect 0 "" list --where "cmrr >= 126 dB" # also of a figure that is not shown otherwise
require grep -qE "^  lt1028 .* 126 " "$room/out"
require [ "$(rows 'ne5532|ina217')" = 0 ]
expect 0 "No model meets the conditions." list opamps --where "voltage_noise > 1 uV/rtHz"

# The quietest comes first: with 200 ohm the NE5534A has 3.94 nV/rtHz (tests/board/library_models.cpp).
expect 0 "" list opamps --for 200R
require grep -qE "^  ne5534a .* 3\.94 +NE5534" "$room/out"
require [ "$(grep -E '^  (lt1028|ne5534a|tl072) ' "$room/out" | awk '{print $1}' | tr '\n' ' ')" = "lt1028 ne5534a tl072 " ]
expect 0 "" list opamps --for 1M # where current noise counts most
require [ "$(grep -E '^  (lt1028|ne5534a|tl072) ' "$room/out" | awk '{print $1}' | tr '\n' ' ')" = "tl072 ne5534a lt1028 " ]
expect 0 "at a gain of 20 dB" list preamp_ics --for 200R --at-gain 20dB
expect 0 "at a collector current of 1 mA" list transistors --for 200R --at-current 1mA
expect 0 "Bipolar transistors are left out" list --for 200R

# Every bipolar transistor by the formulas of Motchenbacher and Connelly, Low-Noise Electronic System
# Design (Wiley, 1993), from memory: en^2 = 4kT (rbb + re / 2), in^2 = 2q Ib, which flows through rbb
# too. They leave out at most 1 / B of the sum (tests/board/library_models.cpp).
expect 0 "" list transistors --for 3k3 --at-current 250uA --json bipolar.json --quiet
require python3 - <<'CHECK'
import json, math
k, q, t, source, current = 1.380649e-23, 1.602176634e-19, 293.15, 3300, 250e-6
models = json.load(open("bipolar.json"))["transistors"]
assert len(models) >= 5
found = []
for model in models:
    figure = {key: each["value"] for key, each in model["figures"].items()}
    series = figure.get("base_resistance", 0) + figure.get("emitter_resistance", 0)
    base = current / figure["current_gain"] * (1 + figure.get("current_noise_corner", 0) / 1000)
    book = 4 * k * t * (source + series + k * t / q / current / 2) + 2 * q * base * (source + series) ** 2
    found.append(model["noise_with_source_v_rthz"])
    assert 0.9999 <= found[-1] ** 2 / book <= 1.0001 + 1 / figure["current_gain"], (model["name"], found[-1], book)
assert found == sorted(found)
CHECK

# JSON has what the table cuts short.
expect 0 "" list opamps --for 200R --json x.json --quiet
require grep -q '"source": "NE5532 data sheet, TI SLOS075; from memory, check against the sheet"' x.json
require grep -q '"format": "lowhiss-list/1"' x.json
expect 0 '"noise_with_source_v_rthz": 3.936' list opamps --for 200R --json -

expect 2 "there is no kind of models 'opamp'; accepted: capsules, opamps, preamp_ics" list opamp
expect 2 "did you mean 'opamps'?" list opamp
expect 2 "did you mean 'voltage_noise'?" list opamps --where "voltge_noise < 3 nV/rtHz"
expect 2 "accepted: open_loop_gain, gain_bandwidth" list opamps --where "loudness < 3"
expect 2 "is not a comparison" list opamps --where "voltage_noise 3n"
expect 2 "accepted: a voltage noise density" list opamps --where "voltage_noise < 3 pF"
expect 2 "capsules have no input" list capsules --for 200R
expect 2 "depends on its collector current" list transistors --for 200R
expect 2 "with --for RESISTANCE" list opamps --at-gain 20dB
expect 2 "'-5' is out of range" list opamps --for=-5
exit $((failures > 0))
