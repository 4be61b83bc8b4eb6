#!/usr/bin/env bash
# match and draft as a user runs them, and the ordered files in a baseline.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 netlists=$2/netlists
board=$netlists/boards/heron-c.toml ordered=$netlists/ordered

expect 0 "PASS: what was compared agrees" "$lowhiss" match "$board" "$ordered/heron-c.ipc" "$ordered/heron-c.csv"
for demo in heron-c heron-d redshank tern; do
    for nets in .ipc -top.gbr; do
        expect 0 "PASS: what was compared agrees" \
            "$lowhiss" match "$netlists/boards/$demo.toml" "$ordered/$demo$nets" "$ordered/$demo.csv"
    done
done
expect 0 "PASS" "$lowhiss" match "$netlists/boards/heron-d.toml" "$ordered/heron-d.ipc" \
    --materials "lithium=$ordered/heron-d-lithium.csv"
expect 1 "BT1 is not fitted in the drawing, and the list of materials fits it (in lithium)" \
    "$lowhiss" match "$netlists/boards/heron-d.toml" "$ordered/heron-d.ipc" \
    --materials "lithium=$ordered/heron-d.csv"
# One pin on another net: one line, which names it.
sed 's/^327STOP_P           R4 /327GND              R4 /' "$ordered/heron-c.ipc" >"$room/moved.ipc"
expect 1 "R4.1" "$lowhiss" match "$board" "$room/moved.ipc" --quiet --junit "$room/m.xml" --json "$room/m.json"
require [ "$(wc -l <"$room/out")" = 1 ]
require grep -q 'failures="1"' "$room/m.xml"
require grep -q '"agrees": false' "$room/m.json"
sed 's/22 Ω/220 Ω/' "$ordered/heron-c.csv" >"$room/value.csv"
expect 1 "R4 is 22 Ω in the drawing, '220 Ω' in the list" "$lowhiss" match "$board" "$room/value.csv"
expect 1 "" "$lowhiss" match "$board" "$ordered/heron-c.ipc" --materials "condenser=$ordered/heron-c.csv"
require grep -q "R11 is 1 GΩ" "$room/out"
expect 2 "--materials: " "$lowhiss" match "$board" "$ordered/heron-c.ipc" --materials "$ordered/heron-c.csv"
expect 2 "did you mean 'condenser'" "$lowhiss" match "$board" "$ordered/heron-c.ipc" --materials condensor=x.csv
expect 2 "accepted: Reference, Qty, Value" "$lowhiss" match "$board" "$ordered/heron-c.csv" --columns value=Wert
expect 2 "there is no such file" "$lowhiss" match "$board" "$room/none.ipc"


# Copper layers, and one pin of theirs on another net.
expect 0 "PASS: what was compared agrees" "$lowhiss" match "$board" "$ordered/heron-c-top.gbr" "$ordered/heron-c.csv"
sed '/TO.P,R4,1\*/{n;s/STOP_P/GND/}' "$ordered/heron-c-top.gbr" >"$room/moved.gbr"
expect 1 "R4.1" "$lowhiss" match "$board" "$room/moved.gbr" --quiet
require [ "$(wc -l <"$room/out")" = 1 ]

# Exchanged halves of a dual amplifier are no fault but a note; exchanged inputs are a fault.
cat >"$room/dual.toml" <<'TOML'
input = { plus = "in", capsule = "c" }
output = { plus = "out" }
capsule.c = { kind = "resistive", resistance = "200R" }
board.include = ["library:opamps"]
[parts]
R1 = { resistor = "22k", pins = ["in", "gnd"] }
U1A = { opamp = "opa1642", device = "U1", unit = "A", plus = "in", minus = "fb", out = "mid" }
R2 = { resistor = "10k", pins = ["mid", "fb"] }
R3 = { resistor = "1k", pins = ["fb", "gnd"] }
U1B = { opamp = "opa1642", device = "U1", unit = "B", plus = "mid", minus = "out", out = "out" }
R4 = { resistor = "10k", pins = ["out", "gnd"] }
TOML
dual() { # dual PIN... for out, minus, plus of U1A, then of U1B
    local record='327%-14s   %-6s-%-4s  A01X+012700Y+025400X0600Y1550R000 S0
' k=0 net
    for net in MID FB IN OUT OUT MID; do
        printf "$record" "$net" U1 "${@:$((++k)):1}"
    done
    printf "$record" IN R1 1 GND R1 2 MID R2 1 FB R2 2 FB R3 1 GND R3 2 OUT R4 1 GND R4 2
    echo 999
}
dual 1 2 3 7 6 5 >"$room/drawn.ipc"
dual 7 6 5 1 2 3 >"$room/halves.ipc"
dual 1 3 2 7 6 5 >"$room/inputs.ipc"
expect 0 "PASS" "$lowhiss" match "$room/dual.toml" "$room/drawn.ipc"
require [ "$(grep -c "units are exchanged" "$room/out")" = 0 ]
expect 0 "units are exchanged, which is not a fault: U1A is unit B of U1 instead of A, U1B is unit A instead of B" \
    "$lowhiss" match "$room/dual.toml" "$room/halves.ipc" --json "$room/halves.json"
