#!/usr/bin/env bash
# No stage of the engine includes a later one; the engine knows nothing of the command.
set -euo pipefail
cd "$1"
stages=(quantity board circuit topology equations solver analysis measure)
status=0
for ((i = 0; i < ${#stages[@]}; ++i)); do
    for ((j = i + 1; j < ${#stages[@]}; ++j)); do
        grep -rn "#include \"lowhiss/${stages[j]}/" "engine/${stages[i]}" \
            "engine/include/lowhiss/${stages[i]}" && status=1
    done
    grep -rnE '#include [<"](CLI|cli)/' "engine/${stages[i]}" && status=1
    grep -rnE '\b(printf|puts|std::cout|std::cerr|exit|abort)\b *\(?' \
        "engine/${stages[i]}" --include='*.cpp' | grep -v '//' && status=1
done
exit $status
