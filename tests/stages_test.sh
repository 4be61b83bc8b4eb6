#!/usr/bin/env bash
# No stage of the engine includes a later one; the engine knows nothing of the command; an installed
# header includes installed headers only; a stage that needs an operating point is given it. The rooms
# of the command have an order too.
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
mapfile -t headers < <(tr -d "\n" <engine/CMakeLists.txt |
    sed "s/.*set(public_headers \([^)]*\)).*/\1/" | tr -s " " "\n" | sed "/^$/d")
[ ${#headers[@]} -ge 30 ] || { echo "engine/CMakeLists.txt lists no public headers" >&2; exit 1; }
for header in "${headers[@]}"; do
    while read -r included; do
        [[ " ${headers[*]} " == *" $included "* ]] && continue
        echo "$header is installed and includes $included, which is not" >&2
        status=1
    done < <(sed -n 's/^#include "\(lowhiss\/[^"]*\)".*/\1/p' "engine/$header")
done
# Beside these files, only bias itself solves for direct voltages or builds circuits.
grep -rnE '\b(operating_point|small_signal_circuit|build_circuit)\(' \
    engine/lowhiss/{analysis,measure,promise,series,sweep} --include='*.cpp' |
    grep -vE 'measure/(setting|supply|part_sensitivity)\.cpp:' && status=1
grep -rnE '#include [<"](CLI|command|write|draw|shard|shell)/' engine && status=1
# No room of the command includes one that uses it; only main.cpp and command/ see CLI11.
rooms=(shell write sound shard draw command)
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
