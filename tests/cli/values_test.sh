#!/usr/bin/env bash
# Choosing values: --set on every command, and columns of values in compare.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 boards=$2/netlists/boards

# Every command that reads a board prints what was set; the message of a mistake points into the
# option.
for command in "sweep" "check --limits-only" "supply" "inspect" "tolerance --boards 4"; do
    read -ra words <<<"$command"
    "$lowhiss" "${words[@]}" "$boards/heron-c.toml" --set R4=47R >"$room/out" 2>"$room/err" || true
    require grep -q "Heron with R4=47R, revision C" "$room/out"
    expect 2 "--set:1:4: error: R4.resistor: '4,7R' has a comma" \
        "$lowhiss" "${words[@]}" "$boards/heron-c.toml" --set R4=4,7R
done
expect 0 "" "$lowhiss" report "$boards/heron-c.toml" --set R4=47R --output "$room/page.html"
require grep -q "<h1>Heron with R4=47R, revision C</h1>" "$room/page.html"
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

# choose: the best set meets the limits, and the revision that has it checks.
cat >"$room/open.toml" <<BOARD
[board]
based_on = "$boards/plover-leg.toml"
revision = "A, open"
[[limit]]
name    = "full gain"
measure = "gain"
knob    = 1.0
min     = "59 dB"
max     = "61.5 dB"
[choose]
least = "ein"
knob  = 1.0
[choose.parts]
R4 = { series = "E12", from = "4k7", to = "22k" }
R5 = ["2R2", "3R3", "4R7", "6R8"]
U1 = ["bipolar-low-noise", "ne5534a"]
BOARD
expect 0 "72, every one computed" "$lowhiss" choose "$room/open.toml" --best 3 --boards 20 \
    --apply "$room/chosen.toml" --json "$room/chosen.json"
require bash -c "! LC_ALL=C.UTF-8 grep -E '^.{81}' '$room/out'"
require grep -qE '^  set +R4 +R5 +U1$' "$room/out"
require grep -qE '^  set +ein +gain +EIN +low +high +yield$' "$room/out"
require grep -qE '^  full gain +' "$room/out"
expect 0 "2 of 2 limit checks pass" "$lowhiss" check "$room/chosen.toml" --limits-only
require grep -q "Plover, knob in the leg, revision A, open, chosen" "$room/out"
# The figures of the set are those of the revision; no other set of all 72 that meets them is better.
expect 0 "" "$lowhiss" sweep "$room/chosen.toml" --knob 1 --quiet --json "$room/swept.json"
require python3 - "$lowhiss" "$room" <<'CHECK'
import itertools, json, subprocess, sys
lowhiss, room = sys.argv[1:]
chosen = json.load(open(room + "/chosen.json"))
swept = json.load(open(room + "/swept.json"))
best = chosen["best"][0]
ein = swept["runs"][0]["knob"][0]["measures"]["ein_dbu"]
assert abs(best["aim"] - ein) < 1e-9, (best["aim"], ein)
assert best["figures"]["ein"] == best["aim"]
assert sorted(s["aim"] for s in chosen["best"]) == [s["aim"] for s in chosen["best"]]
assert all(v["outcome"] == "met" for v in best["verdicts"])
assert best["yield"]["boards"] == 20
assert chosen["sets"] == chosen["computed"] == 72 and chosen["complete"]
CHECK
# By another way: compare over the same values, judged by hand.
expect 0 "" "$lowhiss" compare "$room/open.toml" --knob 0,1 --quiet --json "$room/all.json" \
    --set "R4=4.7k,5.6k,6.8k,8.2k,10k,12k,15k,18k,22k" --set R5=2R2,3R3,4R7,6R8 \
    --set U1=bipolar-low-noise,ne5534a
require python3 - "$room" <<'CHECK'
import json, sys
room = sys.argv[1]
boards = json.load(open(room + "/all.json"))["boards"]
assert len(boards) == 72
good = []
for board in boards:
    low, high = (position["figures"] for position in board["positions"])
    if 59 <= high["gain"] <= 61.5 and high["gain"] - low["gain"] >= 39.5:
        good.append((high["ein"], board["set"]))
