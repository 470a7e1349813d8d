#!/bin/sh
# The client on a terminal: width, colour, and the words for a status bar.
#   sh terminal.sh THAWBELL PROJECT_DIR
set -u
thawbell=$1 project=$2
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
export HOME="$folder" TMPDIR="$folder" LC_ALL=C.UTF-8 TERM=xterm
unset XDG_CONFIG_HOME XDG_STATE_HOME STATE_DIRECTORY NO_COLOR COLUMNS
at=2026-03-05T08:00:00-05:00
failed=0
cases=0

fail() {
    printf 'FAILED: %s\n' "$1"
    failed=1
}

is() { # WHAT COMMAND…: the command must succeed
    cases=$((cases + 1))
    what=$1
    shift
    "$@" || fail "$what"
}

not() { ! "$@"; }

# on_terminal COLUMNS COMMAND: what a terminal of that width is sent.
on_terminal() {
    script -qec "stty cols $1 rows 40; $2" /dev/null </dev/null | tr -d '\r'
}

widest() {
    sed 's/\x1b\[[0-9;]*m//g' "$1" | awk '{ if (length > n) n = length }
                                          END { print n + 0 }'
}

command -v script >/dev/null || {
    echo "skipped: needs script of the package bsdutils"
    [ "${CI:-}" = true ] && exit 1
    exit 77
}

"$thawbell" try >/dev/null || fail "try"
mkdir -p "$folder/.config"
mv "$folder"/thawbell-* "$folder/.config/thawbell"
cd "$folder" || exit 1
week="'$thawbell' --at $at week"

# Width.
for columns in 60 80 120; do
    on_terminal $columns "$week" >week.$columns
    is "the week fits $columns" [ "$(widest week.$columns)" -le $columns ]
done
is "the week uses 120" [ "$(widest week.120)" -gt 80 ]
is "80 has the range" grep -q '^Day .*Range' week.80
is "80 leaves the frost out" not grep -q '^Day .*Frost' week.80
is "120 has the frost" grep -q '^Day .*Frost' week.120
COLUMNS=100 "$thawbell" --at $at week >week.piped
is "a pipe follows COLUMNS" [ "$(widest week.piped)" -le 100 ]
for columns in 60 80; do
    on_terminal $columns "'$thawbell' --at $at why" >why.$columns
    is "why fits $columns" [ "$(widest why.$columns)" -le $columns ]
done
on_terminal 60 "'$thawbell' --at $at" >line.60
is "the line fits 60" [ "$(widest line.60)" -le 60 ]
is "the line is one" [ "$(wc -l <line.60)" -eq 1 ]

# Colour: on a terminal alone, and never alone to carry meaning.
escape=$(printf '\033')
"$thawbell" --at $at week >plain
NO_COLOR=1 on_terminal 80 "$week" >no-color
NO_COLOR='' on_terminal 80 "$week" >empty
TERM=dumb on_terminal 80 "$week" >dumb
is "a terminal gets colour" grep -q "$escape" week.80
is "an empty NO_COLOR is none" grep -q "$escape" empty
is "a pipe gets none" not grep -q "$escape" plain
is "NO_COLOR gets none" not grep -q "$escape" no-color
is "TERM=dumb gets none" not grep -q "$escape" dumb
is "plain says the same" cmp -s plain no-color
is "dumb says the same" cmp -s plain dumb
sed 's/\x1b\[[0-9;]*m//g' week.80 >uncoloured
is "colour adds nothing but itself" cmp -s plain uncoloured

# What takes longer says what it is at, to a terminal alone, and goes again.
awk 'BEGIN { print "date,tmin_c,tmax_c"
             for (i = 1; i <= 31; i++)
                 printf "2026-03-%02d,%d,%d\n", i, -6 + i % 4, 4 + i % 5 }' \
    >weather.csv
