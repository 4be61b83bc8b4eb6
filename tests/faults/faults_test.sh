#!/usr/bin/env bash
# Full disks, read-only folders, broken pipes, Ctrl-C, kills in the middle of a write, allocations
# that fail: whatever goes wrong and when, files are whole or as they were, the exit status is right,
# and a message says why. The third argument is the library that makes calls fail (faults.cpp).
source "$(dirname "${BASH_SOURCE[0]}")/../cli/support.sh"
lowhiss=$1 boards=$2/netlists/boards faults=$3
board=$boards/wren.toml
work=$room/work
mkdir "$work"
outputs=(sweep "$board" --quiet --json "$work/x.json" --csv "$work/x.csv")
good=$room/good
mkdir "$good"
"$lowhiss" sweep "$board" --quiet --json "$good/x.json" --csv "$good/x.csv" || exit 1

fresh() {
    if [ -e "$work/x.csv" ] || [ -e "$room/mark" ]; then rm -f "$work"/* "$room/mark"; fi
    echo old >"$work/x.json"
}

# Runs the command with a fault; $status is its exit status.
with_fault() {
    local fault=$1
    shift
    # In a shell of its own, so that this one prints no message about a process that was killed.
    (timeout 60 env LD_PRELOAD="$faults" LOWHISS_FAULT="$fault" LOWHISS_FAULT_MARK="$room/mark" \
        "$@" >"$room/out" 2>"$room/err"; exit) 2>/dev/null
    status=$?
}

failed() {
    echo "FAILED: $*, status $status:"
    head -c 2000 "$room/err"
    ls -l "$work"
    failures=$((failures + 1))
}

# x.json is what it was or what it is to be, x.csv likewise or not there.
files_are_whole() {
    local first
    read -r first <"$work/x.json"
    { [ "$first" = old ] || cmp -s "$work/x.json" "$good/x.json"; } &&
        { [ ! -e "$work/x.csv" ] || cmp -s "$work/x.csv" "$good/x.csv"; }
}

no_litter() {
    local file
    for file in "$work"/{*,.[!.]*}; do
        case $file in "$work/x.json" | "$work/x.csv" | "$work/.[!.]*") ;; *) return 1 ;; esac
    done
}

# Every call that writing takes, the first time, the second and so on until none is left to fail.
tried=0
for fault in "mkstemp EROFS" "mkstemp ENOSPC" "write ENOSPC" "write EIO" "fsync EIO" "fchmod EIO" \
    "close EIO" "rename EIO" "read EIO"; do
    read -r call error <<<"$fault"
    for ((number = 1; ; ++number)); do
        fresh
        with_fault "$call $number $error" "$lowhiss" "${outputs[@]}"
        [ -e "$room/mark" ] || break
        tried=$((tried + 1))
        files_are_whole && no_litter || failed "$fault $number left half a file"
        # The result does not depend on every call: closing a file that was read may fail.
        [ "$status" -eq 0 ] && cmp -s "$work/x.json" "$good/x.json" &&
            cmp -s "$work/x.csv" "$good/x.csv" && continue
        [ "$status" -eq 2 ] && grep -q "^lowhiss: error: \|error: .*cannot read" "$room/err" ||
            failed "$fault $number"
    done
    [ "$status" -eq 0 ] || failed "without a fault"
done
require [ "$tried" -ge 16 ]

# Ctrl-C comes when the file is done.
for ((number = 1; ; ++number)); do
    fresh
    with_fault "write $number INT" "$lowhiss" "${outputs[@]}"
    [ -e "$room/mark" ] || break
    [ "$status" -eq 130 ] && files_are_whole && no_litter || failed "Ctrl-C in write $number"
done
require [ "$number" -ge 3 ]

# A kill may leave a temporary file, but never a part of a file under the name of the output.
for call in mkstemp write fsync fchmod close rename; do
    for ((number = 1; ; ++number)); do
        fresh
        with_fault "$call $number KILL" "$lowhiss" "${outputs[@]}"
        [ -e "$room/mark" ] || break
        [ "$status" -eq 137 ] && files_are_whole || failed "killed in $call $number"
    done
    require [ "$number" -ge 2 ]
done

# The same for a baseline, which must not be lost.
mkdir -p "$room/boards"
cp -r "$boards" "$boards/../models" "$boards/../capsules" "$room/"
kept=$room/boards/wren.baseline
sed -i 's/^\("plain.* ein" = \).*/\1"1 dBu"/' "$kept"
cp "$kept" "$room/before"
for ((number = 1; number < 20; ++number)); do
    cp "$room/before" "$kept"
    rm -f "$room/mark"
    with_fault "write $number ENOSPC" "$lowhiss" check "$room/boards/wren.toml" --record --quiet
    [ -e "$room/mark" ] || break
    [ "$status" -eq 2 ] && grep -q "wren.baseline" "$room/err" && cmp -s "$kept" "$room/before" ||
        failed "recording, write $number"
done
require [ "$number" -ge 2 ]

# Allocations: all of the first ones, then ever fewer; one that fails, and one with all that follow.
allocation_fails() {
    local number=$1 kind=$2
    shift 2
    fresh
    with_fault "malloc $number $kind ENOMEM" "$@"
    [ -e "$room/mark" ] || return 1
    allocations=$((allocations + 1))
    files_are_whole && no_litter || failed "allocation $number $kind left half a file: $*"
    case $status in
        0) ;; # one that somebody can do without
        2) [[ $(<"$room/err") == *"error: "* ]] || failed "allocation $number $kind: no message: $*" ;;
        *) failed "allocation $number $kind: $*" ;;
    esac
}
allocations=0
for command in "sweep $board --quiet --json $work/x.json --csv $work/x.csv" \
    "check $boards/heron-d.toml --quiet" "tolerance $board --boards 3 --quiet" \
    "inspect $board" "supply $boards/heron-d.toml" "compare $board $boards/tern.toml --knob 1" \
    "report $board --output $work/x.csv" "describe man" "sweep $board --variant none"; do
    read -ra words <<<"$command"
    fresh
    "$lowhiss" "${words[@]}" >"$room/out" 2>"$room/err"
    rm -f "$good"/* && cp "$work"/* "$good"
    for kind in once ""; do
        for ((number = 1, step = 1; ; number += step, step = 1 + number / 4)); do
            allocation_fails $number "$kind" "$lowhiss" "${words[@]}" || break
        done
    done
done
require [ "$allocations" -ge 500 ]

# Broken pipes: the signal ends the command as it ends others; if the signal is ignored, there is a
# message.
"$lowhiss" sweep "$board" --json - 2>"$room/err" | head -c 1 >/dev/null
codes=("${PIPESTATUS[@]}")
require [ "${codes[0]}" -eq 141 ]
expect 2 "standard output" bash -c 'trap "" PIPE; "$0" sweep "$1" --json - | head -c 1 >/dev/null
    exit ${PIPESTATUS[0]}' "$lowhiss" "$board"

# A disk that is really full, and one that is really read-only, if this machine allows mounting
# them.
mkdir "$room/disk"
if [ "$(id -u)" -eq 0 ] && mount -t tmpfs -o size=16k tmpfs "$room/disk" 2>/dev/null; then
    trap 'umount "$room/disk"; rm -rf "$room"' EXIT
    echo old >"$room/disk/x.json"
    expect 2 "No space left on device" "$lowhiss" sweep "$board" --quiet --json "$room/disk/x.json"
    require [ "$(ls -A "$room/disk")" = x.json ]
    require [ "$(cat "$room/disk/x.json")" = old ]
    mount -o remount,ro "$room/disk"
    expect 2 "Read-only file system" "$lowhiss" sweep "$board" --quiet --json "$room/disk/x.json"
    require [ "$(cat "$room/disk/x.json")" = old ]
fi
if [ "$(id -u)" -ne 0 ]; then
    chmod 555 "$work"
    expect 2 "Permission denied" "$lowhiss" sweep "$board" --quiet --json "$work/y.json"
    chmod 755 "$work"
fi

echo "$tried failing calls, $allocations failing allocations"
exit $((failures > 0))
