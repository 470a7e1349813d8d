#!/bin/sh
# The unit tests of a Release build under valgrind: no error, no leak. Those
# that calculate whole seasons are left to the sanitizers: here they would take
# a quarter of an hour each.
#   sh contrib/valgrind.sh BUILD
set -eu
build=$1
long='plan_trial|calibration|daemon_.*|turn_make_plan'
failed=0
for test in "$build"/tests/test_*; do
    [ -x "$test" ] || continue
    name=${test##*/test_}
    printf '%s' "$name" | grep -Eqx "$long" && continue
    begun=$(date +%s)
    if ! (cd "$build/tests" && valgrind -q --error-exitcode=9 \
        --leak-check=full --errors-for-leak-kinds=definite,indirect \
        --trace-children=no "./${test##*/}") >"$build/valgrind.log" 2>&1; then
        cat "$build/valgrind.log"
        printf 'FAILED: %s\n' "$name"
        failed=1
    fi
    took=$(($(date +%s) - begun))
    [ "$took" -lt 30 ] || printf '%s: %d s\n' "$name" "$took"
done
exit $failed
