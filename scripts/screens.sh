#!/usr/bin/env bash
# Takes the pictures of the pages in docs/ anew: the demo harvest, drawn and measured by bin/gristmark, as a phone and a desk show it.
set -euo pipefail
cd "$(dirname "$0")/.."

data=build/screens
rm -rf "$data"
mkdir -p "$data"
bin/gristmark serve --demo --data "$data" --listen 127.0.0.1:0 >"$data/said.txt" 2>"$data/log.txt" &
server=$!
trap 'kill "$server" 2>/dev/null; wait "$server" 2>/dev/null || true' EXIT
until grep -q "drawing" "$data/said.txt"; do
  kill -0 "$server" 2>/dev/null || { cat "$data/log.txt" >&2; exit 1; }
  sleep 0.5
done
url="$(sed -n 's/^gristmark serves //p' "$data/said.txt" | head -n 1)"
go run ./internal/web/browser/screens -url "$url" -name demo -password "$(cat "$data/demo-password.txt")" -out docs
ls -l docs/web-*.jpg
