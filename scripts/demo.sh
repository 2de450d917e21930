#!/usr/bin/env bash
# make demo: measures the sample photos of both settings of the harvester and says where the overlays lie.
set -euo pipefail
cd "$(dirname "$0")/.."

out=build/demo
rm -rf "$out"
shopt -s nullglob
status=0
for setting in samples/gap-*; do
  photos=("$setting"/*.jpg)
  [[ ${#photos[@]} -gt 0 ]] || continue
  overlays="$out/$(basename "$setting")"
  mkdir -p "$overlays"
  echo
  echo "\$ bin/gristmark measure --overlay $overlays $setting/*.jpg"
  bin/gristmark measure --overlay "$overlays" "${photos[@]}" || status=$?
  echo
  echo "overlays:"
  printf '  %s\n' "$overlays"/*
done
exit "$status"
