#!/bin/sh
# Reads the sources with clang-tidy (.clang-tidy says which checks and why not
# the others), cppcheck and gcc's analyser. Each finding is an error.
#   sh contrib/analyse.sh       THAWBELL_CORES=N: on so many cores
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh

# shellcheck disable=SC2046 # a list of names
install_missing $(packages contrib/packages-build.txt \
    contrib/packages-analyse.txt)
mkdir -p build
cores=${THAWBELL_CORES:-$(nproc)}
status=0

configure build/analyse -DCMAKE_BUILD_TYPE=Release -DBUILD_TESTING=OFF \
    -DCMAKE_C_COMPILER=gcc -DCMAKE_EXPORT_COMPILE_COMMANDS=ON \
    -DWERROR=ON -DBY_FILE=ON \
    -DCMAKE_C_FLAGS='-fanalyzer -Wno-analyzer-use-of-uninitialized-value'
# The headers' place and the generated sources come with the build. Arrays that
# a loop fills count as unset with it: clang-tidy and valgrind look at those.
# File by file: over a program as a whole it loses sight of what lists own.
say "gcc -fanalyzer"
ninja -C build/analyse -j "$cores" -k 0 || status=1

say "cppcheck"
cppcheck -j "$cores" --quiet --std=c11 --error-exitcode=1 --inline-suppr \
    --enable=warning,style,performance,portability \
    --suppressions-list=contrib/analyse.cppcheck \
    --project=build/analyse/compile_commands.json \
    --library=contrib/analyse.cfg || status=1

# One file a run: with several, clang-tidy 14 takes the va_list of the second
# for uninitialized. It does not know gcc's -fanalyzer.
say "clang-tidy"
sed 's/ -fanalyzer -Wno-analyzer[^ ]* / /' build/analyse/compile_commands.json \
    >build/analyse/tidy.json
mkdir -p build/analyse/tidy
mv build/analyse/tidy.json build/analyse/tidy/compile_commands.json
find src -name '*.c' | sort |
    xargs -P "$cores" -n 1 clang-tidy --quiet -p build/analyse/tidy \
        2>/dev/null || status=1

[ "$status" -eq 0 ] || die "the analysers found something: see above"
say "nothing found"
