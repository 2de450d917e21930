#!/usr/bin/env bash
# Says in one line when the folder of real photographs is absent, and fails when it is required.
set -euo pipefail
cd "$(dirname "$0")/.."

[[ -f ../shared/photos/README.md ]] && exit 0
if [[ "${GRISTMARK_PHOTOS:-}" == required ]]; then
  echo "test: ../shared/photos is absent, and GRISTMARK_PHOTOS=required asks for it" >&2
  exit 1
fi
echo "test: ../shared/photos is absent, so tests on those real photographs say nothing in this run"
