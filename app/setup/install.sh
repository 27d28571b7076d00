# Sourced by app/run.sh and tests/run.sh: installs what is missing, configures and builds.
# Expects $root, the project's folder.

# want LIST... -> installs the packages of the lists that are not there
want() {
    missing=
    for package in $(cat "$@" | grep -v '^#'); do
        # npm often comes with a node of another origin, which Debian's package would conflict with.
        [ "$package" = npm ] && command -v npm >/dev/null && continue
        dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    if [ "$(id -u)" != 0 ]; then
        echo "These Debian packages are missing and only root may install them:$missing" >&2
        exit 5
    fi
    echo "Installing$(echo "$missing" | wc -w | xargs -I{} echo ' {} Debian packages') ..."
    export DEBIAN_FRONTEND=noninteractive
    { apt-get update -qq && apt-get install -y -qq --no-install-recommends $missing; } >"$root/build/install.log" 2>&1 || {
        echo "These Debian packages could not be installed (is there a network?):$missing; see build/install.log" >&2
        exit 5
    }
}

# build TARGET... -> build/ is configured and the targets are made
build() {
    [ -f "$root/build/build.ninja" ] || {
        echo "Configuring (fetches the models of the spotters once) ..."
        (cd "$root" && cmake --preset release) >"$root/build/configure.log" 2>&1 || {
            tail -n 15 "$root/build/configure.log" >&2
            echo "The build could not be configured; see build/configure.log" >&2
            exit 5
        }
        grep -A3 'CMake Warning' "$root/build/configure.log" >&2 || true
    }
    echo "Building ..."
    (cd "$root" && ninja -C build "$@") >"$root/build/build.log" 2>&1 || {
        grep -E 'error|FAILED' "$root/build/build.log" | head -n 15 >&2
        echo "The build failed; see build/build.log" >&2
        exit 5
    }
}
