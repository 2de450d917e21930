#!/usr/bin/env bash
# Fetches axe-core, which checks pages for accessibility, with npm into build/axe/, once, and prints where it lies.
set -euo pipefail
cd "$(dirname "$0")/.."

version=4.14.1
file="build/axe/axe-$version.min.js"
if [[ ! -s "$file" ]]; then
  command -v npm >/dev/null || { echo "axe: no npm here; run scripts/setup.sh test" >&2; exit 1; }
  work="$(mktemp -d)"
  trap 'rm -rf "$work"' EXIT
  (cd "$work" && npm pack --silent "axe-core@$version" >&2 && tar xzf "axe-core-$version.tgz" package/axe.min.js)
  mkdir -p build/axe
  mv "$work/package/axe.min.js" "$file"
fi
echo "$PWD/$file"
