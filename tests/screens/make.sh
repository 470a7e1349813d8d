#!/bin/sh
# What people see, of the demo: text into OUT, and with --pictures the page
# and the mail as a browser shows them.
#   sh make.sh THAWBELL WRITE_MAIL OUT [--pictures]
set -eu
here=$(cd "$(dirname "$0")" && pwd)
thawbell=$1 write_mail=$2
mkdir -p "$3"
out=$(cd "$3" && pwd)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
export HOME="$folder" TMPDIR="$folder" LC_ALL=C.UTF-8 TERM=dumb
export THAWBELL_DATA="${here%/tests/screens}"
unset XDG_CONFIG_HOME XDG_STATE_HOME STATE_DIRECTORY COLUMNS
at=2026-03-05T06:30:00-05:00

missing() {
    echo "skipped: needs $1"
    [ "${CI:-}" = true ] && exit 1
    exit 77
}

command -v khal >/dev/null || missing "the package khal"
"$thawbell" try >/dev/null
mkdir -p "$folder/.config"
mv "$folder"/thawbell-* "$folder/.config/thawbell"
public=$folder/.config/thawbell/public/tamarack-bend

# screen NAME COLUMNS AT WORDS…: the command as typed, and what it says.
screen() {
    name=$1 columns=$2 time=$3
    shift 3
    {
        printf '$ thawbell%s\n' "${*:+ $*}"
        COLUMNS=$columns "$thawbell" --at "$time" "$@" 2>&1 || true
    } | sed "s|$folder|~|g" >>"$out/$name.txt"
}

rm -f "$out"/*.txt
screen line 80 $at
for time in 2026-03-05T19:00:00-05:00 2026-03-07T15:30:00-05:00 \
    2026-03-20T12:00:00-04:00; do
    printf '\nAt %s, without a new forecast:\n' "$time" >>"$out/line.txt"
    screen line 80 $time
done
screen week-80 80 $at week
screen week-120 120 $at week
screen week-fr 80 $at week --lang fr --units metric
screen why 80 $at why 2026-03-07
screen check 80 $at check
screen syrup 80 $at syrup
screen bar 80 $at bar
screen bar 80 $at bar --json

cat >"$folder/sugarbush.conf" <<'END'
[operation]
time zone = America/New York
[bush north]
latitude = 45.06 N
longitude = -71.90
elevation = 1480
species = sugar mapel
[sugarhouse]
storage = 300
[sources]
use = nws, metno, openmeteo
contact = ann
[mial]
to = ann@example.org
END
cd "$folder"
screen check-error 80 $at check sugarbush.conf

# The calendar as a terminal calendar lists it.
mkdir "$folder/sap"
cat >"$folder/khal.conf" <<END
[calendars]
[[sap]]
path = $folder/sap
[locale]
local_timezone = America/New_York
default_timezone = America/New_York
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
[default]
default_calendar = sap
[sqlite]
path = $folder/khal.db
END
khal -c "$folder/khal.conf" import --batch -a sap "$public/calendar.ics" \
    >/dev/null
{
    printf '$ khal list 2026-03-05 10d\n'
    khal -c "$folder/khal.conf" list --notstarted \
        --format '{start-end-time-style:11} {title}' 2026-03-05 10d
    printf '\n$ khal list --format "{title}: {description}" 2026-03-07 1d\n'
    khal -c "$folder/khal.conf" list --format '{title}:
{description}' 2026-03-07 1d
} >"$out/calendar.txt"

"$write_mail" "$public/bulletin.json" $at "$folder"
cp "$folder/mail.txt" "$out/mail.txt"

cp "$public/index.html" "$folder/page.html"
# What the pictures show, as a digest: it tells when they are no longer true.
(cd "$folder" && sha256sum mail.html page.html) >"$out/pictures.txt"
[ "${4-}" = --pictures ] || exit 0
mkdir -p "$out/node"
cd "$out/node"
sh "$here/../peers/peer.sh" node "$here" pictures.mjs "$folder" "$out"
sh "$here/../peers/peer.sh" python PIL "$here/shrink.py" "$out"/*.png
(cd "$out" && sha256sum ./*.png) >"$out/pictures.sha256"
