#!/usr/bin/env bash
# A tolerance run in shards is bit for bit the single run; an interrupted one is the beginning of
# it; a merge that is refused says why; any damaged file gives status 2.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 boards=$2/netlists/boards
cd "$room" || exit 1
cp -r "$2/netlists/." .
# seal FILE: gives it the checksum that it should have, CRC-64 as in series_result.hpp.
seal() {
    python3 - "$1" <<'END'
import sys
content = open(sys.argv[1], "rb").read()
if len(content) > 9 and content[-9] == 0xCF:
    content = content[:-9]
table = []
for byte in range(256):
    for _ in range(8):
        byte = byte >> 1 ^ (0xC96C5795D7870F42 if byte & 1 else 0)
    table.append(byte)
crc = 2**64 - 1
for byte in content:
    crc = crc >> 8 ^ table[(crc ^ byte) & 255]
open(sys.argv[1], "wb").write(content + b"\xcf" + (crc ^ 2**64 - 1).to_bytes(8, "big"))
END
}
board=boards/heron-b.toml # has limits that fail, a condenser variant, included models

# Merged in any order, from one core or all, the report is the one of a single run.
series=("$board" --variant inverted --boards 20 --first 7 --seed 3 --spread normal)
expect 0 "" "$lowhiss" tolerance "${series[@]}" --json single.json
cp out single.txt
for k in 1 2; do
    expect 0 "shard $k of 3: " "$lowhiss" tolerance "${series[@]}" --shard $k/3 --result $k.shard
done
expect 0 "shard 3 of 3: 7 boards from board 20, written to 3.shard" \
    taskset -c 0 "$lowhiss" tolerance "${series[@]}" --shard 3/3 --result 3.shard
for order in "1 2 3" "3 1 2" "2 3 1"; do
    files=()
    for k in $order; do files+=($k.shard); done
    expect 0 "" "$lowhiss" tolerance --merge "${files[@]}" --json merged.json
    require cmp single.json merged.json
    require cmp single.txt out
done
expect 1 "" "$lowhiss" tolerance --merge {1,2,3}.shard --least-yield 0.5
expect 0 "" "$lowhiss" tolerance "${series[@]}" --result whole.shard --quiet
expect 0 "" "$lowhiss" tolerance --merge whole.shard
require cmp single.txt out

# The same shard is the same file, on one core too, and from another folder's copy of the board.
expect 0 "" taskset -c 0 "$lowhiss" tolerance "${series[@]}" --shard 2/3 --result again.shard
require cmp 2.shard again.shard
mkdir elsewhere
cp -r "$2/netlists/." elsewhere
series[0]=elsewhere/boards/heron-b.toml
expect 0 "" "$lowhiss" tolerance "${series[@]}" --shard 2/3 --result moved.shard
expect 0 "" "$lowhiss" tolerance --merge 3.shard moved.shard 1.shard --json merged.json
require cmp single.json merged.json
series[0]=$board

# The old name of --spread is accepted with a note.
expect 0 "note: --straying is now --spread normal" "$lowhiss" tolerance "$board" --variant inverted \
    --boards 20 --first 7 --seed 3 --straying normal --shard 2/3 --result old.shard
require cmp 2.shard old.shard
expect 0 "note: --straying is now --spread uniform" "$lowhiss" tolerance "$board" --boards 2 --straying=even

# Shards that do not belong together.
streams=("$room/err")
merge=("$lowhiss" tolerance --merge)
expect 2 "1 of 3 shards missing: 2; accepted: all shards" "${merge[@]}" 1.shard 3.shard
expect 2 "2 of 3 shards missing: 1, 3;" "${merge[@]}" 2.shard
expect 2 "'1.shard' and './1.shard' are both shard 1 of 3" "${merge[@]}" 1.shard ./1.shard {2,3}.shard
other() { # other EXPECTED OPTION...: shard 2 computed with other options
    local text=$1
    shift
    "$lowhiss" tolerance "$@" --result other.shard --quiet
    expect 2 "$text" "${merge[@]}" 1.shard other.shard 3.shard
}
start=(--first 7 --shard 2/3) inverted=("$board" --variant inverted)
normal=(--seed 3 --spread normal)
other "'other.shard' is from a run with seed 4 and normal spread, '1.shard' from a run with seed 3 and normal spread; accepted: the shards of one run" \
    "${inverted[@]}" --boards 20 "${start[@]}" --seed 4 --spread normal
