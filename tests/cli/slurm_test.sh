#!/usr/bin/env bash
# The script for Slurm, run as a job array by a Slurm of this test's own: one machine, its files in
# the scratch folder, no authentication, unused ports. Status 77, skipped, without Slurm.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
export LOWHISS=$1
board=$2/netlists/boards/wren.toml script=$2/cli/shard/shards_slurm.sh
PATH=$PATH:/usr/sbin
for program in slurmctld slurmd sbatch sinfo; do
    command -v $program >/dev/null || exit 77
done

port=$((20000 + $$ % 20000 * 2))
mkdir "$room/state" "$room/spool"
export SLURM_CONF=$room/slurm.conf
cat >"$SLURM_CONF" <<CONF
ClusterName=desk
SlurmctldHost=$(hostname -s)(127.0.0.1)
SlurmUser=$(id -un)
SlurmdUser=$(id -un)
SlurmctldPort=$port
SlurmdPort=$((port + 1))
AuthType=auth/none
CredType=cred/none
StateSaveLocation=$room/state
SlurmdSpoolDir=$room/spool
SlurmctldPidFile=$room/slurmctld.pid
SlurmdPidFile=$room/slurmd.pid
ProctrackType=proctrack/pgid
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
SelectType=select/cons_tres
MpiDefault=none
NodeName=$(hostname -s) NodeAddr=127.0.0.1 CPUs=1 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES State=UP
CONF
slurmctld -D >"$room/slurmctld.log" 2>&1 &
controller=$!
slurmd -D >"$room/slurmd.log" 2>&1 &
daemon=$!
trap 'kill $daemon $controller; wait; rm -rf "$room"' EXIT

idle() { sinfo --noheader --format=%t 2>/dev/null | grep -qx idle; }
for ((k = 0; k < 150; ++k)); do
    idle && break
    sleep 0.2
done
if ! idle; then
    echo "Slurm does not start here:"
    cat "$room"/slurm*.log
    exit 1
fi

"$LOWHISS" tolerance "$board" --boards 13 --json "$room/single.json" --quiet
submit=(sbatch --wait --output="$room/task-%a.log")
expect 0 "" "${submit[@]}" --array=1-3 "$script" "$room/results" 3 "$board" --boards 13
cat "$room"/task-*.log
expect 0 "" "$LOWHISS" tolerance --merge "$room"/results/*.shard --json "$room/merged.json"
require cmp "$room/single.json" "$room/merged.json"
exit $((failures > 0))
