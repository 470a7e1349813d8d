#!/bin/sh
# Fuzzing: every harness of tests/fuzz, two at a time.
#   sh contrib/fuzz.sh [SECONDS [HARNESS…]]   with libFuzzer, SECONDS each (60)
#   sh contrib/fuzz.sh afl [SECONDS [HARNESS…]]  with AFL++ (config, open-meteo)
#   sh contrib/fuzz.sh merge [HARNESS…]       what was found since joins
#                                             tests/fuzz/corpus, as few as will do
#   sh contrib/fuzz.sh list|build|one HARNESS SECONDS   for contrib/test.sh
# Prints executions, edges covered and the time of each, and ends with status 1
# if anything was found; what was is in build/fuzz/finds/HARNESS. Put the input
# into tests/fuzz/corpus/HARNESS once it is fixed.
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh

install_missing clang cmake ninja-build
root=$PWD
harnesses=$(sed -n -e 's/^thawbell_fuzz(\([a-z][a-z-]*\).*/\1/p' \
    -e 's/^foreach(service \(.*\))/\1/p' tests/fuzz/CMakeLists.txt)
# Bytes of an input.
longest=8192
# Files that harnesses write are better not on a disk.
[ -d /dev/shm ] && [ -w /dev/shm ] && TMPDIR=/dev/shm && export TMPDIR

targets() {
    for name in "$@"; do printf 'fuzz_%s ' "$name"; done
}

build_libfuzzer() {
    mkdir -p build
    configure build/fuzz -DCMAKE_C_COMPILER=clang -DFUZZ=ON \
        -DCMAKE_BUILD_TYPE=Sanitize -DWERROR=ON \
        -DCMAKE_C_FLAGS=-fsanitize=fuzzer-no-link
    say "building the harnesses"
    # shellcheck disable=SC2046 # a list of names
    ninja -C build/fuzz $(targets "$@") >build/fuzz-build.log 2>&1 ||
        { tail -30 build/fuzz-build.log; die "the harnesses do not build"; }
}

dictionary() {
    [ -f "tests/fuzz/dict/$1.dict" ] && printf '%s\n' "tests/fuzz/dict/$1.dict"
    return 0
}

# One harness: HARNESS SECONDS.
run_one() {
    at="build/fuzz/run/$1"
    mkdir -p "$at/corpus" "build/fuzz/finds/$1"
    seeds="tests/fuzz/corpus/$1"
    [ -d "$seeds" ] || { say "$1: no corpus in $seeds"; return 1; }
    words=$(dictionary "$1")
    status=0
    nice -n 19 "build/fuzz/tests/fuzz/fuzz_$1" "$at/corpus" "$seeds" \
        ${words:+-dict="$words"} -max_total_time="$2" -max_len="$longest" \
        -rss_limit_mb=3000 -timeout=20 -print_final_stats=1 \
        -artifact_prefix="build/fuzz/finds/$1/" >"$at/log" 2>&1 || status=$?
    runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$at/log")
    edges=$(sed -n 's/.* cov: \([0-9]*\) .*/\1/p' "$at/log" | tail -1)
    printf '%-20s %10s executions %5s edges %5s s  %s\n' "$1" \
        "${runs:-?}" "${edges:-?}" "$2" \
        "$([ "$status" = 0 ] && echo clean || echo "FOUND: $at/log")"
    [ "$status" = 0 ]
}

