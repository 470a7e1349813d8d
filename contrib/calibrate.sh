#!/bin/sh
# Fits the sap model on the open data, says how well it tells a season left
# out and what was tried and did worse (docs/model-calibration.md), and holds
# models/ against the result (or, with --write, brings it up to date). About
# two minutes; --short leaves the table out.
#   sh contrib/calibrate.sh [--short] [--write]
set -eu
cd "$(dirname "$0")/.."
data=${THAWBELL_OPEN_DATA:-../shared/data}
build=${THAWBELL_BUILD:-build/release}
all=--all
[ "${1-}" = --short ] && { all=; shift; }
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release >/dev/null
cmake --build "$build" --target calibrate_sap >/dev/null
exec "$build/tests/calibration/calibrate_sap" "$data" models $all "$@"
