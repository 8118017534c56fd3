#!/bin/sh
# Hands all parts to Slurm, and their gathering for when they are done: sh submit.sh
# Where a part failed (logs says why), hand in again: parts that are there are not
# computed again.
CDPATH= cd -- "$(dirname -- "$0")" && mkdir -p logs || exit 1
array=$(sbatch --parsable array.slurm) || exit 1
array=${array%%;*} # the cluster's name may follow
gather=$(sbatch --parsable --dependency="afterok:$array" --kill-on-invalid-dep=yes gather.slurm) || exit 1
echo "Parts: job $array. Gathering: job ${gather%%;*}, when all parts are there. Logs: $(pwd)/logs"
