#!/bin/sh
# Runs a peer, or says which one is missing: a failure where CI=true, else
# exit 77 (skipped).
# Usage: peer.sh python MODULE COMMAND…   (the system's Python sees apt modules)
#        peer.sh program NAME COMMAND…    (a Debian package of that name)
#        peer.sh node FOLDER COMMAND…     (FOLDER holds package.json)
set -eu
kind=$1 what=$2
shift 2

missing() {
    echo "skipped: needs $1"
    if [ "${CI:-}" = true ]; then
        exit 1
    fi
    exit 77
}

case $kind in
python)
    /usr/bin/python3 -c "import $what" 2>/dev/null ||
        missing "python3-$what of the system's packages"
    exec /usr/bin/python3 "$@"
    ;;
program)
    command -v "$what" >/dev/null 2>&1 || missing "the package $what"
    exec "$@"
    ;;
node)
    command -v npm >/dev/null 2>&1 || missing "nodejs and npm"
    here=$(pwd)
    cp "$what/package.json" "$what/package-lock.json" "$here/"
    cp "$what/"*.mjs "$here/"
    if ! cmp -s package-lock.json node_modules/.installed; then
        npm ci --ignore-scripts --no-audit --no-fund >npm.log 2>&1 || {
            tail -5 npm.log
            missing "the packages of package-lock.json from the registry"
        }
        cp package-lock.json node_modules/.installed
    fi
    exec node "$@"
    ;;
esac
