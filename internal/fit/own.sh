#!/usr/bin/env bash
# Renders scenes each with a seed of its own, one process a scene: own.sh BINARY OUT FIRST_SEED OF_EACH_FAMILY FIRST_WILD WILD [WIDTH]
set -euo pipefail
bin=$1 out=$2 seed=$3 each=$4 wild=$5 many=$6 width=${7:-2000}
mkdir -p "$out"
export GOMAXPROCS=1
{
	for _ in $(seq "$each"); do
		for f in $("$bin" -list | awk '/usable=true/ {print $1}'); do
			echo "--family $f --seed $seed"
			seed=$((seed + 1))
		done
	done
	for k in $(seq "$wild" $((wild + many - 1))); do echo "--wild --seed $k"; done
} | xargs -P "$(nproc)" -L 1 "$bin" --width "$width" --out "$out"