awk 'BEGIN { print "date,sap_l"
             for (i = 3; i <= 30; i += 2) printf "2026-03-%02d,60\n", i }' \
    >sap.csv
fit="'$thawbell' fit --weather weather.csv --sap sap.csv --taps 50"
sh -c "$fit" >fit.out 2>fit.err
on_terminal 80 "$fit" >fit.terminal
TERM=dumb on_terminal 80 "$fit" >fit.dumb
is "a fit is done" grep -q . fit.out
is "a pipe hears of no progress" [ ! -s fit.err ]
is "a terminal does" grep -q 'Fitting to 14 collections' fit.terminal
is "and is clean after it" grep -q "^$escape\\[KFitting.*$escape\\[K" fit.terminal
is "a dumb one too" grep -q '^Fitting to 14 collections...$' fit.dumb
is "without escapes" not grep -q "$escape" fit.dumb

# Status bars.
cat >bar.py <<'END'
import json, sys
from xml.etree import ElementTree
line = sys.stdin.read()
assert line.endswith("\n") and line.count("\n") == 1, "not one line"
bar = json.loads(line)
assert bar["version"] == 1
for key in ("text", "tooltip"):
    told = ElementTree.fromstring("<markup>" + bar[key] + "</markup>")
    assert told.text, key + " is empty"
plain = ElementTree.fromstring("<markup>" + bar["text"] + "</markup>").text
assert plain == bar["full_text"] and 0 < len(plain) <= 40, plain
assert 0 < len(bar["short_text"]) <= 24
assert 0 <= bar["percentage"] <= 100
assert bar["class"][0] in ("none", "weeping", "fair-run", "good-run",
                           "big-run", "unknown"), bar["class"]
assert bar["class"][1:] == ([] if sys.argv[1] == "new" else ["old"])
assert (sys.argv[2] in bar["tooltip"]), bar["tooltip"]
END
bar() { # AGE WORDS OPTION…
    age=$1 words=$2
    shift 2
    "$thawbell" bar --json "$@" >bar.json 2>bar.err || return 1
    [ ! -s bar.err ] && python3 bar.py "$age" "$words" <bar.json
}
is "bar, new" bar new '
Sat 7 Mar: good run' --at $at
is "bar, old" bar old 'Forecast 12 h old' --at 2026-03-05T18:30:00-05:00
is "bar, run out" bar old 'has run out' --at 2026-06-01T12:00Z
is "bar, a clock that is wrong" bar old 'clock right' --at 2020-01-01T00:00Z
is "bar, no configuration" bar old 'cannot be read' -c '/<none>&'
is "bar, no such operation" bar old 'no operation is called' -o Nobody
bulletin=$(echo "$folder"/.config/thawbell/public/*/bulletin.json)
printf '{"version":' >"$bulletin"
is "bar, broken" bar old 'bulletin.json' --at $at
rm "$bulletin"
is "bar, nothing yet" bar old 'thawbelld --once' --at $at
is "bar, plain" [ "$("$thawbell" bar)" = 'No current sap forecast' ]

# What the snippets call.
mkdir bin
ln -s "$thawbell" bin/thawbell
snippets() {
    grep -ho 'thawbell [a-z -]*[a-z]' "$project"/contrib/status-bar/*.* |
        sort -u
}
is "two commands in the snippets" [ "$(snippets | wc -l)" -eq 2 ]
for words in $(snippets | tr ' ' '_'); do
    words=$(echo "$words" | tr _ ' ')
    PATH="$PWD/bin:$PATH" sh -c "$words" >snippet || fail "$words"
    is "$words says something" [ -s snippet ]
done
sed 's|^ *//.*||; 1i {' "$project/contrib/status-bar/waybar.jsonc" >waybar.json
echo '}' >>waybar.json
is "waybar's snippet is JSON" python3 -m json.tool waybar.json /dev/null

printf '%d looked at\n' "$cases"
[ "$cases" -ge 39 ] || failed=1
exit $failed
