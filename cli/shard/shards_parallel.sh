#!/usr/bin/env bash
# A tolerance run in shards, by GNU parallel; shards that have a result already are skipped:
#     bash cli/shard/shards_parallel.sh RESULTS SHARDS BOARD [options of lowhiss tolerance]
#     lowhiss tolerance --merge RESULTS/*.shard
# A shard uses all cores of its machine, so a machine runs one at a time. PARALLEL='--sshlogin
# :,workshop' adds machines; the board and RESULTS must be in a folder that all of them share.
set -euo pipefail
results=$1 shards=$2 board=$3
shift 3
mkdir -p "$results"
for ((k = 1; k <= shards; ++k)); do
    [ -e "$results/$k.shard" ] || echo "$k"
done | parallel --jobs 1 --workdir . --halt soon,fail=1 "${LOWHISS:-lowhiss}" tolerance "$board" \
    --quiet "$@" --shard "{}/$shards" --result "$results/{}.shard"
