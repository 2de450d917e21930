#!/usr/bin/env bash
# Renders scenes with masks, one process a scene: render.sh BINARY OUT families|wild FIRST COUNT WIDTH SECONDS
set -u
bin=$1 out=$2 kind=$3 first=$4 count=$5 width=$6 seconds=$7
mkdir -p "$out"
export GOMAXPROCS=1
for k in $(seq "$first" $((first + count - 1))); do
	if [ "$kind" = wild ]; then
		echo "wild $k"
	else
		"$bin" -list | awk '/usable=true/ {print $1}' | while read -r f; do echo "$f $((1 + k))"; done
	fi
done | timeout "$seconds" xargs -P "$(nproc)" -L 1 "$(dirname "$0")/one.sh" "$bin" "$out" "$width"
find "$out" -name '*.truth.json' | wc -l
