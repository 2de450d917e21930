#!/usr/bin/env bash
# Renders one scene: one.sh BINARY OUT WIDTH FAMILY|wild SEED
which=(--family "$4")
[ "$4" = wild ] && which=(--wild)
exec nice -n 5 "$1" "${which[@]}" --seed "$5" --masks --width "$3" --out "$2" >/dev/null 2>&1
