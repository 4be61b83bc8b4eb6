# Sourced by the shell tests: a scratch folder, and two kinds of expectations.
set -uo pipefail
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
unset CI
failures=0
streams=("$room/out" "$room/err") # the streams that expect searches

# expect STATUS TEXT COMMAND...: the exit status, and a text that must be printed.
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
