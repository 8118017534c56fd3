#!/bin/sh
# Computes all parts on this machine, one after the other, and puts them together:
# sh all.sh
# It may be stopped at any time; started again, it goes on where it was.
CDPATH= cd -- "$(dirname -- "$0")" && . ./settings.sh || exit 1
part=1
while [ "$part" -le "$parts" ]; do
	sh ./part.sh "$part" || exit
	part=$((part + 1))
done
exec sh ./gather.sh
