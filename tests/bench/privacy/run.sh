#!/usr/bin/env bash
# Measures the spotters on the frozen set of labelled sessions: bash tests/bench/privacy/run.sh [SEED...]
# Draws those that are missing (build/privacy/frozen, some minutes), says when one is not the frozen one, scores each, searches the
# films of ten of them, measures speed, and prints the tables of docs/privacy.md. Lines of results: build/privacy/results.jsonl.
set -euo pipefail
root=$(cd "$(dirname "$0")/../../.." && pwd)
here=$root/tests/bench/privacy
. "$root/app/setup/install.sh"
want "$root/app/setup/packages.txt" "$root/app/setup/test_packages.txt" "$here/packages.txt"
build canalogue canalogue-labelled canalogue-privacy-score

sets=$root/build/privacy/frozen
mkdir -p "$sets"
# Says where one is not the frozen one; then its figures are not comparable.
if [ $# -gt 0 ]; then only=(--only "$(IFS=,; echo "$*")"); else only=(); fi
"$root/build/bin/canalogue-labelled" --frozen --out "$sets" "${only[@]}" >&2
seeds=("$@")
if [ ${#seeds[@]} -eq 0 ]; then seeds=($(ls "$sets" | sort -n)); fi
: >"$root/build/privacy/results.jsonl"
for seed in "${seeds[@]}"; do
    echo "Scoring session $seed ..." >&2
    "$root/build/bin/canalogue-privacy-score" "$sets/$seed" >>"$root/build/privacy/results.jsonl"
done
python3 "$here/table.py" <"$root/build/privacy/results.jsonl"
echo
films=(1 7 11 16 20 23 31 34 38 40)
if [ $# -gt 0 ]; then films=("$@"); fi
python3 "$here/films.py" "$root/build/bin/canalogue" "$sets" "${films[@]}"
echo
bash "$here/speed.sh"
