# Sourced by the shell tests: a room that goes away, and two ways to be disappointed.
set -uo pipefail
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
unset CI
failures=0
streams=("$room/out" "$room/err") # where expect looks for its text

# expect STATUS TEXT COMMAND...: the status it ends with, and a text that it prints there.
expect() {
    local status=$1 text=$2 got
    shift 2
    "$@" >"$room/out" 2>"$room/err"
    got=$?
    if [ $got -ne "$status" ] || ! grep -qF -- "$text" "${streams[@]}"; then
        [ -z "$text" ] && [ $got -eq "$status" ] && return
        echo "FAILED: $* gave status $got, expected $status and '$text':"
        cat "$room/out" "$room/err"
        failures=$((failures + 1))
    fi
}

require() {
    "$@" && return
    echo "FAILED: $*"
    failures=$((failures + 1))
}
