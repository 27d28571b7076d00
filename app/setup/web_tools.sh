#!/bin/sh
# Fetches what drives and examines a browser in the tests of the case page into a folder:
#     app/setup/web_tools.sh build/web_tools
# Packages are pinned by version and by SHA-256, and appear whole or not at all; a folder that is complete is left
# alone. Licences: Apache-2.0 (playwright-core), MPL-2.0 (axe-core). Nothing of them is part of the program.
set -eu

dir=${1:-}
pins='playwright-core@1.65.1 6f5a60be62a4fddfbe7d10c448d8fbd54547da3358f2f8a04211440471ee863e
axe-core@4.14.1 e6b0ce02b84d892e2e33e403485e7f3d6c29e2be6df65daf44d89ba564139745'

fail() {
    echo "$1" >&2
    exit "${2:-5}"
}

[ -n "$dir" ] || fail "Name the folder for the tools, as in: app/setup/web_tools.sh build/web_tools." 2
# The stamp holds the pins, so that a changed pin fetches anew.
if [ -f "$dir/fetched.txt" ] && [ "$(cat "$dir/fetched.txt")" = "$pins" ]; then
    exit 0
fi
command -v npm >/dev/null || fail "The tools come as npm packages and npm is missing; install the Debian package npm and run this again."
mkdir -p "$dir" 2>/dev/null || fail "The folder $dir cannot be made; choose one that may be written to."
stage=$(mktemp -d "$dir/.fetching-XXXXXX")
trap 'rm -rf "$stage"' EXIT
trap 'exit 130' INT TERM HUP

echo "$pins" | while read -r package pinned; do
    name=${package%@*}
    mkdir -p "$stage/pack" "$stage/out/$name"
    rm -f "$stage"/pack/*.tgz
    npm pack --ignore-scripts --silent --pack-destination "$stage/pack" "$package" >/dev/null 2>&1 ||
        fail "The package $package could not be fetched; check the network and the room on the disk and run this again."
    echo "$pinned  $(ls "$stage"/pack/*.tgz)" | sha256sum --check --status ||
        fail "The package $package is not the one that was pinned, and nothing of it was used; do not trust its source."
    tar -xzf "$stage"/pack/*.tgz -C "$stage/out/$name" --strip-components=1
done || exit $?
rm -rf "$dir/playwright-core" "$dir/axe-core"
mv "$stage/out/playwright-core" "$stage/out/axe-core" "$dir/"
echo "$pins" >"$dir/fetched.txt"
