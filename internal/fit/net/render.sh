#!/usr/bin/env bash
# Renders scenes with masks, one process a scene: render.sh BINARY OUT FIRST COUNT WIDTH SECONDS
set -u
bin=$1 out=$2 first=$3 count=$4 width=$5 seconds=$6
mkdir -p "$out"
export GOMAXPROCS=1
for k in $(seq 0 $((count - 1))); do
	"$bin" -list | awk '/usable=true/ {print $1}' | while read -r f; do echo "$f $((first + k))"; done
done | timeout "$seconds" xargs -P "$(nproc)" -L 1 "$(dirname "$0")/one.sh" "$bin" "$out" "$width"
ls "$out" | grep -c truth.json
