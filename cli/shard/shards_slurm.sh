#!/usr/bin/env bash
#SBATCH --job-name=lowhiss --signal=B:TERM@30
# A tolerance run in shards, each a task of a Slurm job array:
#     sbatch --array=1-8 cli/shard/shards_slurm.sh RESULTS 8 BOARD [options of lowhiss tolerance]
#     lowhiss tolerance --merge RESULTS/*.shard
# A shard that failed or ran out of time is computed again by its number, as --array=3. Half a
# minute before its time limit a task gets SIGTERM and writes the boards that it has finished.
set -euo pipefail
results=$1 shards=$2 board=$3
shift 3
mkdir -p "$results"
exec "${LOWHISS:-lowhiss}" tolerance "$board" --quiet "$@" \
    --shard "$SLURM_ARRAY_TASK_ID/$shards" --result "$results/$SLURM_ARRAY_TASK_ID.shard"