# As few inputs as reach every edge that all of them reach; inputs named by
# hand (not by a digest) stay.
merge_one() {
    seeds="tests/fuzz/corpus/$1"
    found="build/fuzz/run/$1/corpus"
    fresh=$(mktemp -d)
    mkdir -p "$found"
    "build/fuzz/tests/fuzz/fuzz_$1" -set_cover_merge=1 -use_counters=0 \
        -max_len="$longest" "$fresh" "$seeds" "$found" >/dev/null 2>&1 || {
        say "$1: an input ends it; nothing merged"
        rm -r "$fresh"
        return 1
    }
    find "$seeds" -type f -regextype posix-extended \
        -regex '.*/[0-9a-f]{40}' -delete
    # A digest is the input's SHA-1; what is named by hand is there already.
    sha1sum "$seeds"/* 2>/dev/null | while read -r digest _; do
        rm -f "$fresh/$digest"
    done
    find "$fresh" -type f -exec cp {} "$seeds" \;
    rm -r "$fresh"
    say "$1: $(find "$seeds" -type f | wc -l) inputs"
}

afl_one() {
    at="build/afl/run/$1"
    rm -rf "$at"
    mkdir -p "$at"
    words=$(dictionary "$1")
    status=0
    # AFL++ wants a finding to be an abort, without its symbols; leaks are for
    # libFuzzer to find. Where the machine puts its crashes is no matter here.
    AFL_NO_UI=1 AFL_SKIP_CPUFREQ=1 AFL_NO_AFFINITY=1 AFL_AUTORESUME=0 \
        AFL_I_DONT_CARE_ABOUT_MISSING_CRASHES=1 \
        ASAN_OPTIONS=abort_on_error=1:symbolize=0:detect_leaks=0 \
        nice -n 19 afl-fuzz -m none -t 5000+ -V "$2" ${words:+-x "$words"} \
        -i "tests/fuzz/corpus/$1" -o "$at" -- \
        "build/afl/tests/fuzz/fuzz_$1" >"$at.log" 2>&1 || status=$?
    stats="$at/default/fuzzer_stats"
    [ -f "$stats" ] || { tail -20 "$at.log"; return 1; }
    crashes=$(sed -n 's/^saved_crashes *: //p' "$stats")
    hangs=$(sed -n 's/^saved_hangs *: //p' "$stats")
    printf '%-20s %10s executions %5s edges %4s min  %s crashes, %s hangs\n' \
        "$1" "$(sed -n 's/^execs_done *: //p' "$stats")" \
        "$(sed -n 's/^edges_found *: //p' "$stats")" "$(($2 / 60))" \
        "$crashes" "$hangs"
    [ "$crashes" = 0 ] && [ "$hangs" = 0 ] && [ "$status" = 0 ]
}

build_afl() {
    install_missing afl++
    mkdir -p build
    configure build/afl -DCMAKE_C_COMPILER=afl-clang-fast -DFUZZ=AFL \
        -DCMAKE_BUILD_TYPE=Sanitize
    say "building the harnesses for AFL++"
    # shellcheck disable=SC2046 # a list of names
    ninja -C build/afl $(targets "$@") >build/afl-build.log 2>&1 ||
        { tail -30 build/afl-build.log; die "the harnesses do not build"; }
}

# Two at a time, each by this script itself.
all_of() {
    what=$1 seconds=$2
    shift 2
    # shellcheck disable=SC2016 # xargs puts the name in
    printf '%s\n' "$@" |
        xargs -P 2 -I NAME sh "$root/contrib/fuzz.sh" "$what" NAME "$seconds" ||
        die "there were findings"
    say "no finding"
}

# What takes hours is not begun by a slip.
case ${1-1} in
list | build | one | one-afl | merge | afl) ;;
*[!0-9]* | '') die "$1: give seconds, afl, merge or list; see the head of $0" ;;
esac

# shellcheck disable=SC2086 # a list of names
case ${1-} in
list) printf '%s\n' $harnesses ;;
build) build_libfuzzer $harnesses ;;
one) run_one "$2" "$3" ;;
one-afl) afl_one "$2" "$3" ;;
merge)
    shift
    # shellcheck disable=SC2086 # a list of names
    [ $# -gt 0 ] || set -- $harnesses
    build_libfuzzer "$@"
    failed=0
    for name in "$@"; do merge_one "$name" || failed=1; done
    exit "$failed"
    ;;
afl)
    shift
    seconds=${1:-60}
    [ $# -eq 0 ] || shift
    [ $# -gt 0 ] || set -- config open-meteo
    build_afl "$@"
    all_of one-afl "$seconds" "$@"
    ;;
*)
    seconds=${1:-60}
    [ $# -eq 0 ] || shift
    # shellcheck disable=SC2086 # a list of names
    [ $# -gt 0 ] || set -- $harnesses
    build_libfuzzer "$@"
    all_of one "$seconds" "$@"
    ;;
esac
