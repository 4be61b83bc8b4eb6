#!/usr/bin/env bash
# match and draft as a user runs them, and the ordered files in a baseline.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 netlists=$2/netlists
board=$netlists/boards/heron-c.toml ordered=$netlists/ordered

expect 0 "PASS: what was compared agrees" "$lowhiss" match "$board" "$ordered/heron-c.ipc" "$ordered/heron-c.csv"
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
expect 2 "--ordered goes with --record" "$lowhiss" check "$room/starter.toml" --ordered "$room/order.ipc"

exit $failures