chosen = json.load(open(room + "/chosen.json"))
assert chosen["meet_all"] == len(good), (chosen["meet_all"], len(good))
assert abs(min(good)[0] - chosen["best"][0]["aim"]) < 1e-9
CHECK
expect 0 "" "$lowhiss" choose "$room/open.toml" --quiet
require [ ! -s "$room/out" ]
expect 0 '"format": "lowhiss-choose/1"' "$lowhiss" choose "$room/open.toml" --json -
expect 0 "" "$lowhiss" choose "$room/open.toml" --apply "$room/again.toml" --quiet
require grep -q 'based_on = "open.toml"' "$room/again.toml"
expect 2 "would be replaced" "$lowhiss" choose "$room/open.toml" --apply "$room/open.toml"
expect 2 "--apply and --set exclude each other" \
    "$lowhiss" choose "$room/open.toml" --set R6=1k --apply "$room/x.toml"
expect 0 "with R6=1k" "$lowhiss" choose "$room/open.toml" --set R6=1k
expect 2 "has no [choose]" "$lowhiss" choose "$boards/wren.toml"
expect 2 "" "$lowhiss" choose "$room/open.toml" --best 0
sed 's/"59 dB"/"89 dB"/; s/"61.5 dB"/"90 dB"/' "$room/open.toml" >"$room/never.toml"
expect 1 "full gain: met by 0 of 72 sets" "$lowhiss" choose "$room/never.toml" --apply "$room/none.toml"
require grep -q "^Nearest: R4 " "$room/out"
require [ ! -e "$room/none.toml" ]

# More than a million sets are searched, and it says so; the same seed finds the same.
sed '/^\[choose.parts\]/,$d' "$room/open.toml" >"$room/many.toml"
cat >>"$room/many.toml" <<'BOARD'
[choose.parts]
R1 = "E96"
R4 = "E96"
R5 = "E96"
R6 = "E96"
BOARD
expect 0 "SEARCHED from 2 random sets, seed 3" "$lowhiss" choose "$room/many.toml" --starts 2 --seed 3
cp "$room/out" "$room/first"
expect 0 "there may be better ones" "$lowhiss" choose "$room/many.toml" --starts 2 --seed 3
require cmp "$room/out" "$room/first"

