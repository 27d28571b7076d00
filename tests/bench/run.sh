#!/usr/bin/env bash
# Benchmarks: ratios within one run, a table on the screen and build/bench/results.json.
#     bash tests/bench/run.sh [--only film|again|shares|import|memory|editor|preview|sync] [--rounds N]
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
mkdir -p "$root/build/bench"
. "$root/app/setup/install.sh"
want "$root/app/setup/packages.txt" "$root/app/setup/test_packages.txt"
build canalogue canalogue-editor canalogue-bench canalogue-bench-window
exec python3 "$root/tests/bench/bench.py" "$root" "$@"
