#!/bin/sh
# Holds docs/screens against what the program says now.
#   sh compare.sh MADE SCREENS COMMAND…   runs COMMAND… MADE, then compares
#   sh compare.sh MADE SCREENS --write    puts what was made in its place
set -eu
made=$1 screens=$2
shift 2
if [ "$1" = --write ]; then
    mkdir -p "$screens"
    cp "$made"/*.txt "$made"/*.png "$made"/pictures.sha256 "$screens"
    exit 0
fi
code=0
"$@" "$made" || code=$?
[ $code -eq 0 ] || exit $code
names=$(cd "$made" && ls -- *.txt)
[ "$(echo "$names" | wc -l)" -ge 12 ] || {
    echo "too few screens were made"
    exit 1
}
for name in $names; do
    diff -u "$screens/$name" "$made/$name" || code=1
done
for name in "$screens"/*.txt "$screens"/*.png; do
    [ -f "$name" ] || { echo "no screens in $screens"; exit 1; }
    case $name in *.png) continue ;; esac
    [ -f "$made/${name##*/}" ] || { echo "$name is made no more"; code=1; }
done
for name in page-phone page-desktop mail-light mail-dark; do
    [ -s "$screens/$name.png" ] || { echo "no $name.png"; code=1; }
    grep -q "/$name.png\$" "$screens/pictures.sha256" || code=1
done
(cd "$screens" && sha256sum --quiet --check pictures.sha256) || code=1
[ $code -eq 0 ] || echo "stale; look at them, then: ninja screens"
exit $code
