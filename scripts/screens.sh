#!/usr/bin/env bash
# Takes the pictures of the pages in docs/ anew: the demo harvest, drawn and measured by bin/gristmark, as a phone and a desk show it.
set -euo pipefail
cd "$(dirname "$0")/.."

data=build/screens
rm -rf "$data"
mkdir -p "$data"
bin/gristmark serve --demo --data "$data" --listen 127.0.0.1:8479 >"$data/said.txt" 2>"$data/log.txt" &
server=$!
trap 'kill "$server" 2>/dev/null; wait "$server" 2>/dev/null || true' EXIT
until [[ -s "$data/demo-password.txt" ]] && grep -q "drawing" "$data/said.txt"; do sleep 0.5; done
go run ./internal/web/browser/screens -url http://127.0.0.1:8479 -name demo -password "$(cat "$data/demo-password.txt")" -out docs
ls -l docs/web-*.jpg
