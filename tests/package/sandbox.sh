#!/bin/sh
# The exposure of the service as systemd-analyze(1) scores it, without a
# running systemd: at most 1.2 of 10.
#   sh sandbox.sh UNIT
set -eu
if ! command -v systemd-analyze >/dev/null; then
    echo "skipped: needs systemd-analyze"
    [ "${CI:-}" = true ] && exit 1
    exit 77
fi
status=0
said=$(systemd-analyze security --offline=true --threshold=12 --no-pager \
    "$1") || status=$?
printf '%s\n' "$said" | tail -n 1
exit $status