other "'other.shard' is from a run with seed 3 and uniform spread" "${inverted[@]}" --boards 20 "${start[@]}" --seed 3
other "is from a run of the plain board, '1.shard' from a run of variant inverted" "$board" --boards 20 "${start[@]}" "${normal[@]}"
other "is from a run of 21 boards from board 7, '1.shard' from a run of 20 " "${inverted[@]}" --boards 21 "${start[@]}" "${normal[@]}"
other "is from a run in 4 shards, '1.shard' from a run in 3 " "${inverted[@]}" --boards 20 --first 7 --shard 2/4 "${normal[@]}"
other "'other.shard' and '1.shard' are from different boards: heron-c.toml differs" \
    boards/heron-c.toml --variant inverted --boards 20 "${start[@]}" "${normal[@]}"
sed -i '1i # another remark' elsewhere/models/*.toml
other "are from different boards: " elsewhere/boards/heron-b.toml --variant inverted --boards 20 "${start[@]}" "${normal[@]}"
LC_ALL=C sed 's/\xa7version\xa5[0-9.]*/\xa7version\xa50.0.9/' 2.shard >other.shard
seal other.shard
expect 2 "'other.shard' is from a run by lowhiss 0.0.9, '1.shard' from a run by lowhiss " "${merge[@]}" 1.shard other.shard 3.shard

# Options that exclude each other, and files that must not be overwritten.
expect 2 "BOARD is required" "$lowhiss" tolerance
expect 2 "--merge reads result files" "$lowhiss" tolerance "$board" --merge 1.shard
expect 2 "--merge" "${merge[@]}" 1.shard --boards 20
expect 2 "--merge" "${merge[@]}" 1.shard --seed 3
expect 2 "--shard" "$lowhiss" tolerance "$board" --shard 1/2 --result x --json x.json
expect 2 "add --result FILE" "$lowhiss" tolerance "$board" --shard 1/2
for part in 0/2 3/2 2 /2 2/ 1/2x -1/2 1/99999999999999999999; do
    expect 2 "'$part' is not a shard; accepted: K/N" "$lowhiss" tolerance "$board" --shard=$part --result x
done
expect 2 "no more shards than boards" "$lowhiss" tolerance "$board" --boards 5 --shard 1/6 --result x
expect 2 "would be replaced" "$lowhiss" tolerance "$board" --result ./$board
expect 2 "two outputs" "$lowhiss" tolerance "$board" --result x --json ./x
expect 2 "would be replaced" "${merge[@]}" {1,2,3}.shard --json ./2.shard
expect 2 "accepted: a file name" "$lowhiss" tolerance "$board" --result -
require [ ! -e x ]

# Files that are not results, truncated files, and hostile ones.
refused() { # refused TEXT FILE: with little memory and time
    expect 2 "$1" bash -c 'ulimit -v 1000000; exec timeout 20 "$@"' - "${merge[@]}" "$2"
}
[ -n "${LOWHISS_SANITIZED:-}" ] && refused() { expect 2 "$1" timeout 60 "${merge[@]}" "$2"; }
refused "'none': there is no such file" none
refused "'boards': it is a folder" boards
refused "it is not a plain file" /dev/zero
: >empty
refused "'empty' is empty; accepted: a file written by 'lowhiss tolerance --result'" empty
refused "is not a result of a tolerance run" "$board"
refused "is not a result of a tolerance run" single.json
size=$(stat -c %s 1.shard)
for length in 1 2 100 $((size / 2)) $((size - 1)); do
    head -c "$length" 1.shard >cut.shard
    refused "'cut.shard' is truncated or damaged" cut.shard
