#!/bin/sh
# Sets up what thawbell needs, builds it and installs it: into ~/.local, for
# root into /usr/local, or where PREFIX says.
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh

prefix=${PREFIX:-}
if [ -z "$prefix" ] && [ "$(id -u)" -eq 0 ]; then
    prefix=/usr/local
elif [ -z "$prefix" ]; then
    prefix=$HOME/.local
fi
# shellcheck disable=SC2046 # a list of names
install_missing $(packages contrib/packages-build.txt)
mkdir -p build
configure build/install -DCMAKE_BUILD_TYPE=Release -DBUILD_TESTING=OFF
cmake build/install -DCMAKE_INSTALL_PREFIX="$prefix" \
    -DCMAKE_INSTALL_SBINDIR=bin >build/install.log
say "building"
ninja -C build/install
cmake --install build/install >>build/install.log
say "installed in $prefix"
case ":$PATH:" in
*":$prefix/bin:"*) ;;
*)
    say "your shell does not look there yet:"
    printf '    export PATH="%s/bin:$PATH"\n' "$prefix"
    ;;
esac
