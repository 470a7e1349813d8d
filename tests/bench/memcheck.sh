#!/bin/sh
# Valgrind over the client's commands, in a build without sanitizers: no
# error, nothing lost.
# Usage: memcheck.sh THAWBELL PROJECT
set -eu
thawbell=$1 project=$2

command -v valgrind >/dev/null 2>&1 || {
    echo "skipped: needs valgrind"
    [ "${CI:-}" != true ] || exit 1
    exit 77
}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
export HOME="$folder" TMPDIR="$folder" LC_ALL=C
unset XDG_CONFIG_HOME XDG_STATE_HOME STATE_DIRECTORY

check() {
    echo "thawbell $*"
    valgrind --quiet --error-exitcode=99 --leak-check=full \
        --errors-for-leak-kinds=definite,indirect,possible \
        "$thawbell" "$@" >"$folder/out" 2>"$folder/err" || {
        code=$?
        cat "$folder/err"
        echo "ended with $code"
        exit 1
    }
    [ -s "$folder/out" ] || {
        echo "it said nothing"
        exit 1
    }
}

at=2026-03-05T06:30:00-05:00
check try
conf=$(echo "$folder"/thawbell-*/tamarack-bend.conf)
check -c "$conf" --at "$at"
check -c "$conf" --at "$at" week
check -c "$conf" --at "$at" --json week
check -c "$conf" --at "$at" why
check -c "$conf" --at "$at" why 2026-03-07
check -c "$conf" --at "$at" check
for answer in "open-meteo open-meteo.json" "metno metno.json" \
    "nws nws-grid.json" "open-meteo-ensemble open-meteo-ensemble.json"; do
    # shellcheck disable=SC2086 # two words
    set -- $answer
    check decode "$1" "$project/fixtures/tamarack-bend/$2"
done
