#!/bin/sh
# Hands all parts to Slurm, and their gathering for when they are done: sh submit.sh
# Where a part failed (logs says why), hand in again: parts that are there are not
# computed again.
CDPATH= cd -- "$(dirname -- "$0")" && mkdir -p logs || exit 1
case $(pwd) in *\\*)
	echo "Slurm writes no logs below a folder with a backslash in its name: move this folder." >&2
	exit 1 ;;
esac
logs=$(pwd | sed 's/%/%%/g')/logs # Slurm puts numbers in for %a and the like
array=$(sbatch --parsable --output="$logs/part-%a.txt" array.slurm) || exit 1
array=${array%%;*} # the cluster's name may follow
gather=$(sbatch --parsable --output="$logs/gather.txt" --dependency="afterok:$array" --kill-on-invalid-dep=yes gather.slurm) || exit 1
printf 'Parts: job %s. Gathering: job %s, when all parts are there. Logs: %s\n' "$array" "${gather%%;*}" "$(pwd)/logs"
