#!/bin/sh
# Writes values/<board>.json and values/<board>@<variant>.json for every board of the demo.
# Usage: make.sh [BOARD.toml ...]
set -eu
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$here/values"
[ $# -gt 0 ] || set -- "$here"/../../netlists/boards/*.toml

write() {  # file, options...
    file=$here/values/$1
    shift
    /usr/bin/python3 "$here/reference.py" "$@" > "$file.part"
    mv "$file.part" "$file"
    echo "$file"
}

for board; do
    name=$(basename "$board" .toml)
    write "$name.json" "$board"
    for variant in $(/usr/bin/python3 "$here/reference.py" "$board" --list); do
        write "$name@$variant.json" "$board" --variant "$variant"
    done
done
