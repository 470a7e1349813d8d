#!/bin/sh
# Fits the numbers of the buds on the open data, says how well they predict
# years left out, and compares with models/ (or, with --write, brings
# models/ up to date).
#   sh contrib/calibrate-buds.sh [--write]
set -eu
cd "$(dirname "$0")/.."
data=${THAWBELL_OPEN_DATA:-../shared/data}
build=${THAWBELL_BUILD:-build/release}
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release >/dev/null
cmake --build "$build" --target calibrate_buds >/dev/null
exec "$build/tests/calibration/calibrate_buds" "$data" models "$@"
