#!/usr/bin/env bash
# The script for GNU parallel gives the result of a single run, and computes only missing shards.
# Status 77, skipped, without GNU parallel.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
export LOWHISS=$1
board=$2/netlists/boards/wren.toml script=$2/cli/shard/shards_parallel.sh
parallel --version 2>/dev/null | grep -q "GNU parallel" || exit 77
export PARALLEL_HOME=$room/home HOME=$room
mkdir "$PARALLEL_HOME" && touch "$PARALLEL_HOME/will-cite"

"$LOWHISS" tolerance "$board" --boards 13 --seed 5 --json "$room/single.json" --quiet
expect 0 "" bash "$script" "$room/results" 3 "$board" --boards 13 --seed 5
expect 0 "" "$LOWHISS" tolerance --merge "$room"/results/*.shard --json "$room/merged.json"
require cmp "$room/single.json" "$room/merged.json"

rm "$room/results/2.shard"
touch -d "2001-01-01" "$room/results/1.shard"
expect 0 "" bash "$script" "$room/results" 3 "$board" --boards 13 --seed 5
require [ "$room/results/1.shard" -ot "$room/results/2.shard" ]
expect 0 "" "$LOWHISS" tolerance --merge "$room"/results/*.shard --json "$room/merged.json"
require cmp "$room/single.json" "$room/merged.json"

expect 2 "it is a folder" bash "$script" "$room/others" 3 "$room"
exit $((failures > 0))
