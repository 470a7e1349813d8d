#!/bin/sh
# Sets up what the tests need, builds with gcc (address and undefined
# behaviour sanitizers; and optimised, for the warnings that come with it) and
# with clang, and passes all tests.
#   sh contrib/test.sh [ctest option…]
#   sh contrib/test.sh --all      also what takes long: each point at which
#       memory or disk can fail (of a whole turn a sample), valgrind, the
#       analysers, a minute of fuzzing for each reader of strangers' bytes;
#       about an hour
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh
all=no
if [ "${1-}" = --all ]; then
    all=yes
    shift
fi

# shellcheck disable=SC2046 # a list of names
install_missing $(packages contrib/packages-build.txt contrib/packages-test.txt)
# Node comes with its own npm on some machines, from Debian on the others.
command -v node >/dev/null 2>&1 || install_missing nodejs
command -v npm >/dev/null 2>&1 || install_missing npm

mkdir -p build
configure build/test -DCMAKE_BUILD_TYPE=Sanitize -DWERROR=ON \
    -DCMAKE_C_COMPILER=gcc
configure build/clang -DCMAKE_BUILD_TYPE=Release -DWERROR=ON \
    -DCMAKE_C_COMPILER=clang -DBUILD_TESTING=OFF
configure build/strict -DCMAKE_BUILD_TYPE=Release -DWERROR=ON \
    -DCMAKE_C_COMPILER=gcc
say "building with gcc and sanitizers"
ninja -C build/test
say "building with clang, optimised"
ninja -C build/clang
say "building with gcc, optimised"
ninja -C build/strict
say "testing"
THAWBELL_OTHER_BUILD="$PWD/build/clang" \
    ctest --test-dir build/test --output-on-failure "$@"
# What is judged whole, or by the clock, in a Release build alone.
say "testing the plan's seasons and the bounds of time, optimised"
ctest --test-dir build/strict --output-on-failure \
    -R '^(plan_trial|bench_(season|plan|work)_cpu)$'
[ "$all" = yes ] || exit 0
say "points at which memory or disk can fail, with sanitizers"
ctest --test-dir build/test --output-on-failure -C Long -L long
say "each such point but of a whole turn, optimised"
ctest --test-dir build/strict --output-on-failure -C Long -L long
say "valgrind"
sh contrib/valgrind.sh build/strict
sh contrib/analyse.sh
say "fuzzing"
sh contrib/fuzz.sh 60
