#!/bin/sh
# The unit tests of a Release build under valgrind: no error, no leak. Those
# that take more than three seconds of processor by themselves calculate whole
# seasons and would take minutes here; they are named and left to the
# sanitizers.
#   sh contrib/valgrind.sh BUILD
set -eu
export THAWBELL_SLOW=1
build=$(cd "$1" && pwd)
left_out=$(cd "$(dirname "$0")" && pwd)/valgrind.supp
log=$build/valgrind.log
failed=0 done=0
for test in "$build"/tests/test_*; do
    [ -x "$test" ] || continue
    name=${test##*/test_}
    cd "$build/tests"
    status=0
    (ulimit -t 3 && exec "$test") >/dev/null 2>&1 || status=$?
    if [ "$status" -gt 128 ]; then
        printf 'left to the sanitizers: %s\n' "$name"
        continue
    fi
    if ! valgrind -q --error-exitcode=9 --leak-check=full \
        --errors-for-leak-kinds=definite,indirect \
        --suppressions="$left_out" "$test" >"$log" 2>&1; then
        cat "$log"
        printf 'FAILED: %s\n' "$name"
        failed=1
    fi
    done=$((done + 1))
done
printf '%d tests under valgrind\n' "$done"
exit $failed
