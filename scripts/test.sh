#!/usr/bin/env bash
# make test: vet, every test, and the tests of vision and calib once more counting open Mats.
set -euo pipefail
cd "$(dirname "$0")/.."

scripts/setup.sh test
scripts/photos.sh
GRISTMARK_OPENCV_DOC="$(scripts/opencv-doc.sh)"
export GRISTMARK_OPENCV_DOC

step() {
  local began=$SECONDS
  echo "== $*"
  "$@"
  echo "== $((SECONDS - began)) s"
}

step go vet ./...
# The commands are run as their users run them, which takes its time on a busy machine.
step go test -timeout 25m ./...
# Every gocv.Mat is counted under this tag; the packages' TestMain fails the run when one stays open.
step go test -tags matprofile ./vision/... ./calib/...
