#!/bin/sh
# Measures decoding, publishing, the line, the tree, the plan, the server and
# one to ten thousand operations, each beside a peer in the same run, and
# writes docs/benchmarks.md. An idle machine; about half an hour. A bound that
# is missed (400 MB, 6 ms a turn of ten thousand) is told at the end: the status
# is 1, and the table is there all the same.
#   sh contrib/bench.sh [--many COUNT] [--seconds N]
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh

# shellcheck disable=SC2046 # a list of names
install_missing $(packages contrib/packages-build.txt contrib/packages-test.txt)
mkdir -p build
configure build/bench -DCMAKE_BUILD_TYPE=Release -DCMAKE_C_COMPILER=gcc
say "building"
ninja -C build/bench >build/bench.log 2>&1 || {
    tail -n 30 build/bench.log >&2
    die "the build failed"
}
exec /usr/bin/python3 -B tests/bench/table.py build/bench \
    --out docs/benchmarks.md "$@"
