#!/usr/bin/env bash
# Measures the spotters on the frozen set of labelled sessions: bash tests/bench/privacy/run.sh [SEED...]
# Draws those that are missing (build/privacy/frozen, some minutes), refuses any that is not the frozen one, scores each and
# prints the table of docs/privacy.md. Lines of results: build/privacy/results.jsonl. --freeze writes frozen.txt anew.
set -euo pipefail
root=$(cd "$(dirname "$0")/../../.." && pwd)
here=$root/tests/bench/privacy
. "$root/app/setup/install.sh"
want "$root/app/setup/packages.txt" "$root/app/setup/test_packages.txt" "$here/packages.txt"
build canalogue canalogue-labelled canalogue-privacy-score

freeze=no
if [ "${1:-}" = --freeze ]; then freeze=yes && shift; fi
seeds=("$@")
if [ ${#seeds[@]} -eq 0 ]; then seeds=($(seq 101 140)); fi
sets=$root/build/privacy/frozen
mkdir -p "$sets"
for seed in "${seeds[@]}"; do
    [ -f "$sets/$seed/truth.json" ] && continue
    apart=; if [ "$seed" -ge 131 ]; then apart=--apart; fi
    echo "Drawing session $seed ..." >&2
    "$root/build/bin/canalogue-labelled" --seed "$seed" $apart --out "$sets/$seed" >/dev/null
done
if [ $freeze = yes ]; then
    (cd "$sets" && sha256sum $(for s in "${seeds[@]}"; do echo "$s/truth.json"; done)) >"$here/frozen.txt"
    exit
fi
for seed in "${seeds[@]}"; do
    (cd "$sets" && grep " $seed/truth.json\$" "$here/frozen.txt" | sha256sum --check --status) || {
        echo "Session $seed is not the frozen one (another package of photographs or fonts?): remove build/privacy/frozen/$seed, or name other seeds." >&2
        exit 2
    }
done
: >"$root/build/privacy/results.jsonl"
for seed in "${seeds[@]}"; do
    echo "Scoring session $seed ..." >&2
    "$root/build/bin/canalogue-privacy-score" "$sets/$seed" >>"$root/build/privacy/results.jsonl"
done
python3 "$here/table.py" <"$root/build/privacy/results.jsonl"