require [ "$(grep -c '"part": "U1[AB]"' "$room/halves.json")" = 2 ]
expect 1 "exchanged pins: U1.3 and U1.2" "$lowhiss" match "$room/dual.toml" "$room/inputs.ipc"

"$lowhiss" draft >"$room/starter.toml"
expect 0 "starter, revision A" "$lowhiss" sweep "$room/starter.toml"
expect 0 "" "$lowhiss" check "$room/starter.toml"
"$lowhiss" draft "$ordered/heron-c.ipc" "$ordered/heron-c.csv" --input J1.2,J1.3 --output J2.2 >"$room/draft.toml"
expect 2 "'fill in' is not a state of a link" "$lowhiss" sweep "$room/draft.toml"
expect 2 "there is no pin 'J1.9'" "$lowhiss" draft "$ordered/heron-c.ipc" --input J1.9
expect 2 "no file says what is connected" "$lowhiss" draft "$ordered/heron-c.csv"

cp "$ordered/heron-c.ipc" "$room/order.ipc"
expect 0 "" env -u CI "$lowhiss" check "$room/starter.toml" --record --ordered "$room/order.ipc"
expect 0 "" "$lowhiss" check "$room/starter.toml"
echo "C  changed" >>"$room/order.ipc"
expect 1 "ORDER   order.ipc has changed since" "$lowhiss" check "$room/starter.toml"
require grep -qF "once lowhiss match agrees: lowhiss check $room/starter.toml --record --ordered $room/order.ipc" "$room/out"
expect 1 "order.ipc has changed since" "$lowhiss" check "$room/starter.toml" --summary "$room/s.md"
require grep -qF "order.ipc has changed since" "$room/s.md"
# Recording figures alone does not accept another order.
expect 1 "ORDER   order.ipc has changed since" env -u CI "$lowhiss" check "$room/starter.toml" --record
expect 1 "ORDER   order.ipc" "$lowhiss" check "$room/starter.toml"
expect 2 "--ordered goes with --record" "$lowhiss" check "$room/starter.toml" --ordered "$room/order.ipc"

# Several boards, each with the files of its own.
cp "$room/starter.toml" "$room/second.toml"
cp "$ordered/heron-c.csv" "$room/list.csv"
both=("$room/starter.toml" "$room/second.toml")
expect 2 "--ordered: 2 boards are given, and it is not known which of them the file is for" \
    env -u CI "$lowhiss" check "${both[@]}" --record --ordered "$room/order.ipc"
require [ ! -e "$room/second.baseline" ]
expect 2 "accepted: one board, with --ordered FILE for each of its files" \
    env -u CI "$lowhiss" check "$room/starter.toml" --record --ordered "$room/order.ipc" "$room/list.csv"
