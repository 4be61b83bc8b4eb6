#!/usr/bin/env bash
# No stage of the engine includes a later one; the engine knows nothing of the command; the rooms of the
# command have an order too.
set -euo pipefail
cd "$1"
mapfile -t stages < <(tr -d "\n" <engine/CMakeLists.txt | sed "s/.*set(stages \([^)]*\)).*/\1/" | tr -s " " "\n")

[ ${#stages[@]} -ge 14 ] || { echo "engine/CMakeLists.txt lists no stages" >&2; exit 1; }
status=0
for ((i = 0; i < ${#stages[@]}; ++i)); do
    [ -d "engine/lowhiss/${stages[i]}" ] || { echo "no folder ${stages[i]}" >&2; status=1; }
    for ((j = i + 1; j < ${#stages[@]}; ++j)); do
        grep -rn "#include \"lowhiss/${stages[j]}/" "engine/lowhiss/${stages[i]}" && status=1
    done
done
grep -rnE '#include [<"](CLI|command|write|draw|shard|shell)/' engine && status=1
# No room of the command includes one that uses it; only main.cpp and command/ see CLI11.
rooms=(shell write shard draw command)
for ((i = 0; i < ${#rooms[@]}; ++i)); do
    [ -d "cli/${rooms[i]}" ] || { echo "no folder cli/${rooms[i]}" >&2; status=1; }
    for ((j = i + 1; j < ${#rooms[@]}; ++j)); do
        grep -rn "#include \"${rooms[j]}/" "cli/${rooms[i]}" && status=1
    done
done
grep -rn '#include <CLI/' cli/shell cli/write cli/shard cli/draw && status=1
grep -rnE '\b(printf|puts|std::cout|std::cerr|exit|abort)\b *\(?' engine --include='*.cpp' |
    grep -v '//' && status=1
exit $status
