#!/usr/bin/env bash
# From a bare Debian 12 to a finished teaching clip: installs what is missing, builds, draws the demo
# session and does the whole job on it.
#     bash app/run.sh [--out DIR] [--no-editor]
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
out=$root/build/demo
while [ $# -gt 0 ]; do
    case $1 in
        --out) out=${2:?"Name a folder after --out."}; shift 2 ;;
        --no-editor) shift ;;  # there is no editor yet; the option is kept for scripts
        *) echo "Use: bash app/run.sh [--out DIR] [--no-editor]" >&2; exit 2 ;;
    esac
done
mkdir -p "$root/build"
. "$root/app/setup/install.sh"
want "$root/app/setup/packages.txt"
build canalogue
exec "$root/build/bin/canalogue" demo --out "$out"
