#!/bin/sh
# Cross-builds thawbell for 64-bit ARM against Debian's own libraries for it,
# in build/arm64, and runs the demo there under emulation: it must print what
# this machine's prints. Needs the network, and root to install the compiler.
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh

# shellcheck disable=SC2046 # a list of names
install_missing $(packages contrib/packages-build.txt) gcc-aarch64-linux-gnu \
    qemu-user
work=$PWD/build/arm64
root=$work/root
mkdir -p "$work/apt/state/lists/partial" "$work/apt/cache/archives/partial" \
    "$root"

# The libraries are unpacked, not installed: this machine stays what it is.
: >"$work/apt/status"
cat >"$work/apt/conf" <<END
APT::Architecture "arm64";
APT::Architectures { "arm64"; };
APT::Install-Recommends "false";
APT::Sandbox::User "root";
Dir::State "$work/apt/state";
Dir::State::status "$work/apt/status";
Dir::Cache "$work/apt/cache";
END
if [ ! -f "$work/unpacked" ]; then
    say "getting the libraries"
    export APT_CONFIG="$work/apt/conf"
    apt-get update -qq
    # shellcheck disable=SC2046 # a list of names
    apt-get install -y -q --download-only tzdata $(packages \
        contrib/packages-build.txt | tr ' ' '\n' | grep -e '-dev$') \
        >"$work/apt.log"
    for package in "$work"/apt/cache/archives/*.deb; do
        dpkg-deb -x "$package" "$root"
    done
    unset APT_CONFIG
    # A library's link names its place from / on: that is this machine's.
    find "$root/usr/lib" -type l -lname '/*' | while read -r link; do
        ln -sfn "$root$(readlink "$link")" "$link"
    done
    : >"$work/unpacked"
fi
cat >"$work/toolchain.cmake" <<END
set(CMAKE_SYSTEM_NAME Linux)
set(CMAKE_SYSTEM_PROCESSOR aarch64)
set(CMAKE_C_COMPILER aarch64-linux-gnu-gcc)
set(CMAKE_SYSROOT "$root")
set(CMAKE_FIND_ROOT_PATH_MODE_PROGRAM NEVER)
set(CMAKE_FIND_ROOT_PATH_MODE_LIBRARY ONLY)
set(CMAKE_FIND_ROOT_PATH_MODE_INCLUDE ONLY)
END
configure build/release -DCMAKE_BUILD_TYPE=Release -DBUILD_TESTING=OFF
# BUILD: what it says is worth reading only where it fails.
build_all() {
    ninja -C "$1" >"$work/ninja.log" 2>&1 || {
        tail -n 40 "$work/ninja.log" >&2
        die "$1 does not build"
    }
}
say "building for this machine"
build_all build/release
export PKG_CONFIG_SYSROOT_DIR="$root"
PKG_CONFIG_LIBDIR=$root/usr/lib/aarch64-linux-gnu/pkgconfig
export PKG_CONFIG_LIBDIR="$PKG_CONFIG_LIBDIR:$root/usr/share/pkgconfig"
configure build/arm64/build -DCMAKE_BUILD_TYPE=Release -DBUILD_TESTING=OFF \
    -DCMAKE_TOOLCHAIN_FILE="$work/toolchain.cmake"
say "building for arm64"
build_all build/arm64/build

# The temporary folder's name is another one each time.
demo() {
    "$@" try | sed 's/thawbell-[A-Za-z0-9]*//g'
}
demo build/release/src/thawbell >"$work/here"
demo qemu-aarch64 -L "$root" build/arm64/build/src/thawbell >"$work/there"
qemu-aarch64 -L "$root" build/arm64/build/src/thawbelld --version
diff "$work/here" "$work/there" || die "the demo differs on arm64"
say "the demo prints the same on arm64"
