# Sourced by quickstart.sh and tests/run.sh: builds with progress.

# build_with_progress FOLDER [TARGET...]: on a terminal ninja rewrites one line; elsewhere a line every 10 %.
# Compiler messages are printed either way. Returns ninja's exit status.
build_with_progress() {
    local folder=$1
    shift
    if [ -t 1 ] && [ "${TERM:-dumb}" != dumb ]; then
        (cd "$folder" && NINJA_STATUS='lowhiss: building, %f of %t (%p) ' exec ninja "$@")
    else
        echo "lowhiss: building"
        (cd "$folder" && NINJA_STATUS='@progress %f %t ' exec ninja "$@") | print_progress
        return "${PIPESTATUS[0]}"
    fi
}

# Replaces ninja's line for every step by a line for every tenth of the build.
print_progress() {
    local line finished total tenths shown=0
    while IFS= read -r line; do
        if [[ $line != '@progress '* ]]; then
            [ "$line" = "ninja: no work to do." ] || printf '%s\n' "$line"
            continue
        fi
        read -r _ finished total _ <<<"$line"
        tenths=$((10 * finished / total))
        ((tenths > shown)) || continue
        shown=$tenths
        echo "lowhiss: building, $finished of $total (${tenths}0 %)"
    done
}
