#!/usr/bin/env bash
# Fuzzing: tests/fuzz.sh MINUTES [TARGET...] builds the targets in build-fuzz/ with clang (packages clang
# and lld), under the address and undefined-behaviour sanitizers, and runs each for so many minutes from
# the demo netlists and the museum. What is found stands in build-fuzz/finds/; make a museum file of it.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
minutes=${1:?how many minutes for each target?}
shift
targets=("$@")
[ ${#targets[@]} -gt 0 ] || targets=(quantity board impedance baseline circuit ordered merge recheck)

cmake -S . -B build-fuzz -G Ninja -DCMAKE_BUILD_TYPE=RelWithDebInfo -DCMAKE_CXX_COMPILER=clang++ \
    -DLOWHISS_FUZZ=ON -DLOWHISS_TESTS=OFF >/dev/null
cmake --build build-fuzz --target "${targets[@]/#/fuzz_}"
mkdir -p build-fuzz/finds

# The first inputs of a target: the demo netlists and the museum, in the form that it reads.
seed_files() {
    case $1 in
        board) find netlists/boards netlists/models tests/museum -name '*.toml' ;;
        baseline | recheck) find netlists/boards -name '*.baseline' ;;
        ordered) find netlists/ordered -type f ;;
        impedance) find netlists/capsules tests/museum -name '*.csv' -o -name '*.s1p' ;;
    esac
}
# The first byte chooses the reader, or the unit.
first_byte() {
    case $1 in
        *.csv) printf '\0' ;;
        *.s1p) printf '\1' ;;
    esac
}
seed() {
    local target=$1 corpus=$2 file number=0 text
    while read -r file; do
        { first_byte "$file"; cat "$file"; } >"$corpus/seed-$(basename "$file")"
    done < <(seed_files "$target")
    # merge makes its own from a result that it computes.
    [ "$target" = quantity ] || return 0
    while read -r text; do
        printf '%b%s' "\\x$(printf %02x $((number % 32)))" "$text" >"$corpus/seed-$number"
        number=$((number + 1))
    done < <(cat netlists/boards/*.toml netlists/models/*.toml tests/museum/*/*.toml |
        grep -oa '"[^"]*"' | tr -d '"' | sort -u)
}

for target in "${targets[@]}"; do
    corpus=build-fuzz/corpus/$target
    mkdir -p "$corpus"
    seed "$target" "$corpus"
    echo "fuzz_$target: $minutes minutes"
    build-fuzz/tests/fuzz/fuzz_"$target" -max_total_time=$((minutes * 60)) -max_len=20000 -timeout=60 \
        -rss_limit_mb=3000 -print_final_stats=1 -artifact_prefix=build-fuzz/finds/"$target"- \
        "$corpus" 2>&1 | grep -E 'stat::number_of_executed_units|ERROR|SUMMARY|Test unit written' || true
done
[ -z "$(ls build-fuzz/finds)" ]
