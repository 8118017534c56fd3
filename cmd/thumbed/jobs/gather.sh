#!/bin/sh
# Puts all parts together: sh gather.sh
CDPATH= cd -- "$(dirname -- "$0")" && . ./settings.sh || exit 1
exec "$thumbed" gather parts --source "$source" --out "$results"
