#!/usr/bin/env bash
# From a bare Debian 12 to a finished teaching clip: installs what is missing, builds, draws the demo
# session and does the whole job on it.
#     bash app/run.sh [--out DIR] [--no-editor]
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
out=$root/build/demo
window=yes
while [ $# -gt 0 ]; do
    case $1 in
        --out) out=${2:?"Name a folder after --out."}; shift 2 ;;
        --no-editor) window=; shift ;;
        *) echo "Use: bash app/run.sh [--out DIR] [--no-editor]" >&2; exit 2 ;;
    esac
done
mkdir -p "$root/build"
. "$root/app/setup/install.sh"
want "$root/app/setup/packages.txt"
build canalogue
"$root/build/bin/canalogue" demo --out "$out"
# Somebody at a screen may want to see it.
if [ -n "$window" ] && [ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ] && [ -t 0 ] && [ -t 1 ]; then
    read -r -p "Open the session in the editor? [y/N] " answer
    case $answer in [yY]*) exec "$root/build/bin/canalogue-editor" demo --library "$out/library" ;; esac
fi