# Ctrl-C: the results so far are reported as unfinished, and the command ends by the signal. It is
# sent once the progress line, which is drawn on a terminal only, has counted a set or a start.
cat >"$room/long.toml" <<'BOARD'
[parts]
E1 = { voltage_gain = 1e9, control = ["in", "fb"], pins = ["out", "gnd"] }
R1 = { resistor = "10k", pins = ["out", "fb"] }
R2 = { resistor = "1k", pins = ["fb", "gnd"] }
R3 = { resistor = "1k", pins = ["in", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name    = "gain"
measure = "gain"
min     = "0 dB"
[choose]
least = "output_noise"
[choose.parts]
R1 = "E96"
R2 = "E96"
R3 = "E12"
BOARD
sed 's/R3 = "E12"/R3 = "E96"/' "$room/long.toml" >"$room/longer.toml"
sed 's/"0 dB"/"200 dB"/' "$room/long.toml" >"$room/hopeless.toml"
cat >"$room/interrupt.py" <<'END'
import os, pty, re, signal, subprocess, sys
number, command = int(sys.argv[1]), sys.argv[2:]
terminal, stderr = pty.openpty()
restore = lambda: signal.signal(number, signal.SIG_DFL)  # whoever runs the tests may ignore it
run = subprocess.Popen(command, stderr=stderr, preexec_fn=restore)
os.close(stderr)
seen, sent = b"", False
while True:
    try:
        piece = os.read(terminal, 4096)
    except OSError:  # the other end is closed
        piece = b""
    if not piece:
        break
    seen += piece
    if not sent and re.search(rb"\r[1-9]\d* of \d+ (sets|starts), ", seen):
        run.send_signal(number)
        sent = True
assert sent, seen
assert run.wait() == -number, run.returncode
END
interrupted() { # interrupted NUMBER TEXT OPTION...
    expect 0 "$2" python3 "$room/interrupt.py" "$1" "$lowhiss" choose "${@:3}"
}
interrupted 2 "of 931225; of these, " "$room/long.toml" --boards 20 --json "$room/part.json" \
    --apply "$room/part.toml"
require python3 - "$room" <<'CHECK'
import json, sys
room = sys.argv[1]
part = json.load(open(room + "/part.json"))
assert part["interrupted"] and not part["complete"]
assert 0 < part["computed"] < part["sets"] == 931225, part["computed"]
assert part["meet_all"] == part["computed"] == part["limits"][0]["meet"]
assert len(part["best"]) == min(5, part["computed"]) and "yield" not in part["best"][0]
text = " ".join(open(room + "/out").read().split())
assert f"INTERRUPTED after {part['computed']} of 931225; of these, {part['meet_all']} meet the limit; there may be better ones" in text
applied = open(room + "/part.toml").read()
assert f"It was interrupted after {part['computed']} sets: there may be better ones." in applied
CHECK
expect 0 "1 of 1 limit checks pass" "$lowhiss" check "$room/part.toml" --limits-only
interrupted 15 "INTERRUPTED" "$room/longer.toml" --starts 100000 --json "$room/part.json"
require python3 - "$room" <<'CHECK'
import json, sys
part = json.load(open(sys.argv[1] + "/part.json"))
assert part["interrupted"] and not part["complete"] and part["best"]
assert 0 < part["search"]["starts"] < 100000, part["search"]
CHECK
interrupted 2 "No computed set meets every limit" "$room/hopeless.toml"

# Noise and the source: the table's least noise figure is that of a capsule of the best resistance.
expect 0 "Noise against source resistance" "$lowhiss" sweep "$boards/heron-c.toml" --show source --knob 1
require grep -qE '^ +knob +en +in +corr. +best +NF +NF of' "$room/out"
require bash -c "! LC_ALL=C.UTF-8 grep -E '^.{81}' '$room/out'"
expect 0 "" "$lowhiss" sweep "$boards/heron-c.toml" --knob 1 --quiet --json "$room/source.json"
cat >"$room/best.toml" <<BOARD
[board]
based_on = "$boards/heron-c.toml"
[input]
capsule = "best"
[capsule.best]
kind = "resistive"
resistance = "$(python3 -c "import json; print(json.load(open('$room/source.json'))['runs'][0]['knob'][0]['source']['best_source_ohm'])")"
BOARD
expect 0 "" "$lowhiss" sweep "$room/best.toml" --knob 1 --quiet --json "$room/best.json"
require python3 - "$room" <<'CHECK'
import json, sys
source, best = (json.load(open(f"{sys.argv[1]}/{name}.json"))["runs"][0]["knob"][0] for name in ("source", "best"))
assert abs(source["source"]["least_noise_figure_db"] - best["measures"]["noise_figure_db"]) < 1e-5
figures = {f["source_ohm"]: f["noise_figure_db"] for f in source["source"]["noise_figures"]}
assert min(figures.values()) >= source["source"]["least_noise_figure_db"]
CHECK

# Centre before tightening: the advice can be tried as it is printed, and does what it says.
cat >"$room/off.toml" <<'BOARD'
[parts]
E1 = { voltage_gain = 1e9, control = ["in", "fb"], pins = ["out", "gnd"] }
R2 = { resistor = "10k", pins = ["out", "fb"], tolerance = "5 %" }
R8 = { resistor = "15R", pins = ["fb", "gnd"], tolerance = "5 %" }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "gain"
measure = "gain"
min = "54.9 dB"
max = "55.9 dB"
BOARD
expect 0 "Centre first" "$lowhiss" tolerance "$room/off.toml" --json "$room/off.json"
require grep -q "3.2 sigma above the middle of its bounds" "$room/out"
require grep -q "R2 9.1 kΩ instead of 10 kΩ (E24): 0.8 sigma above" "$room/out"
command=$(sed -n 's/^  to try it: lowhiss //p' "$room/out")
expect 0 "off with R2=9.1 kΩ" bash -c "$lowhiss $command --json $room/centred.json"
require python3 - "$room" <<'CHECK'
import json, sys
off, centred = (json.load(open(f"{sys.argv[1]}/{name}.json")) for name in ("off", "centred"))
assert off["centring"]["yield_then"]["good"] == centred["yield"]["good"] > off["yield"]["good"]
CHECK

exit $failures