expect 0 "" env -u CI "$lowhiss" check "$room/starter.toml" --record --ordered "$room/order.ipc"
expect 0 "" env -u CI "$lowhiss" check "$room/second.toml" --record --ordered "$room/list.csv" --ordered "$room/order.ipc"
expect 0 "2 boards: 2 pass" "$lowhiss" check "${both[@]}"
echo "X9;1;1k" >>"$room/list.csv"
expect 1 "2 boards: 1 passes, 1 fails" "$lowhiss" check "${both[@]}" --junit "$room/both.xml"
require [ "$(grep -c "ORDER   list.csv" "$room/out")" = 2 ] # with its board, and repeated at the end
require grep -qF -- "--record --ordered $room/list.csv --ordered $room/order.ipc" "$room/out"
require [ "$(grep -c 'failures="0"' "$room/both.xml")" = 1 ]
require [ "$(grep -c 'failures="1"' "$room/both.xml")" = 1 ]
# Figures of both are recorded; the files of each stay noted as they were.
expect 1 "ORDER   list.csv" env -u CI "$lowhiss" check "${both[@]}" --record
rm "$room/order.ipc"
expect 1 "ORDER   order.ipc cannot be read" "$lowhiss" check "$room/starter.toml"

# A merge conflict in the figures keeps the files that both versions note.
cp "$ordered/heron-c.ipc" "$room/order.ipc"
record=(env -u CI "$lowhiss" check "$room/starter.toml" --record)
expect 0 "" "${record[@]}" --ordered "$room/order.ipc"
baseline=$room/starter.baseline
cp "$baseline" "$room/noted"
conflict() { # conflict PATTERN [SED]: in the first line that matches; the other version by the sed script
    awk -v pattern="$1" 'FILENAME == ARGV[1] { other[FNR] = $0; next }
        $0 ~ pattern && !done { print "<<<<<<< ours"; print; print "======="; print other[FNR]
            print ">>>>>>> theirs"; done = 1; next } { print }' \
        <(sed "${2:-}" "$room/noted") "$room/noted" >"$baseline"
    require grep -q '^<<<<<<< ours$' "$baseline"
}
conflict 'ein" = '
expect 0 "written over one with a merge conflict" "${record[@]}"
require cmp "$baseline" "$room/noted"
# Where they note different ones, it is refused until they are named, or dropped by force.
conflict '^"?order.ipc' 's/^\("*order.ipc"* = "\)[0-9a-f]/\1x/'
cp "$baseline" "$room/conflict"
expect 2 "has a merge conflict in the ordered files that it notes" "$lowhiss" check "$room/starter.toml"
expect 2 "starter.toml --record --ordered FILE" "${record[@]}"
require cmp "$baseline" "$room/conflict"
expect 0 "written over one with a merge conflict" "${record[@]}" --ordered "$room/order.ipc"
require cmp "$baseline" "$room/noted"
cp "$room/conflict" "$baseline"
expect 0 "starter.baseline' noted are lost, and check no longer looks at them" "${record[@]}" --force
require [ "$(grep -c order.ipc "$baseline")" = 0 ]
# The same of a baseline that is damaged otherwise.
sed '/^format/d' "$room/noted" >"$baseline"
expect 2 "starter.toml --record --force --ordered FILE" "${record[@]}"
expect 0 "starter.baseline' noted are lost, and check no longer looks at them" "${record[@]}" --force
sed '/^format/d' "$room/noted" >"$baseline"
expect 0 "written over one that was unusable" "${record[@]}" --force --ordered "$room/order.ipc"
require [ "$(grep -c warning "$room/err")" = 0 ]
require cmp "$baseline" "$room/noted"

# What --set altered is in the name and the properties of the suite.
expect 1 "" "$lowhiss" match "$board" "$ordered/heron-c.csv" --set R4=47R --junit "$room/set.xml"
require grep -qF 'heron-c.toml with R4=47R" tests=' "$room/set.xml"
require grep -qF '<property name="set" value="R4=47R"' "$room/set.xml"
"$lowhiss" check "$board" --set R4=47R --set R5=47R --junit "$room/set.xml" >"$room/out" 2>&1
require grep -qF 'heron-c.toml with R4=47R, R5=47R" tests=' "$room/set.xml"
require [ "$(grep -c '<property name="set" value="R[45]=47R"' "$room/set.xml")" = 2 ]
require grep -qF 'classname="'"$board"' with R4=47R, R5=47R"' "$room/set.xml"
expect 0 "" "$lowhiss" check "$board" --junit "$room/set.xml"
require [ "$(grep -c 'propert' "$room/set.xml")" = 0 ]

exit $failures
