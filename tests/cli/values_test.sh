#!/usr/bin/env bash
# Choosing values: --set on every command, and columns of values in compare.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 boards=$2/netlists/boards

# Every command that reads a board says what was set; a mistake points at the option.
for command in "sweep" "check --limits-only" "supply" "inspect" "tolerance --boards 4"; do
    read -ra words <<<"$command"
    "$lowhiss" "${words[@]}" "$boards/heron-c.toml" --set R4=47R >"$room/out" 2>"$room/err" || true
    require grep -q "Heron with R4=47R, revision C" "$room/out"
    expect 2 "--set:1:4: error: R4.resistor: '4,7R' has a comma" \
        "$lowhiss" "${words[@]}" "$boards/heron-c.toml" --set R4=4,7R
done
expect 0 "" "$lowhiss" report "$boards/heron-c.toml" --set R4=47R --output "$room/page.html"
require grep -q "<h2>Heron with R4=47R, revision C</h2>" "$room/page.html"
for command in "sweep" "check --limits-only" "supply" "tolerance --boards 4"; do
    read -ra words <<<"$command"
    "$lowhiss" "${words[@]}" "$boards/heron-c.toml" --set R4=47R --set R5=47R \
        --json "$room/set.json" >"$room/out" 2>"$room/err" || true
    require python3 - "$room/set.json" <<'CHECK'
import json, sys
document = json.load(open(sys.argv[1]))
boards = document["boards"] if isinstance(document.get("boards"), list) else [document]
assert boards[0]["set"] == ["R4=47R", "R5=47R"]
CHECK
done

# A value that is the drawn one changes nothing but the name.
expect 0 "" "$lowhiss" sweep "$boards/heron-c.toml" --knob 1 --json "$room/drawn.json" --quiet
expect 0 "" "$lowhiss" sweep "$boards/heron-c.toml" --knob 1 --set R4=22R --json "$room/same.json" --quiet
require python3 - "$room/drawn.json" "$room/same.json" <<'CHECK'
import json, sys
drawn, same = (json.load(open(name)) for name in sys.argv[1:])
assert drawn["runs"] == same["runs"]
CHECK

# A baseline is of the board in the file.
expect 2 "--record and --set exclude each other" \
    "$lowhiss" check "$boards/heron-c.toml" --set R4=47R --record
expect 0 "Heron with R4=47R" "$lowhiss" sweep "$boards/heron-c.toml" --set R4=47R

# Shards of one run have the same values set.
for shard in 1 2; do
    expect 0 "" "$lowhiss" tolerance "$boards/wren.toml" --boards 8 --shard "$shard/2" \
        --set R2=11k --result "$room/$shard.result"
done
expect 0 "Wren with R2=11k" "$lowhiss" tolerance --merge "$room/1.result" "$room/2.result"
require grep -q -- "--set R2=11k" "$room/out"
expect 0 "" "$lowhiss" tolerance "$boards/wren.toml" --boards 8 --shard 2/2 --result "$room/2.result"
expect 2 "from a run with --set R2=11k" "$lowhiss" tolerance --merge "$room/2.result" "$room/1.result"
expect 2 "leave it out" "$lowhiss" tolerance --merge "$room/1.result" --set R2=11k

# compare: a column for each value; two lists are crossed; one value is compared with the drawn board.
expect 0 "3 boards compared" "$lowhiss" compare "$boards/heron-c.toml" --knob 1 --set R4=10R,22R,47R
require grep -q "C  Heron with R4=47R, revision C" "$room/out"
expect 0 "6 boards compared" "$lowhiss" compare "$boards/heron-c.toml" --knob 1 \
    --set R4=10R,22R,47R --set R8=4R7,10R --json "$room/cross.json"
require grep -qE "^ +R8=4R7 +R8=10R$" "$room/out"
require python3 - "$room/cross.json" "$room/out" <<'CHECK'
import json, sys
boards = json.load(open(sys.argv[1]))["boards"]
text = open(sys.argv[2]).read()
ein = text[text.index("ein, dBu"):]
for k, row in enumerate(("R4=10R", "R4=22R", "R4=47R")):
    line = next(l for l in ein.splitlines() if l.strip().startswith(row)).split()
    for column in range(2):
        board = boards[2 * k + column]
        assert board["set"] == [row, ("R8=4R7", "R8=10R")[column]], board["set"]
        shown = board["positions"][0]["figures"]["ein"]
        assert abs(float(line[1 + column]) - shown) < 0.0051, (line, shown)
CHECK
expect 0 "B  Heron with R4=10R" "$lowhiss" compare "$boards/heron-c.toml" --knob 1 --set R4=10R
require grep -q "R4 changed: resistor 22 Ω -> resistor 10 Ω" "$room/out"
expect 0 "4 boards compared" "$lowhiss" compare "$boards/heron-b.toml" "$boards/heron-c.toml" \
    --knob 1 --set R4=10R,22R
expect 2 "may be a decimal one" "$lowhiss" compare "$boards/heron-c.toml" --set R4=4,7R
expect 2 "there is no part 'R44'" "$lowhiss" compare "$boards/heron-c.toml" --set R44=1,2
expect 2 "more than 100 boards" "$lowhiss" compare "$boards/heron-c.toml" \
    --set R4=1,2,3,4,5,6,7,8,9,10,11 --set R5=1,2,3,4,5,6,7,8,9,10
expect 2 "two boards or more, or one and a --set" "$lowhiss" compare "$boards/heron-c.toml"

exit $failures
