#!/usr/bin/env bash
# Input that is too large, too deep, too long or not a file gets a message, within bounded memory.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1
cp -r "$2/netlists" "$room/netlists"
boards=$room/netlists/boards
# The documented bound, with room for libraries and stacks that are mapped but not used.
[ -n "${LOWHISS_SANITIZED:-}" ] || ulimit -v $((1500 * 1024))

# ladder PARTS CAPACITANCE: as many resistors and capacitors in a row.
ladder() {
    printf '[input]\nplus = "n0"\n[output]\nplus = "n%d"\n[parts]\n' $(($1 / 2))
    awk -v n=$(($1 / 2)) -v c="$2" 'BEGIN { for (k = 0; k < n; ++k) {
        printf "R%d = { resistor = \"1k\", pins = [\"n%d\", \"n%d\"] }\n", k, k, k + 1
        printf "C%d = { capacitor = \"%s\", pins = [\"n%d\", \"gnd\"] }\n", k, c, k + 1 } }'
}
# times COUNT TEXT
times() {
    awk -v n="$1" -v text="$2" 'BEGIN { for (k = 0; k < n; ++k) printf "%s", text }'
}

# A board of 100,000 parts is refused, of 2000 solved.
ladder 100000 1n >"$room/parts.toml"
expect 2 "larger than 4 MiB" "$lowhiss" sweep "$room/parts.toml"
ladder 70000 1n >"$room/parts.toml"
expect 2 "there are 70000 entries" "$lowhiss" sweep "$room/parts.toml"
# With 1n it attenuates by 500 dB, so that each gain is proven in extended precision: one command is
# enough for that.
ladder 2000 1n >"$room/parts.toml"
expect 0 "" "$lowhiss" sweep "$room/parts.toml" --quiet
ladder 2000 1p >"$room/parts.toml"
expect 0 "C999" "$lowhiss" inspect "$room/parts.toml"
for command in sweep check supply; do
    expect 0 "" "$lowhiss" $command "$room/parts.toml" --quiet
done
expect 0 "" "$lowhiss" tolerance "$room/parts.toml" --boards 2 --quiet
expect 0 "" "$lowhiss" report "$room/parts.toml" --quiet --output "$room/page.html"

# A file of 1 GB, and many small files.
truncate -s 1G "$room/large.toml"
expect 2 "larger than 4 MiB" "$lowhiss" sweep "$room/large.toml"
expect 2 "larger than 389 MiB" "$lowhiss" tolerance --merge "$room/large.toml"
truncate -s 380M "$room/zeros.shard"
expect 2 "is not a result" "$lowhiss" tolerance --merge "$room/zeros.shard"
{
    printf '[capsule.large]\nkind = "measured"\nfile = "../../large.toml"\n'
    cat "$boards/wren.toml"
} >"$boards/capsule.toml"
expect 2 "larger than 4 MiB" "$lowhiss" sweep "$boards/capsule.toml"
for k in 1 2 3; do times 1500000 "#" >"$room/library$k.toml"; done
printf '[board]\ninclude = ["library1.toml", "library2.toml", "library3.toml"]\n' >"$room/many.toml"
expect 2 "the files of this board exceed 4 MiB" "$lowhiss" sweep "$room/many.toml"

# A line of 10 MB makes the file too large. A line of 3 MB: a text, a number, a wrong word, a list. No
# message repeats it.
times 10000000 y >"$room/word.toml"
expect 2 "larger than 4 MiB" "$lowhiss" sweep "$room/word.toml"
{
    printf '[board]\nname = "'
    times 3000000 x
    printf '"\n'
} >"$room/text.toml"
expect 2 "there is no [output]" "$lowhiss" sweep "$room/text.toml"
{
    printf '[parts]\nR1 = { resistor = "'
    times 3000000 9
    printf '", pins = ["in", "out"] }\n[input]\nplus = "in"\n[output]\nplus = "out"\n'
} >"$room/number.toml"
expect 2 "R1" "$lowhiss" sweep "$room/number.toml"
times 3000000 y >"$room/word.toml"
expect 2 "word.toml:1" "$lowhiss" sweep "$room/word.toml"
require [ "$(stat -c %s "$room/err")" -lt 10000 ]
{
    printf '[board]\nremove = ['
    times 700000 '"R",'
    printf ']\n'
} >"$room/list.toml"
expect 2 "there are 700000 entries" "$lowhiss" sweep "$room/list.toml"
require [ "$(stat -c %s "$room/err")" -lt 10000 ]
{
    printf 'frequency,real,imaginary\n'
    times 3000000 1
} >"$room/large.csv"
sed 's/large.toml/large.csv/' "$boards/capsule.toml" >"$boards/csv.toml"
expect 2 "large.csv" "$lowhiss" sweep "$boards/csv.toml"
require [ "$(stat -c %s "$room/err")" -lt 10000 ]

# A thousand files, each of which names the next.
for key in include based_on; do
    for k in $(seq 1000); do
        next="next$((k + 1)).toml"
        [ $key = include ] && next="[\"$next\"]" || next="\"$next\""
        printf '[board]\n%s = %s\n' $key "$next" >"$room/next$k.toml"
    done
    expect 2 "more than 100 levels deep" "$lowhiss" sweep "$room/next1.toml"
done

# Results that would not fit into memory, and the largest ones that are accepted.
expect 2 "million numbers" "$lowhiss" sweep "$boards/heron-c.toml" --per-decade 10000 \
    --from 1nHz --to 1GHz --json "$room/x.json"
expect 2 "million numbers" "$lowhiss" sweep "$boards/heron-c.toml" --variant all --per-decade 10000 \
    --knob "$(seq -s, 0 0.002 1)" --json "$room/x.json"
expect 2 "up to 1000" "$lowhiss" sweep "$boards/heron-c.toml" --knob "$(seq -s, 0 0.0005 1)"
require [ ! -e "$room/x.json" ]
expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --quiet --knob 1 --per-decade 8000 --json "$room/x.json"
{
    cat "$boards/wren.toml"
    printf '[variants]\n'
    for k in $(seq 1900); do printf 'v%d = { summary = "s" }\n' "$k"; done
} | sed "s/^positions = .*/positions = [$(seq -s, 0 0.01 1)]/" >"$boards/settings.toml"
expect 2 "verdicts" "$lowhiss" check "$boards/settings.toml"
sed "s/^positions = .*/positions = [$(seq -s, 0 0.001 1)]/" "$boards/wren.toml" >"$boards/positions.toml"
expect 2 "too many" "$lowhiss" tolerance "$boards/positions.toml" --boards 1000000

# Folders and devices in place of files.
mkfifo "$room/fifo"
for path in /dev/zero "$room/fifo" "$room"; do
    for command in sweep check inspect supply report; do
        page=()
        [ $command = report ] && page=(--output "$room/page.html")
        expect 2 "cannot read" timeout 10 "$lowhiss" $command "$path" "${page[@]}"
    done
    expect 2 "$path" timeout 10 "$lowhiss" tolerance --merge "$path"
    printf '[board]\ninclude = ["%s"]\n' "$path" >"$room/include.toml"
    expect 2 "cannot read" timeout 10 "$lowhiss" sweep "$room/include.toml"
    sed "s|../../large.toml|$path|" "$boards/capsule.toml" >"$boards/device.toml"
    expect 2 "cannot read" timeout 10 "$lowhiss" sweep "$boards/device.toml"
done
expect 2 "Is a directory" "$lowhiss" sweep "$boards/wren.toml" --quiet --json "$room"
expect 0 "" "$lowhiss" sweep "$boards/wren.toml" --quiet --json /dev/null

exit $((failures > 0))
