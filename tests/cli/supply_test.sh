#!/usr/bin/env bash
# `supply`: status 1 if the supply is inadequate, and the other statuses. Circuits that oscillate: a
# sweep says so first, a check fails.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 netlists=$2/netlists boards=$2/netlists/boards

expect 0 "P48" "$lowhiss" supply "$boards/dabchick.toml"
require [ ! -s "$room/err" ]
expect 0 "battery" "$lowhiss" supply "$boards/heron-d.toml" --variant all
expect 0 "no amplifier has supply pins" "$lowhiss" supply "$boards/heron-c.toml"
expect 0 "" "$lowhiss" supply "$boards/dabchick.toml" --json "$room/a.json"
expect 0 "" "$lowhiss" supply "$boards/dabchick.toml" --json - --knob 0,0.25,0.5,0.75,1
require cmp "$room/a.json" "$room/out"
require grep -q '"faults": \[\]' "$room/a.json"
require [ "$(grep -c '"supply": "' "$room/a.json")" -eq 15 ] # three ends of the supply, five positions
width() { awk '{ if (length($0) > widest) widest = length($0) } END { exit widest > 80 }' "$1"; }
expect 0 "" env LC_ALL=C.UTF-8 "$lowhiss" supply "$boards/dabchick.toml"
require env LC_ALL=C.UTF-8 bash -c "$(declare -f width); width '$room/out'"

# Every curve of every demo board can be computed.
for board in "$boards"/*.toml; do
    expect 0 "" "$lowhiss" sweep "$board" --variant all --quiet --json "$room/curves.json"
done

expect 2 "there is no such file" "$lowhiss" supply "$room/none.toml"
expect 2 "would be replaced" "$lowhiss" supply "$boards/dabchick.toml" --json "$boards/dabchick.toml"
expect 2 "did you mean 'lithium'?" "$lowhiss" supply "$boards/heron-d.toml" --variant litium
expect 2 "--cable: " "$lowhiss" sweep "$boards/wren.toml" --cable 100
expect 2 "is negative" "$lowhiss" sweep "$boards/wren.toml" --cable -1n

# One lithium cell for an op-amp that needs ten volts; an overloaded feed; a reversed capacitor and
# one above its rating.
at_home=(sed "s|\"\.\./|\"$netlists/|g")
"${at_home[@]}" "$boards/heron-c.toml" >"$room/heron-c.toml"
sed -i "s|heron-b|$boards/heron-b|" "$room/heron-c.toml"
"${at_home[@]}" "$boards/heron-d.toml" |
    sed 's/BT1  = { battery = "alkaline-9v"/BT1 = { battery = "lithium-ion"/' >"$room/cell.toml"
expect 1 "FAULT  U1: supply too low: " "$lowhiss" supply "$room/cell.toml"
"${at_home[@]}" "$boards/dabchick.toml" >"$room/dabchick.toml"
sed 's/R1 = { resistor = "1k"/R1 = { resistor = "10R"/; s/R2 = { resistor = "1k"/R2 = { resistor = "10R"/; s/zener = "24 V"/zener = "12 V"/' \
    "$room/dabchick.toml" >"$room/greedy.toml"
expect 1 "FAULT  feed: overloaded: " "$lowhiss" supply "$room/greedy.toml"
sed 's/C3 = { capacitor = "10u", pins = \["mid", "gnd"\]/C3 = { capacitor = "10u", pins = ["gnd", "mid"]/; s/rating = "63 V"/rating = "25 V"/' \
    "$room/dabchick.toml" >"$room/wrong.toml"
expect 1 "polarised and reverse biased by " "$lowhiss" supply "$room/wrong.toml"
require grep -q "FAULT  C9: overvoltage: 2[0-9.]* V, rated 25 V" "$room/out"

# A coil without resistance across a voltage source: no DC solution, though there is a response.
cat >"$room/coil.toml" <<'BOARD'
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
L1 = { inductor = "1 mH", pins = ["v", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
BOARD
expect 3 "no-operating-point" "$lowhiss" supply "$room/coil.toml"
expect 0 "" "$lowhiss" sweep "$room/coil.toml"

# Circuits that oscillate.
sed '/^R8 /d; /^C5 /d; /^C6 /d; s/R14 = { resistor = "100R"/R14 = { resistor = "0R"/; s/R\([67]\) = { resistor = "[0-9k]*"/R\1 = { resistor = "100k"/; s/R9  = { resistor = "2k2"/R9  = { resistor = "10k"/' \
    "$room/dabchick.toml" >"$room/bare.toml"
expect 0 "OSCILLATES at 1.95 MHz (knob 0 %)" "$lowhiss" sweep "$room/bare.toml" --json "$room/bare.json"
require bash -c "sed -n 2p '$room/out' | grep -q '^  ALARM  *OSCILLATES'"
require grep -q '"stable": false' "$room/bare.json"
expect 1 "FAIL    stability" "$lowhiss" check "$room/bare.toml" --limits-only --junit "$room/bare.xml"
require grep -q "oscillates" "$room/bare.xml"
expect 0 "" "$lowhiss" check "$room/dabchick.toml" --limits-only
expect 1 "is UNSTABLE" "$lowhiss" tolerance "$room/bare.toml" --boards 2
expect 0 "is UNSTABLE" "$lowhiss" compare "$room/bare.toml" "$room/dabchick.toml" --knob 0

# A diode in series with a battery, an LED at a current source, a regulator with a forced output.
cat >"$room/diode.toml" <<BOARD
[board]
include = ["$netlists/models/opamps.toml", "$netlists/models/batteries.toml"]
[parts]
BT1 = { battery = "alkaline-9v", pins = ["bat_p", "gnd"] }
BT2 = { battery = "alkaline-9v", pins = ["gnd", "bat_n"] }
D1 = { diode = "0.35 V", current = "10 mA", anode = "bat_p", cathode = "vcc" }
D2 = { diode = "0.35 V", current = "10 mA", anode = "vee", cathode = "bat_n" }
R1 = { resistor = "10k", pins = ["in", "gnd"] }
U1 = { opamp = "ne5532", plus = "in", minus = "fb", out = "out", supply = ["vcc", "vee"] }
R2 = { resistor = "9k", pins = ["out", "fb"] }
R3 = { resistor = "1k", pins = ["fb", "gnd"] }
I1 = { current_source = "10 mA", from = "gnd", into = "l" }
D3 = { led = "2 V", current = "10 mA", series_resistance = "10R", anode = "l", cathode = "gnd" }
PS1 = { regulator = "5 V", input = "bat_p", out = "reg" }
R4 = { resistor = "100R", pins = ["bat_p", "reg"] }
[input]
plus = "in"
[output]
plus = "out"
BOARD
expect 1 "PS1: output forced to " "$lowhiss" supply "$room/diode.toml"
require grep -qE "^  U1 +11.* V +15.* V +18" "$room/out"
expect 0 "" "$lowhiss" sweep "$room/diode.toml"

exit $failures
