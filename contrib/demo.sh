#!/bin/sh
# Sets up what thawbell needs, builds it and runs the demo: an invented
# operation with invented weather, no network, no configuration.
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh

# shellcheck disable=SC2046 # a list of names
install_missing $(packages contrib/packages-build.txt)
mkdir -p build
configure build/release -DCMAKE_BUILD_TYPE=Release -DBUILD_TESTING=OFF
say "building"
ninja -C build/release
say "thawbell try"
build/release/src/thawbell try
say "thawbell stands for $PWD/build/release/src/thawbell"
