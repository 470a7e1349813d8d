#!/bin/sh
# Takes what changed in the sources into fr.po: what is new stands there with
# an empty translation, what is gone goes. Usage: update.sh PROJECT
set -eu
cd "$1"
pot=$(mktemp)
trap 'rm -f "$pot"' EXIT
sh src/words/collect.sh "$pot"
msgmerge --quiet --no-fuzzy-matching --no-location --no-wrap --update \
    --backup=none src/words/fr.po "$pot"
msgattrib --no-obsolete --no-location --no-wrap -o src/words/fr.po \
    src/words/fr.po
msgfmt --check --statistics -o /dev/null src/words/fr.po
