#!/usr/bin/env bash
# Installs the system packages that are missing, and only those.
#
#   scripts/setup.sh build    what the program is built and run with
#   scripts/setup.sh test     the above and what the tests compare against
#
# Needs root or sudo only when something is missing; without either it says in one line what to run.
set -euo pipefail

build_packages=(g++ pkg-config ca-certificates libopencv-dev libopencv-contrib-dev libjpeg-dev)
test_packages=(python3-skimage python3-openpyxl opencv-doc poppler-utils postgresql zsh fish groff-base man-db chromium npm curl)

wanted=("${build_packages[@]}")
case "${1:-}" in
  build) ;;
  test) wanted+=("${test_packages[@]}") ;;
  *) echo "usage: scripts/setup.sh build|test" >&2; exit 2 ;;
esac

# has PACKAGE: true when it, or for a tool the tool itself, is there.
has() {
  case "$1" in
    g++) command -v g++ >/dev/null && return 0 ;;
    pkg-config) command -v pkg-config >/dev/null && return 0 ;;
    poppler-utils) command -v pdftoppm >/dev/null && command -v pdftotext >/dev/null && return 0 ;;
    postgresql) compgen -G '/usr/lib/postgresql/*/bin/initdb' >/dev/null && return 0 ;;
    chromium | npm) command -v "$1" >/dev/null && return 0 ;;
    libopencv-dev) command -v pkg-config >/dev/null && pkg-config --exists opencv4 && return 0 ;;
  esac
  [[ "$(dpkg-query -W -f='${db:Status-Abbrev}' "$1" 2>/dev/null || true)" == ii* ]]
}

missing_packages() {
  local p
  for p in "${wanted[@]}"; do has "$p" || echo "$p"; done
}

if ! command -v go >/dev/null; then
  echo "setup: no go command found; install Go 1.26 or newer and put it on the PATH" >&2
  exit 1
fi

mapfile -t missing < <(missing_packages)
[[ ${#missing[@]} -eq 0 ]] && exit 0

if ! command -v apt-get >/dev/null; then
  echo "setup: no apt-get here; install what corresponds to: ${missing[*]}" >&2
  exit 1
fi

as_root=()
if [[ "$(id -u)" -ne 0 ]]; then
  if ! command -v sudo >/dev/null; then
    echo "setup: run as root: apt-get update && apt-get install -y --no-install-recommends ${missing[*]}" >&2
    exit 1
  fi
  as_root=(sudo)
fi

echo "setup: installing ${missing[*]}"
log="$(mktemp)"
quietly() {
  if ! "$@" </dev/null >"$log" 2>&1; then
    tail -n 20 "$log" >&2
    echo "setup: failed: $*" >&2
    exit 1
  fi
}
quietly "${as_root[@]}" apt-get -q -o Acquire::Retries=3 update
quietly "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
  apt-get -q -y -o Acquire::Retries=3 -o DPkg::Options::=--force-unsafe-io install --no-install-recommends "${missing[@]}"
rm -f "$log"
