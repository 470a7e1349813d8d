#!/bin/sh
# Sets up what the tests need, builds with gcc (address and undefined
# behaviour sanitizers; and optimised, for the warnings that come with it) and
# with clang, and passes all tests.
#   sh contrib/test.sh [ctest option…]
#   sh contrib/test.sh --all      also what takes long: each point at which
#       memory or disk can fail (a sample of a turn and an export), valgrind,
#       the analysers, 40 s of fuzzing for each reader of strangers' bytes.
#       These parts run side by side, one a core, each with its log in
#       build/parts; about three quarters of an hour on two cores
# A part that fails does not keep the others from running; at the end each is
# named with the command that repeats it, and the status is 1.
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh
cores=$(nproc)
[ "$cores" -le 4 ] || cores=4

# The parts that run side by side, and what each of them is. Words without
# quotes, to be typed as they are printed.
command_of() {
    case $1 in
    scarce-sanitized)
        echo "ctest --test-dir build/test --output-on-failure -C Long -L long"
        ;;
    scarce-optimised)
        echo "ctest --test-dir build/strict --output-on-failure -C Long -L long"
        ;;
    valgrind) echo "sh contrib/valgrind.sh build/strict" ;;
    analysers) echo "sh contrib/analyse.sh" ;;
    fuzz-*) echo "sh contrib/fuzz.sh one ${1#fuzz-} 40" ;;
    *) die "no part is called $1" ;;
    esac
}

# One of them: quiet but for its end; what it says is in its log.
if [ "${1-}" = part ]; then
    command=$(command_of "$2")
    began=$(date +%s)
    status=0
    THAWBELL_CORES=1 sh -c "$command" >"build/parts/$2.log" 2>&1 || status=$?
    took=$(($(date +%s) - began))
    if [ "$status" -eq 0 ]; then
        printf 'ok      %s, %d s\n' "$2" "$took"
        exit 0
    fi
    printf 'FAILED  %s, %d s; the end of build/parts/%s.log:\n' "$2" "$took" "$2"
    tail -n 40 "build/parts/$2.log"
    printf '%s: %s\n' "$2" "$command" >>build/parts/failed
    exit 1
fi

all=no
if [ "${1-}" = --all ]; then
    all=yes
    shift
fi
began=$(date +%s)
mkdir -p build/parts
: >build/parts/failed

# shellcheck disable=SC2046 # a list of names
install_missing $(packages contrib/packages-build.txt contrib/packages-test.txt)
# shellcheck disable=SC2046 # a list of names
[ "$all" = no ] || install_missing $(packages contrib/packages-analyse.txt)
# Node comes with its own npm on some machines, from Debian on the others.
command -v node >/dev/null 2>&1 || install_missing nodejs
command -v npm >/dev/null 2>&1 || install_missing npm

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
[ "$all" = no ] || sh contrib/fuzz.sh build

# part NAME COMMAND…: alone on the machine, and heard.
part() {
    name=$1
    shift
    say "$name"
    "$@" || printf '%s: %s\n' "$name" "$*" >>build/parts/failed
}
# One at a time where the time allows it: daemons and their peers share cores.
jobs=1
[ "$all" = no ] || jobs=$cores
part "the tests" env THAWBELL_OTHER_BUILD="$PWD/build/clang" \
    ctest --test-dir build/test -j "$jobs" --output-on-failure "$@"
# What is judged whole, or by the clock, in a Release build alone.
part "the plan's seasons, the server's load, the bounds of time, optimised" \
    ctest --test-dir build/strict --output-on-failure \
    -R '^(plan_(trial|replay)|serve_load|bench_((season|plan|work)_cpu|many))$'
if [ "$all" = yes ]; then
    say "what takes long, $cores at a time"
    # The longest first; the short ones fill the gaps.
    # shellcheck disable=SC2046 # a list of names
    printf '%s\n' analysers scarce-optimised scarce-sanitized valgrind \
        $(sh contrib/fuzz.sh list | sed 's/^/fuzz-/') |
        xargs -P "$cores" -I NAME sh contrib/test.sh part NAME ||
        [ -s build/parts/failed ] ||
        echo "what takes long: sh contrib/test.sh --all" >build/parts/failed
fi
say "$((($(date +%s) - began) / 60)) minutes"
[ ! -s build/parts/failed ] || {
    say "FAILED; to repeat, in this folder:"
    cat build/parts/failed
    exit 1
}
say "all passed"
