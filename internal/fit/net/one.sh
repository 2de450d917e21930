#!/usr/bin/env bash
# Renders one scene: one.sh BINARY OUT WIDTH FAMILY SEED
exec "$1" --family "$4" --seed "$5" --masks --width "$3" --out "$2" >/dev/null 2>&1
