#!/usr/bin/env bash
# make test-all: what needs more than the everyday tests. Fuzzing for a short while, the race detector
# on the packages without OpenCV, the samples rendered anew and compared, the linters.
set -euo pipefail
cd "$(dirname "$0")/.."

# A count of inputs, not a time: at the end of a time the fuzzer may report its own deadline as a failure
# (go.dev/issue/75804). Interesting inputs are shortened in few steps, or that takes all the time.
fuzz_time="${FUZZTIME:-60000x}"

scripts/setup.sh test
scripts/photos.sh
GRISTMARK_OPENCV_DOC="$(scripts/opencv-doc.sh)"
export GRISTMARK_OPENCV_DOC

# Packages whose tests pull in no OpenCV.
pure_packages() {
  go list -test -f '{{if eq .Name "main"}}{{.ImportPath}} {{join .Deps " "}}{{end}}' ./... |
    grep '^[^ ]*\.test ' | grep -v 'gocv\.io/x/gocv' | sed 's/\.test .*//'
}

fuzz_targets() {
  grep -rlE '^func Fuzz[A-Z]' --include='*_test.go' . | while read -r file; do
    grep -oE '^func Fuzz[A-Za-z0-9_]+' "$file" | while read -r _ name; do
      echo "$(dirname "$file") $name"
    done
  done
}

make lint

echo "== race detector"
mapfile -t pure < <(pure_packages)
go test -race -short "${pure[@]}"

echo "== a batch killed at 20 points"
GRISTMARK_KILLS=20 go test -timeout 30m -run '^TestKilledAnywhere$' ./cmd/gristmark

echo "== the log: its process killed 10 times, its photos on a server that speaks S3"
GOBIN="$PWD/build/tools" go install github.com/versity/versitygw/cmd/versitygw@v1.8.0
GRISTMARK_KILLS=10 GRISTMARK_S3_SERVER="$PWD/build/tools/versitygw" \
  go test -count=1 -timeout 30m -run '^(TestKilledAtAnyPoint|TestPhotosInAnObjectStore)$' ./internal/harvest

echo "== the server killed 10 times in the middle of uploads"
make build
go run ./internal/soak --program bin/gristmark --for 0s --kills 10

echo "== fuzzing, $fuzz_time each"
while read -r package name; do
  echo "-- $package $name"
  go test -run='^$' -fuzz="^$name\$" -fuzztime="$fuzz_time" -fuzzminimizetime=20x "$package"
done < <(fuzz_targets)

echo "== samples"
make samples-check
