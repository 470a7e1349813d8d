#!/bin/sh
# Runs a test on the programs of a Release build: those of this build, or of
# the one that contrib/test.sh names in THAWBELL_OTHER_BUILD. Without one it
# is skipped (77), in CI it fails.
# Usage: release.sh BUILD_TYPE BUILD_FOLDER COMMAND [WORD…]
#        runs COMMAND THAWBELL [WORD…]
set -eu
type=$1 build=$2 command=$3
shift 3

if [ "$type" != Release ]; then
    build=${THAWBELL_OTHER_BUILD:-}
    if [ -z "$build" ]; then
        echo "skipped: needs a Release build, named in THAWBELL_OTHER_BUILD"
        [ "${CI:-}" != true ] || exit 1
        exit 77
    fi
fi
[ -x "$build/src/thawbell" ] || {
    echo "$build/src/thawbell is not there; build it first"
    exit 1
}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder"
export PWD
case $command in
*.sh) sh "$command" "$build/src/thawbell" "$@" ;;
*) "$command" "$build/src/thawbell" "$@" ;;
esac