done
{ cat 1.shard; echo; } >long.shard
refused "'long.shard' is truncated or damaged" long.shard
{ printf '\x81\xa1a'; head -c 3000000 /dev/zero | tr '\0' '\221'; } >deep.shard # lists in lists
refused "is truncated or damaged" deep.shard
seal deep.shard
refused "is not a result of a tolerance run" deep.shard
{ printf '\xdf\xff\xff\xff\xff'; head -c 3000000 /dev/zero | tr '\0' '\240'; } >wide.shard # one key again
refused "" wide.shard
seal wide.shard
refused "" wide.shard
{ printf '\x81\xa1a\xdd\xff\xff\xff\xff'; head -c 3000000 /dev/zero; } >many.shard # numbers without end
refused "is truncated or damaged" many.shard
seal many.shard
refused "is not a result of a tolerance run" many.shard
printf '\x81\xa1a\xc6\xff\xff\xff\xffabc' >promise.shard # four gigabytes that are not there
refused "is truncated or damaged" promise.shard
seal promise.shard
refused "is not a result of a tolerance run" promise.shard
printf '\x80' >nothing.shard
refused "is truncated or damaged" nothing.shard
seal nothing.shard
refused "'nothing.shard' is damaged: 'format' is not a text" nothing.shard
damaged() { # damaged TEXT SED: one piece of a good file changed, as long as it was
    LC_ALL=C sed "$2" 1.shard >damaged.shard
    cmp -s 1.shard damaged.shard && { echo "FAILED: $2 changes nothing" && failures=$((failures + 1)); }
    refused "is truncated or damaged" damaged.shard
    seal damaged.shard
    refused "'damaged.shard' is damaged: $1" damaged.shard
}
damaged "'format' is not lowhiss-series/3" 's/lowhiss-series.3/lowhiss-series\/1/'
damaged "'seed' is not a whole number" 's/\xa4seed/\xa4sead/'
damaged "'boards' is not from 1 to 1000000" 's/\xa6boards\x14/\xa6boards\x00/'
damaged "'shard' is not from 1 to 3" 's/\xa5shard\x01/\xa5shard\x04/'
damaged "'shards' is not from 1 to 20" 's/\xa6shards\x03/\xa6shards\x15/'
damaged "'done' is not from 1 to 6" 's/\xa4done\x06/\xa4done\x07/'
damaged "'values' is not 5 numbers" 's/\xa4done\x06/\xa4done\x05/'
damaged "'measure' is not known to this version of lowhiss" 's/\xa3ein/\xa3eim/'
damaged "the text of 'boards/heron-b.toml' has another checksum" 's/gain leg is 20 ohm/gain leg is 21 ohm/'
damaged "'normal' is not true or false" 's/\xa6normal\xc3/\xa6normal\x01/'

# A byte changed anywhere is a message.
RANDOM=1
size=$(stat -c %s whole.shard)
for ((k = 0; k < 150; ++k)); do
    cp whole.shard changed.shard
    printf -v byte '\\x%x' $((RANDOM % 256))
    printf "$byte" | dd of=changed.shard bs=1 seek=$(((RANDOM * 32768 + RANDOM) % size)) conv=notrunc status=none
    cmp -s whole.shard changed.shard && continue
    timeout 20 "${merge[@]}" changed.shard >/dev/null 2>"$room/err"
    got=$?
    [ $got -eq 2 ] ||
        { echo "FAILED: change $k gave status $got" && failures=$((failures + 1)); }
done

