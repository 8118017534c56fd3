#!/bin/sh
# Computes one part: sh part.sh 3
# A part that is there already is not computed again.
CDPATH= cd -- "$(dirname -- "$0")" && . ./settings.sh || exit 1
exec "$thumbed" {{.Verb}} "$source" --part "${1:?give the number of a part, 1 to $parts}/$parts" --out parts
