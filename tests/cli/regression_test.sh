#!/usr/bin/env bash
# `check` as CI runs it: the demo boards, a chain of revisions, and everything that can go wrong.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 boards=$2/netlists/boards

ci=(env CI=true "$lowhiss" check)

# The demo boards have not drifted from their baselines; only revisions A and B of Heron, which are
# meant to, fail limits.
expect 1 "of 321 figures drifted" "${ci[@]}" "$boards"/*.toml --junit "$room/demo.xml"
require [ "$(grep -c 'type="drift"' "$room/demo.xml")" -eq 0 ]
require [ "$(grep -c '<error' "$room/demo.xml")" -eq 0 ]
require [ "$(grep -oE '[a-z-]+\.toml" tests="[0-9]+" failures="[1-9]' "$room/demo.xml" |
    cut -d'"' -f1 | tr '\n' ' ')" = "heron-a.toml heron-b.toml " ]
expect 0 "0 of 321 figures drifted" "${ci[@]}" "$boards/heron-c.toml"

# One board file along its revisions, its baseline in the same folder: B breaks what A had recorded,
# C repairs it and is accepted.
cp -r "$2/netlists" "$room/netlists"
cd "$room/netlists/boards" || exit 1
rm -f ./*.baseline
revise() { cp "heron-$1.toml" heron.toml; }
revise c
expect 0 "  no baseline; to create it" "$lowhiss" check heron.toml
expect 1 "FAIL    no baseline" "${ci[@]}" heron.toml
expect 2 "CI is set: baseline not updated" "${ci[@]}" heron.toml --record
require [ ! -e heron.baseline ]
expect 0 "321 figures, 321 new" "$lowhiss" check heron.toml --record
expect 0 "is up to date" "$lowhiss" check heron.toml --record
expect 0 "0 of 321 figures drifted" "${ci[@]}" heron.toml
revise b
expect 1 "FAIL    hiss at full gain" "${ci[@]}" heron.toml --junit junit.xml --json check.json
require grep -qF "DRIFT   ein: plain, dynamic-200, knob 100 %" "$room/out"
require grep -qF "R4 changed: resistor 22 Ω -> resistor 330 Ω" "$room/out"
require grep -qF "R3 added: resistor 1 kΩ" "$room/out"
require [ "$(grep -c 'type="limit"' junit.xml)" -eq 1 ]
require [ "$(grep -c 'type="drift"' junit.xml)" -gt 20 ]
require grep -q '"state": "compared"' check.json
require [ "$(grep -o 'classname="[^"]*" name="[^"]*"' junit.xml | sort | uniq -d | wc -l)" -eq 0 ]
require [ "$(grep -c '<testcase' junit.xml)" -eq "$(grep -oE 'tests="[0-9]+"' junit.xml | tr -dc 0-9)" ]
revise c
expect 0 "7 of 7 limit checks pass" "${ci[@]}" heron.toml

# --limits-only ignores baselines; a changed figure is accepted on purpose.
revise b
expect 1 "3 of 4 limit checks pass" "${ci[@]}" heron.toml --limits-only
require [ "$(grep -c drifted "$room/out")" -eq 0 ]
expect 1 "ACCEPT  ein: plain" "$lowhiss" check heron.toml --record
expect 2 "exclude each other" "$lowhiss" check heron.toml --record --limits-only
expect 1 "3 of 4 limit checks pass" "${ci[@]}" heron.toml
require grep -qF "0 of 321 figures drifted" "$room/out"

# A knob position that no longer exists: a note outside CI, a failure in CI.
expect 0 "" "$lowhiss" check wren.toml --record
sed -i 's/positions = \[0.0, 0.25,/positions = [0.0, 0.3,/' wren.toml
expect 0 "GONE    plain, electret-2k2, knob 0.25: 21 figures, only in the baseline" \
    "$lowhiss" check wren.toml
require grep -qF "NEW     plain, electret-2k2, knob 0.3: 21 figures, not in the baseline" "$room/out"
require [ "$(grep -cE '^  (NEW|GONE) ' "$room/out")" -eq 2 ]
expect 1 "GONE" "${ci[@]}" wren.toml
expect 0 "21 new, 21 gone" env CI=true "$lowhiss" check wren.toml --record --force
expect 0 "0 of 107 figures drifted" "${ci[@]}" wren.toml
expect 0 "  no baseline; to create it" env CI=false "$lowhiss" check tern.toml

# An unusable baseline is an error, and is overwritten by --record --force only.
for slip in 's/baseline\/1/baseline\/9/' 's/^\[figures\]/[figures/' 's/"none"/"nine"/'; do
    "$lowhiss" check heron-c.toml --record --quiet
    sed -i "$slip" heron-c.baseline
    cp heron-c.baseline kept
    expect 2 "heron-c.baseline:" "$lowhiss" check heron-c.toml --junit junit.xml
    require grep -qF "7 of 7 limit checks pass" "$room/out"
    require grep -qF 'type="unusable"' junit.xml
    expect 2 "heron-c.baseline" "$lowhiss" check heron-c.toml --record
    require cmp kept heron-c.baseline
    require grep -qF "to replace it:" "$room/out"
    require grep -qF "lowhiss check heron-c.toml --record --force" "$room/out"
    expect 0 "written over one that was unusable: 321 figures" \
        "$lowhiss" check heron-c.toml --record --force
    require [ ! -s "$room/err" ]
    expect 0 "0 of 321 figures drifted" "${ci[@]}" heron-c.toml
    rm heron-c.baseline
done

# A merge conflict in a baseline is named as one; --record writes over it, but in CI only by force.
"$lowhiss" check heron-c.toml --record --quiet
cp heron-c.baseline kept
awk '/ein" = /&& !done { print "<<<<<<< ours"; print; print "======="; print; print ">>>>>>> theirs"
    done = 1; next } { print }' kept >heron-c.baseline
expect 2 "error: baseline: there is an unresolved merge conflict from line" "$lowhiss" check heron-c.toml
require grep -qF "the baseline heron-c.baseline has a merge conflict; merge the board file, then:" "$room/out"
require grep -qxF "          lowhiss check heron-c.toml --record" "$room/out"
require grep -qxF "1 board: has an unusable baseline" "$room/out"
expect 2 "CI is set" "${ci[@]}" heron-c.toml --record
expect 0 "written over one with a merge conflict: 321 figures" "$lowhiss" check heron-c.toml --record
require cmp kept heron-c.baseline

# One small change of a resistor: few lines of the baseline differ.
sed 's/R1 = { resistor = "47k"/R1 = { resistor = "47k5"/' heron-a.toml >nudged.toml
require [ "$(cmp -s heron-a.toml nudged.toml; echo $?)" -eq 1 ]
"$lowhiss" check heron-a.toml --record --quiet >"$room/out"
mv heron-a.baseline kept
cp heron-a.toml whole.toml && cp nudged.toml heron-a.toml
"$lowhiss" check heron-a.toml --record --quiet >"$room/out"
require [ "$(diff kept heron-a.baseline | grep -c '^>')" -le 60 ]
require [ "$(diff kept heron-a.baseline | grep -c '^> R1 = ')" -eq 1 ]
mv whole.toml heron-a.toml
rm nudged.toml heron-a.baseline heron-c.baseline
mkdir heron-c.baseline
expect 2 "it is a folder" "$lowhiss" check heron-c.toml --record
rmdir heron-c.baseline

# A dangling link as a baseline is an error; the other boards are recorded.
ln -s "$room/gone/x" linked.baseline 2>/dev/null
cp wren.toml linked.toml
expect 2 "linked.baseline" "$lowhiss" check linked.toml heron-c.toml --record
require [ -s heron-c.baseline ]
rm -f linked.* heron-c.baseline

# No output replaces what is read, or another output.
expect 2 "would be replaced" "$lowhiss" check tern.toml --json ./tern.toml
expect 2 "would be replaced" "$lowhiss" check wren.toml --junit wren.baseline
expect 2 "two outputs" "$lowhiss" check tern.toml --json x.out --junit ./x.out
expect 2 "would be replaced" "$lowhiss" compare tern.toml wren.toml --json wren.toml
expect 2 "would be replaced" "$lowhiss" sweep tern.toml --csv tern.toml
require [ ! -e x.out ]

# The table is printed even if a file cannot be written.
expect 2 "321 figures, 321 new" "$lowhiss" check heron-c.toml --record --json "$room/none/x.json"
rm heron-c.baseline

# Assemblies without gain, names like those of tables, and an allowance below the rounding.
cat >odd.toml <<'BOARD'
[capsule.a]
kind = "resistive"
resistance = "200"
[capsule."a, c"]
kind = "resistive"
resistance = "300"
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
RV1 = { potentiometer = "1k", pins = ["gnd", "out", "out"] }
[input]
plus = "in"
capsule = "a"
[output]
plus = "out"
[knob]
part = "RV1"
[variants.input]
capsule = "a, c"
[variants.mute]
set = { R1 = { resistor = "1k", fitted = false, pins = ["in", "out"] } }
[drift]
ein = 0
high_corner = 0
[[limit]]
name = "range"
measure = "gain_range"
variant = "mute"
max = "40 dB"
BOARD
expect 3 "the figure does not exist here" "$lowhiss" check odd.toml --record
expect 3 "0 of 321 figures drifted" "${ci[@]}" odd.toml
require [ "$(grep -c 'changes since' "$room/out")" -eq 0 ]

# One broken board of several: the others are checked and recorded.
echo "[parts" >broken.toml
expect 2 "broken.toml:1:" "$lowhiss" check broken.toml tern.toml --record
require [ -s tern.baseline ]
require [ ! -e broken.baseline ]
require [ "$(find . -name '*.baseline.*' | wc -l)" -eq 0 ]

# A board without a unique solution has no figures to record.
cat >floating.toml <<'BOARD'
[parts]
R1 = { resistor = "1k", pins = ["in", "gnd"] }
R2 = { resistor = "1k", pins = ["in", "out"] }
R3 = { resistor = "1k", pins = ["lost_a", "lost_b"] }
[input]
plus = "in"
[output]
plus = "out"
BOARD
expect 3 "ERROR" "$lowhiss" check floating.toml --record
require [ ! -e floating.baseline ]

# Every message that a CI server shows, word for word.
cat >small.toml <<'BOARD'
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "loss"
measure = "gain"
min = "-6 dB"
[[limit]]
name = "quiet & small"
measure = "noise_figure"
max = "3 dB"
BOARD
"$lowhiss" check small.toml --record --quiet >"$room/out"
sed -i 's/R2 = { resistor = "1k"/R2 = { resistor = "1k1"/' small.toml
"$lowhiss" check small.toml --quiet --junit - 2>"$room/err" |
    grep -A1 -E '"limit: quiet|"baseline: gain: ' >got.txt
cat >wanted.txt <<'WANTED'
  <testcase classname="small.toml" name="limit: quiet &amp; small: plain">
   <error message="the figure does not exist here: the source has no thermal noise" type="not computed">the figure does not exist here: the source has no thermal noise</error>
--
  <testcase classname="small.toml" name="baseline: gain: plain">
   <failure message="drift: -5.615 dB, was -6.020 dB; changed by 0.40 dB, allowed 0.05 dB; changes since the baseline: R2 changed: resistor 1 kΩ -> resistor 1.1 kΩ" type="drift">drift: -5.615 dB, was -6.020 dB; changed by 0.40 dB, allowed 0.05 dB; changes since the baseline: R2 changed: resistor 1 kΩ -&gt; resistor 1.1 kΩ</failure>
WANTED
require diff wanted.txt got.txt
sed -i 's/R2 = { resistor = "1k1"/R2 = { resistor = "910"/' small.toml
"$lowhiss" check small.toml --quiet --limits-only --junit - 2>"$room/err" | grep -A1 'loss' >got.txt
cat >wanted.txt <<'WANTED'
  <testcase classname="small.toml" name="limit: loss: plain">
   <failure message="FAIL: gain -6.44 dB at 1 kHz, limit at least -6.00 dB; main parts: R1, R2" type="limit">FAIL: gain -6.44 dB at 1 kHz, limit at least -6.00 dB; main parts: R1, R2</failure>
WANTED
require diff wanted.txt got.txt

# The whole command is given to accept a change, in words that a shell reads back.
cp small.toml "it's small.toml"
"$lowhiss" check "it's small.toml" --record --quiet >"$room/out"
sed -i 's/R2 = { resistor = "910"/R2 = { resistor = "820"/' "it's small.toml"
"$lowhiss" check "it's small.toml" >"$room/out"
command=$(sed -n 's/^  to accept this: lowhiss/"$lowhiss"/p' "$room/out")
require [ "$command" = "\"\$lowhiss\" check 'it'\\''s small.toml' --record" ]
eval "$command" >"$room/out"
expect 3 "0 of 21 figures drifted" "$lowhiss" check "it's small.toml"
rm "it's small.toml" "it's small.baseline"

# A limit that does not apply is printed once, with its reason. Of several boards, what does not
# pass is repeated at the end; the last line sums up; --quiet prints only that, and a word for
# status 3.
printf '[[limit]]\nname = "loud"\nmeasure = "max_input"\nmin = "-20 dBu"\n' >>wren.toml
"$lowhiss" check wren.toml heron-b.toml tern.toml --record --quiet >"$room/out"
expect 3 "ERROR   loud: plain, electret-2k2, knob 0 %; and 4 more" \
    "$lowhiss" check wren.toml heron-b.toml tern.toml broken.toml
require [ "$(grep -c 'the figure does not exist here: the board has no amplifier' "$room/out")" -eq 2 ]
require [ "$(tail -n 1 "$room/out")" = \
    "4 boards: 1 passes, 1 fails, 1 could not be read, 1 could not be computed" ]
sed -n '/^Failures$/,$p' "$room/out" >again
require grep -qF "FAIL    hiss at full gain: inverted, dynamic-200, knob 100 %" again
require grep -qF "not checked: the board could not be read" again
require [ "$(grep -c PASS again)" -eq 0 ]
expect 3 "" "$lowhiss" check wren.toml heron-b.toml tern.toml broken.toml --quiet
require diff <(tail -n +3 again) "$room/out"
expect 3 "ERROR   loud" "$lowhiss" check wren.toml --quiet
require [ "$(tail -n 1 "$room/out")" = "1 board: could not be computed" ]
expect 3 "ERROR   loud" "$lowhiss" check wren.toml --quiet --json -
require grep -qF "ERROR   loud" "$room/err"
expect 0 "" "$lowhiss" check tern.toml --quiet
require [ ! -s "$room/out" ]
require [ ! -s "$room/err" ]

# A new variant is one line.
"$lowhiss" check tern.toml --record --quiet
printf '[variants."a, b"]\nset = { R4 = "11k" }\n' >>tern.toml
expect 1 "NEW     a, b, resistive-600: " "${ci[@]}" tern.toml
require [ "$(grep -c '^  NEW ' "$room/out")" -eq 1 ]

# The table for a pull request. A row has five cells, whatever is in a name.
cat >marks.toml <<'BOARD'
[board]
name = "<b>|*x*_y_`z`[a](b)#1 @me\\"
[parts]
"R|1" = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "loss | <i>"
measure = "gain"
min = "-6 dB"
BOARD
"$lowhiss" check marks.toml --record --quiet >"$room/out"
sed -i 's/"R|1" = { resistor = "1k"/"R|1" = { resistor = "1k1"/' marks.toml
expect 3 "" "$lowhiss" check marks.toml tern.toml broken.toml wren.toml --summary summary.md
cat >wanted.txt <<'WANTED'
**lowhiss check: 4 boards: 1 passes, 1 fails, 1 could not be read, 1 could not be computed**

| board | result | limits | moved from the baseline | parts changed |
| --- | --- | --- | --- | --- |
WANTED
require diff wanted.txt <(head -n 4 summary.md)
require grep -qF '| &#60;b&#62;&#124;&#42;x&#42;&#95;y&#95;&#96;z&#96;&#91;a&#93;(b)&#35;1 &#64;me&#92; | **FAIL** | 0 of 1 pass<br>loss &#124; &#60;i&#62;: plain: gain -6.44 dB at 1 kHz, limit at least -6.00 dB | gain: plain: -6.020 dB -&#62; -6.445 dB<br>' summary.md
require grep -qF 'R&#124;1 changed: resistor 1 kΩ -&#62; resistor 1.1 kΩ |' summary.md
require grep -qF '| **cannot be read** |' summary.md
require grep -qF '| **cannot be computed** | ' summary.md
require [ "$(tail -n +3 summary.md | awk -F'|' 'NF != 7' | wc -l)" -eq 0 ]
expect 2 "two outputs" "$lowhiss" check tern.toml --summary x.out --junit ./x.out
expect 2 "would be replaced" "$lowhiss" check tern.toml --summary tern.baseline
expect 0 "**lowhiss check: 1 board: passes**" "$lowhiss" check heron-c.toml --summary -

# The order of the output does not depend on the number of cores.
"$lowhiss" check heron-c.toml wren.toml curlew.toml bittern.toml --json one.json --quiet >"$room/out"
taskset -c 0 "$lowhiss" check heron-c.toml wren.toml curlew.toml bittern.toml --json two.json --quiet >"$room/out"
require cmp one.json two.json

exit $((failures > 0))
