#!/usr/bin/env bash
# Installs what is missing, builds, and runs the tests; ends with CTest's closing line.
#     bash tests/run.sh [--only GROUP] [--long]      groups are the folders of tests/
# --long repeats the tests under the address and undefined-behaviour sanitizers as well.
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
only= long=
while [ $# -gt 0 ]; do
    case $1 in
        --only) only=${2:?"Name a group after --only: a folder of tests/."}; shift 2 ;;
        --long) long=1; shift ;;
        *) echo "Use: bash tests/run.sh [--only GROUP] [--long]" >&2; exit 2 ;;
    esac
done
if [ -n "$only" ] && [ ! -f "$root/tests/$only/CMakeLists.txt" ]; then
    echo "There is no group '$only'; the groups are: $(cd "$root/tests" && ls -d */CMakeLists.txt | xargs -n1 dirname | tr '\n' ' ')" >&2
    exit 2
fi
mkdir -p "$root/build"
. "$root/app/setup/install.sh"
want "$root/app/setup/packages.txt" "$root/app/setup/test_packages.txt"
build
if [ -n "$long" ]; then
    (cd "$root" && cmake --preset asan -DCANALOGUE_MODELS="$root/build/models" && ninja -C build/asan) >"$root/build/asan.log" 2>&1 || {
        echo "The sanitizer build failed; see build/asan.log" >&2
        exit 5
    }
    ctest --test-dir "$root/build/asan" -L '^(core|store|plugin_host|media|export)$' --output-on-failure -j2
fi
# One label is one group.
ctest --test-dir "$root/build" ${only:+-L "^$only\$"} --output-on-failure -j2
