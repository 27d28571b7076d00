#!/usr/bin/env bash
# How fast a whole scan is: bash tests/bench/privacy/speed.sh
# A minute of the demo's right ear at 720 and 1080 lines, 30 frames a second; beside it a bare decoding of the same file in the
# same run, and how often each net runs.
set -euo pipefail
root=$(cd "$(dirname "$0")/../../.." && pwd)
. "$root/app/setup/install.sh"
want "$root/app/setup/packages.txt" "$root/app/setup/test_packages.txt"
build canalogue canalogue-net-runs
place=$root/build/privacy/speed
rm -rf "$place" && mkdir -p "$place"
"$root/build/bin/canalogue" demo --recordings-only --seed 7 --out "$place/demo" >/dev/null
source=$(ls "$place"/demo/recordings/*right.mp4)
seconds() { local from=$EPOCHREALTIME; "$@" >/dev/null 2>&1; echo "$EPOCHREALTIME $from" | awk '{ printf "%.2f", $1 - $2 }'; }
echo "| a minute at | scan | times real time | bare decoding |"
echo "| --- | --- | --- | --- |"
for lines in 720 1080; do
    film=$place/$lines.mp4
    ffmpeg -v error -y -stream_loop 3 -i "$source" -t 60 -vf "scale=-2:$lines,fps=30" -c:v libx264 -preset veryfast -crf 20 -c:a aac "$film"
    "$root/build/bin/canalogue" import --library "$place/library-$lines" --session s1 --ear right "$film" >/dev/null
    decode=$(seconds ffmpeg -v error -i "$film" -map 0:v -f null -)
    scan=$(seconds "$root/build/bin/canalogue" scan --library "$place/library-$lines" s1)
    echo "| $lines lines | $scan s | $(awk "BEGIN { printf \"%.1f\", 60 / $scan }") | $decode s |"
done
echo
"$root/build/bin/canalogue-net-runs" "$place/720.mp4" "$root"/build/plugins/{burnt_text/burnt_text,outside/outside,faces/faces,speech/speech}.so
