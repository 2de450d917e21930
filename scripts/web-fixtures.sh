#!/usr/bin/env bash
# Measures the sample photos that the tests of the pages show, and keeps what was measured in internal/web/testdata/,
# outlines thinned to every fourth point. The tests then need no OpenCV.
set -euo pipefail
cd "$(dirname "$0")/.."
python="${PYTHON:-python3}"
for photo in gap-3.0/kernels-1 gap-1.5/kernels-1 gap-3.0/pieces-1 gap-3.0/mixed-1 bad/blurred bad/no-card; do
  show=mixed
  case "$photo" in */kernels-*) show=kernels ;; */pieces-*) show=pieces ;; esac
  bin/gristmark measure --json --outlines --show "$show" "samples/$photo.jpg" 2>/dev/null |
    "$python" -c '
import gzip, json, sys
photo = json.load(sys.stdin)["photos"][0]
photo["file"] = photo["file"].split("/")[-1]
for p in photo["particles"] or []:
    p["outline_px"] = p.get("outline_px", [])[::4]
with open(sys.argv[1], "wb") as f, gzip.GzipFile("", "wb", 9, f, 0) as z:
    z.write(json.dumps(photo, separators=(",", ":")).encode())
' "internal/web/testdata/$(echo "$photo" | tr / -).json.gz" || true
done
ls -l internal/web/testdata