# An interrupted run reports its finished boards, marked: the beginning of the series.
streams=("$room/out" "$room/err")
waits=(1 4 15 60) # seconds; a busy machine needs longer for the first board
interrupt() { # interrupt STATUS SIGNAL BOARDS: waits longer until a board was done before the signal
    local seconds
    rm -f part.json part.shard
    for seconds in "${waits[@]}"; do
        timeout --preserve-status -s "$2" "$seconds" "$lowhiss" tolerance "$board" --boards "$3" \
            --json part.json --result part.shard >"$room/out" 2>"$room/err"
        got=$?
        [ $got -eq "$1" ] || { echo "FAILED: $2 gave status $got" && failures=$((failures + 1)); }
        [ -e part.json ] && return
        # On a busy machine the signal may come before the command has begun to watch for it.
        [ -s "$room/err" ] || continue
        require grep -q "interrupted before the first board was finished; nothing written" "$room/err"
    done
    echo "FAILED: nothing was done in a minute" && failures=$((failures + 1))
}
interrupt 143 TERM 400000
interrupt 130 INT 100000
require grep -qF '"partial": true' part.json
require grep -qF '"boards_asked": 100000' part.json
count=$(sed -n 's/^ "boards": \([0-9]*\),$/\1/p' part.json)
require grep -qF "PARTIAL: interrupted after $count of 100000 boards" out
cp out part.txt
expect 0 "" "$lowhiss" tolerance "$board" --boards "$count" --json beginning.json
require diff <(grep -vE '"(boards_asked|partial)"' part.json) <(grep -vE '"(boards_asked|partial)"' beginning.json)
require diff <(grep -v '^PARTIAL' part.txt) out
expect 0 "PARTIAL: interrupted after $count" "$lowhiss" tolerance --merge part.shard --json merged.json
require cmp part.json merged.json
require cmp part.txt out

# Ctrl-C ends the reader of a pipe as well; the file is written all the same.
for seconds in "${waits[@]}"; do
    timeout -s INT "$seconds" bash -c '"$0" tolerance "$1" --boards 100000 --json piped.json | cat >/dev/null' \
        "$lowhiss" "$board" 2>/dev/null
    for ((k = 0; k < 50; ++k)); do # the shell may be gone before the run is
        [ -e piped.json ] && break 2
        sleep 0.1
    done
done
require grep -qF '"partial": true' piped.json

# Only the last shard may be partial: a gap would follow any other.
cut_short() { # cut_short K/N FILE OPTION...: interrupted, but after its first board
    local seconds
    for seconds in "${waits[@]}"; do
        timeout -s TERM "$seconds" "$lowhiss" tolerance "$board" --shard "$1" --result "$2" "${@:3}" >out 2>err
        [ -e "$2" ] && return
    done
}
cut_short 1/2 half1.shard --boards 100000
require grep -qE "^shard 1 of 2: PARTIAL: [0-9]+ of 50000 boards from board 0, written to half1.shard" out
cut_short 2/2 half2.shard --boards 100000
expect 2 "'half1.shard' is partial: shard 1 of 2 was interrupted after " "${merge[@]}" half2.shard half1.shard
"$lowhiss" tolerance "$board" --boards 101 --shard 1/2 --result first.shard --quiet
cut_short 2/2 last.shard --boards 101 # it may be done before: then it is whole
expect 0 "" "${merge[@]}" last.shard first.shard --json part.json
count=$(sed -n 's/^ "boards": \([0-9]*\),$/\1/p' part.json)
expect 0 "" "$lowhiss" tolerance "$board" --boards "$count" --json beginning.json
require diff <(grep -vE '"(boards_asked|partial)"' part.json) <(grep -vE '"(boards_asked|partial)"' beginning.json)

# Progress is shown on a terminal only, in one line that is rewritten and then cleared.
on_terminal() { # on_terminal SECONDS OPTION...: what is drawn there meanwhile, a line each time
    TERM=xterm script -qec "timeout --foreground -s INT $1 '$lowhiss' tolerance '$board' \
        --boards 100000 ${*:2} >/dev/null" typescript >/dev/null </dev/null
    grep -v '^Script ' typescript | tr '\r' '\n' >drawn
}
if command -v script >/dev/null; then
    for seconds in 1 3 10 60; do
        on_terminal $seconds
        [ "$(grep -c ' boards, ' drawn)" -ge 2 ] && break
    done
    require grep -qE $'^[0-9]+ of 100000 boards, 0 %, (1 s|[0-9]+ min|[0-9]+ h [0-9]+ min) left\e\\[K$' drawn
    require [ "$(grep -c ' boards, ' drawn)" -le $((4 * seconds)) ]
    require [ "$(grep -v '^$' drawn | tail -1)" = $'\e[K' ]
    on_terminal $seconds --quiet
    require [ "$(grep -c ' boards, ' drawn)" -eq 0 ]
fi
expect 0 "" "$lowhiss" tolerance "$board" --boards 101 --quiet
require [ ! -s err ]
exit $((failures > 0))
