#!/usr/bin/env bash
# Renders scenes each with a seed of its own, one process a scene: own.sh BINARY OUT FIRST_SEED OF_EACH_FAMILY FIRST_WILD WILD FIRST_ODD ODD [WIDTH]
set -euo pipefail
bin=$1 out=$2 seed=$3 each=$4 width=${9:-2000}
mkdir -p "$out"
export GOMAXPROCS=1
{
	for k in $(seq "$7" $(($7 + $8 - 1))); do echo "--odd --seed $k"; done
	for k in $(seq "$5" $(($5 + $6 - 1))); do echo "--wild --seed $k"; done
	for _ in $(seq "$each"); do
		for f in $("$bin" -list | awk '/usable=true/ {print $1}'); do
			echo "--family $f --seed $seed"
			seed=$((seed + 1))
		done
	done
} | xargs -P "$(nproc)" -L 1 "$bin" --bare --masks --width "$width" --out "$out"
