#!/usr/bin/env bash
# The text of `sweep`: the summary, the tables that were asked for, and the parts that it names as
# causes.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 boards=$2/netlists/boards netlists=$2/netlists

sweep() { "$lowhiss" sweep "$@"; }
headings() { grep -cE '^(Gain, b|Noise by|Bass|Capsule: |Headroom|Output|Switching|Stability|CMRR|Supply r|Ripple|Radio)' "$1"; }

# Summary, three tables, and the names of the others that this board has.
expect 0 "" sweep "$boards/heron-c.toml"
require [ "$(sed -n 1p "$room/out")" = "Heron, revision C, capsule dynamic-200" ]
require [ "$(sed -n 2p "$room/out")" = "  Gain       5.7 dB (knob 0 %) to 53.7 dB (knob 100 %); output in phase" ]
require bash -c "sed -n 3,4p '$room/out' | tr -d '\n' | grep -q -- '-3 dB      4.25 Hz to 226 kHz at 53.7 dB; lower corner mainly due to *C6'"
require grep -q '^  EIN        -127.4 dBu at 53.7 dB; noise from capsule 53 %, U1 24 %, R4 7 %$' "$room/out"
require [ "$(headings "$room/out")" -eq 3 ]
require [ "$(tail -n 1 "$room/out")" = "more: --show capsule,source,distortion,output,balance,stability,cmrr,radio" ]

# Tables by name, comma-separated or again; all of them; one that a board does not have.
expect 0 "" sweep "$boards/dabchick.toml" --show stability,output --show psrr
require [ "$(headings "$room/out")" -eq 3 ]
require [ "$(tail -n 2 "$room/out" | tr -s " \n" " ")" = " more by --show: gain, noise, bass, capsule, source, headroom, distortion, balance, settling, radio " ]
expect 0 "" sweep "$boards/dabchick.toml" --show all
require [ "$(headings "$room/out")" -eq 11 ]
require bash -c "! grep -q '^more:' '$room/out'"
expect 0 "none: no ripple defined" sweep "$boards/heron-c.toml" --show ripple
expect 0 "" sweep "$boards/heron-d.toml" --show ripple --variant lithium
require [ "$(grep -c '^Ripple' "$room/out")" -eq 1 ]
require bash -c "! grep -q 'none:' '$room/out'"
expect 2 "did you mean 'stability'?" sweep "$boards/heron-c.toml" --show gain,stabilty
require grep -q "accepted: gain, noise, bass, capsule, source, headroom, distortion, output, balance, settling, stability, cmrr, psrr, ripple, radio, all" "$room/err"
expect 2 "leave one out" sweep "$boards/heron-c.toml" --show gain --draw
expect 0 "" sweep "$boards/wren.toml" --quiet --json "$room/plain.json"
expect 0 "" sweep "$boards/wren.toml" --quiet --json "$room/shown.json" --show cmrr
require cmp "$room/plain.json" "$room/shown.json"

# Nothing is wider than a terminal.
for board in "$boards"/*.toml; do
    expect 0 "" sweep "$board" --variant all --show all --cable 100p,10n
    require bash -c "! LC_ALL=C.UTF-8 grep -E '^.{81}' '$room/out'"
done

# A transformer's corner is not blamed on a capacitor; two equal capacitors are both named, as together
# they take what neither takes half of.
expect 0 "mainly due to T1" sweep "$boards/bittern.toml"
expect 0 "due to C2 and C3" sweep "$boards/wren.toml"
require grep -q "together: 2.6 of 3.0 dB; neither alone more than 1.3 dB" "$room/out"

# Below 1 Hz there are no millihertz; without any corner it says so.
board() {
    printf '%s\n' "[board]" "include = [\"$netlists/models/opamps.toml\"]" "[parts]" "$1" \
        "[input]" 'plus = "in"' "[output]" 'plus = "out"'
}
board 'C1 = { capacitor = "31.9u", pins = ["in", "out"] }
R1 = { resistor = "10k", pins = ["out", "gnd"] }' >"$room/slow.toml"
expect 0 "from 0.5 Hz at 0.0 dB; no upper corner found; lower corner mainly" sweep "$room/slow.toml"
board 'R1 = { resistor = "10k", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }' >"$room/flat.toml"
expect 0 "no -3 dB corner found" sweep "$room/flat.toml"
expect 0 "none: no capacitor, inductor or transformer" sweep "$room/flat.toml" --show bass

# A capsule that the input loads is an alarm and behind the corner, not the capacitor after it.
board 'R1 = { resistor = "4k6", pins = ["in", "gnd"] }
E1 = { voltage_gain = -100, control = ["in", "gnd"], pins = ["a", "gnd"] }
C5 = { capacitor = "1u", pins = ["a", "out"] }
R5 = { resistor = "10k", pins = ["out", "gnd"] }' |
    sed 's/plus = "in"/plus = "in"\ncapsule = "small"/' >"$room/loaded.toml"
printf '%s\n' '[capsule.small]' 'kind = "condenser"' 'capacitance = "60p"' >>"$room/loaded.toml"
expect 0 "ALARM" sweep "$room/loaded.toml"
tr -s ' \n' ' ' <"$room/out" >"$room/joined"
require grep -q "the capsule loses 89.2 dB at 20 Hz and 55.2 dB at 1 kHz into an input impedance of 4.6 kΩ: it needs at least 1.33 GΩ" "$room/joined"
require grep -q "lower corner mainly due to the capsule's impedance" "$room/joined"
require grep -q "; output neither in phase nor inverted" "$room/joined"
expect 0 "" sweep "$room/loaded.toml" --quiet --json "$room/loaded.json"
require grep -q '"alarm": true' "$room/loaded.json"

# Positive feedback at direct current drives an output to its rail: it does not oscillate.
board 'R1 = { resistor = "1k", pins = ["in", "p"] }
R2 = { resistor = "10k", pins = ["p", "out"] }
U1 = { opamp = "ne5532", plus = "p", minus = "gnd", out = "out" }' >"$room/latch.toml"
expect 0 "LATCHES UP with a time constant of" sweep "$room/latch.toml"
require bash -c "! grep -q OSCILLATES '$room/out'"

exit $failures
