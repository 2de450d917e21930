#!/usr/bin/env bash
# Prints the folder of example pictures of Debian's opencv-doc package.
#
# A slim image leaves /usr/share/doc out when it installs packages; the package is then fetched once
# more and unpacked into the cache folder of this checkout.
set -euo pipefail
cd "$(dirname "$0")/.."

installed=/usr/share/doc/opencv-doc/examples/data
if [[ -f "$installed/left01.jpg" ]]; then
  echo "$installed"
  exit 0
fi

cache="$PWD/.cache/opencv-doc"
data="$cache/usr/share/doc/opencv-doc/examples/data"
if [[ ! -f "$data/left01.jpg" ]]; then
  mkdir -p "$cache/deb"
  echo "setup: unpacking opencv-doc into $cache" >&2
  # apt-get drops to its own user to download: the folder must be open to it.
  chmod 0777 "$cache/deb"
  download() { (cd "$cache/deb" && apt-get -q -o Acquire::Retries=3 download opencv-doc </dev/null >&2); }
  # The lists of packages may be gone from a slim image; only root can fetch them anew.
  download || { apt-get -q update </dev/null >&2 && download; }
  dpkg-deb -x "$cache"/deb/opencv-doc_*.deb "$cache"
  rm -rf "$cache/deb"
fi
[[ -f "$data/left01.jpg" ]] || { echo "setup: opencv-doc holds no examples/data/left01.jpg" >&2; exit 1; }
echo "$data"
