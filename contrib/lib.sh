# Shared by demo.sh and test.sh: what is missing is installed from Debian's
# package registry, by name. POSIX sh.

say() {
    printf '== %s\n' "$*"
}

die() {
    printf 'error: %s\n' "$*" >&2
    exit 1
}

as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    elif command -v sudo >/dev/null 2>&1; then
        sudo "$@"
    else
        die "these packages need root to install: run as root, or install
them yourself and run this again: $missing"
    fi
}

# Packages that are named and not installed, into $missing.
find_missing() {
    missing=
    for package in "$@"; do
        state=$(dpkg-query -W -f '${Status}' "$package" 2>/dev/null) || state=
        [ "$state" = 'install ok installed' ] || missing="$missing $package"
    done
}

install_missing() {
    command -v dpkg-query >/dev/null 2>&1 ||
        die "this script installs with apt; on another system install the
packages named in contrib/packages-*.txt by your own means and follow
DEVELOPERS.md"
    find_missing "$@"
    [ -z "$missing" ] && return 0
    say "installing:$missing"
    export DEBIAN_FRONTEND=noninteractive
    as_root apt-get update -qq || die "apt-get update failed"
    # shellcheck disable=SC2086 # a list of names
    as_root apt-get install -y -q --no-install-recommends $missing ||
        die "apt-get could not install:$missing"
}

# Names in a list file, comments left out.
packages() {
    sed -e 's/#.*//' "$@" | tr '\n' ' '
}

# configure FOLDER [cmake option…]: once; ninja reconfigures by itself.
configure() {
    build=$1
    shift
    [ -f "$build/build.ninja" ] && return 0
    say "configuring $build"
    cmake -S . -B "$build" -G Ninja "$@" >"$build.log" 2>&1 || {
        cat "$build.log" >&2
        die "cmake failed"
    }
}
