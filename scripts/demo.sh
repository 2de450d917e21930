#!/usr/bin/env bash
# make demo: measures the sample photos of both settings of the harvester and says where the overlays lie.
set -euo pipefail
cd "$(dirname "$0")/.."

out=build/demo
rm -rf "$out"
mkdir -p "$out"
status=0

# The loads of the demo harvest: load, time, farm, field, hybrid, dry matter, length of cut, roll gap, folder of photos.
tail -n +2 samples/harvest.csv | while IFS=, read -r load _ _ _ _ dm tloc gap photos _; do
  given=(--gap "$gap" --tloc "$tloc" --dm "$dm")
  echo
  echo "Load $load, rolls $gap mm apart"
  echo "\$ bin/gristmark measure ${given[*]} --overlay $out/$photos samples/$photos/*.jpg"
  echo
  bin/gristmark measure "${given[@]}" --overlay "$out/$photos" samples/"$photos"/*.jpg 2>"$out/messages" || status=$?
  echo
  cat "$out/messages"
  [[ "$status" -eq 0 ]] || exit "$status"
done
rm -f "$out/messages"
