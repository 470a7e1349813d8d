#!/bin/sh
# thawbell note and thawbell syrup as the shell sees them.
#   sh notebook.sh THAWBELL
set -u
thawbell=$1
. "$(dirname "$0")/shell.sh"
export COLUMNS=80
now=2026-03-09T19:30:00-04:00
call() { "$thawbell" -c "$conf" --at "$now" "$@"; }

waiting() {
    count=$(find "$1" -name '*.json' 2>/dev/null | wc -l)
    [ "$count" -eq "$2" ] || fail "$count files in $1, not $2"
}

# The demo: an invented operation with a bulletin.
"$thawbell" try >try.out 2>&1 || { cat try.out; exit 1; }
demo=$(echo "$folder"/thawbell-*)
conf=$demo/tamarack-bend.conf

run note list
ends 0; silent err
says out 'Nothing is noted for the season 2026. Begin with such as: thawbell note tapped'
run note season
ends 0; silent err
says out 'Nothing is noted for the season 2026. Begin with such as: thawbell note tapped'
run note tapped all 2026-03-01
ends 0; silent err
says out 'noted as 1: tapped, 2026-03-01 12:00'
run note collected 42 gal at 2.1 Brix from north yesterday 17:00
ends 0
says out 'noted as 2: collected 42 gal, 2.1 Brix, north, 2026-03-08 17:00'
run note collected 40 gal
ends 2; silent out
says err 'thawbell: of which bush? Name one of north, brook, or all'
run note collected 40 north
ends 2; silent out
tells err '"40" has no unit known here'
run note colected 4 gal
ends 2
says err 'thawbell: "colected" cannot be noted; did you mean collected?'
run note
ends 2
run note boiled 60 gal 2.5h 18:00
ends 0
run note drew 1.5 gal 66.9 Brix '62%' light 18:30 --remark 'first, "light"'
ends 0
says out 'noted as 4: drew 1.5 gal, 66.9 Brix, 62% light (amber), "first, "light"", 2026-03-09 18:30'
waiting "$demo/spool" 4
waiting "$folder/.local" 0
run note correct 2 45 gal
ends 0
says out 'number 2 is now: collected 45 gal, 2.1 Brix, north, 2026-03-08 17:00'
run note correct 2 45 gal
ends 2
tells err 'nothing is changed by that'
run note remove 3
ends 0
says out 'removed number 3: boiled 60 gal, 2.5 h, 2026-03-09 18:00'
run note remove 3
ends 2
says err 'thawbell: number 3 is removed already'
run note remove three
ends 2
tells err 'which entry? Give its number'
run note remove 9
ends 2
says err 'thawbell: there is no entry of number 9'
run note list
ends 0; silent err
says out '   2  2026-03-08 17:00  north       collected 45 gal, 2.1 Brix  [waits for thawbelld]'
grep -q 'boiled' out && fail "shows what was removed"
run note list --all
tells out '[removed]'
tells out 'collected 42 gal'
run note list --json
ends 0
grep -q '"number":2' out || fail "no number"
run note season
ends 0
tells out 'Syrup: 1.5 gal in 1 draws'
tells out 'amber 100%'
run note season 2025
ends 0; silent err
says out 'Nothing is noted for the season 2025. There are notes of: 2026'
run note list 2025
says out 'Nothing is noted for the season 2025. There are notes of: 2026'
run note season 2025 --json
ends 0
grep -q '"season":2025.*"draws":0' out || fail "no object for 2025"
run note season --json
ends 0
grep -q '"sap_per_syrup":30' out || fail "no ratio of 30"

# What can hardly be is taken and doubted.
run note boiled 18000 gal
ends 0
tells out 'noted as 5: boiled'
says err 'thawbell: the evaporator takes off about 600 gal in a day and a night; if this is a slip: thawbell note remove 5'
run note correct 5 180 gal
ends 0; silent err
run note remove 5
ends 0

# Out and back into another logbook: the same.
run note export --all
ends 0; silent err
cp out all.csv
run note import all.csv
ends 0
says out '0 noted, 9 were there already'
rm -r "$demo/spool"
run note import all.csv
ends 0
says out '9 noted, 0 were there already'
run note export --all
cmp -s out all.csv || fail "export, import and export differ"
printf 'time,kind,sap_gal,bush\n2026-03-09,collected,x,north\n' >bad.csv
run note import bad.csv
ends 1; silent out
tells err 'bad.csv: line 2'
run note import
ends 2
# A table in litres read as gallons: each is taken, a few are doubted by name.
printf 'time,kind,sap_gal,bush\n' >slip.csv
for day in 1 2 3 4 5 6 7; do
    echo "2025-04-0$day,collected,1200$day,north"
done >>slip.csv
run note import slip.csv
ends 0
says out '7 noted, 0 were there already'
[ "$(grep -c 'thawbell: these taps bring about .* thawbell note remove' err)" \
    -eq 5 ] || fail "not five doubted"
tells err 'thawbell: 2 more of them can hardly be; look at them all'
run note import slip.csv
ends 0; silent err
says out '0 noted, 7 were there already'

# A file in the spool that is none.
echo '{' >"$demo/spool/tamarack-bend.x.json"
run note list
ends 0
tells err 'tamarack-bend.x.json'
rm "$demo/spool/tamarack-bend.x.json"

# At the pan: the sugar that was noted, the forecast's pressure.
now=2026-03-05T06:30:00-05:00
run syrup
ends 0; silent err
tells out 'by the forecast'
tells out 'Never leave the fire'
[ "$(wc -l <out)" -le 30 ] || fail "more than a screen"
awk 'length > 80 { bad = 1 } END { exit bad }' out || fail "wider than 80"
run syrup --json
ends 0
grep -q '"pressure_from":"forecast"' out || fail "not by the forecast"
# More than 6 Brix is concentrate: no sugar of what the plan boils, but of what
# is told to be boiled.
now=2026-03-07T08:00:00-05:00
"$thawbell" try >try.out 2>&1 || { cat try.out; exit 1; }
for demo_conf in "$folder"/thawbell-*/tamarack-bend.conf; do
    [ "$demo_conf" = "$conf" ] || other=$demo_conf
done
own=$conf
conf=$other
run note collected 100 gal at 8 Brix from north 2026-03-06 17:00
ends 0
run syrup
ends 0
tells out 'of 2.0 Brix (assumed)'
run syrup --sap '40 gal'
ends 0
tells out 'of 8.0 Brix'
conf=$own
# A boil of the plan that takes less of the tanks than lights a fire, since the
# day is over before: that is nothing to wait for.
now=2026-03-07T08:00:00-05:00
bulletin=$demo/public/tamarack-bend/bulletin.json
cp "$bulletin" whole.json
/usr/bin/python3 - "$bulletin" <<'END'
import json
import sys
with open(sys.argv[1], encoding="utf-8") as file:
    bulletin = json.load(file)
for action in bulletin["actions"]:
    if action["kind"] == "boil":
        action["sap_l"] = 150
with open(sys.argv[1], "w", encoding="utf-8") as file:
    json.dump(bulletin, file)
END
run syrup
ends 0
tells out '40 gal'
grep -q 'less sap than the smallest boil' out && fail "the plan is doubted"
cp whole.json "$bulletin"
now=2026-03-09T19:30:00-04:00
run syrup
tells out 'of 2.1 Brix (noted Sun 8 Mar)'
run syrup --pressure '1013.25 hPa' --altimeter --cup-temp 60F --units us
ends 0
# Altimeter 29.92 at 450 m is some 28.4 inHg; at 60 F the reading is 66.9.
tells out '28.3'
tells out 'At 60.0 F in the cup: 66.9 Brix, 36.0 Baume.'
run syrup --pressure '29.92 inHg'
ends 0
tells out 'looks reduced to sea level'
run syrup --pressure 960
ends 2; silent out
tells err '"960" has no unit'
run syrup --pressure '96 hPa'
ends 2
run syrup --sea-level
ends 2
tells err 'give that too'
run syrup --pressure '960 hPa' --sea-level --altimeter
ends 2
run syrup --brix 70%
ends 2
run syrup --brix 2.1
ends 0
tells out 'of 2.1 Brix'
run syrup --brix 2,3
ends 0
tells out 'of 2.3 Brix'
for wrong in 70 0 -1 1e999 '2.1 sweet' sweet 2.1.1 ''; do
    run syrup --brix "$wrong"
    ends 2; silent out
    tells err '--brix'
done
run syrup --sap '0 gal'
ends 2
run syrup --cup-temp 300F
ends 2
run syrup --sap '20 gal' --brix 2%
ends 0
tells out 'less sap than the smallest boil'

# Nothing published, one bush, nothing told of the sugarhouse.
mkdir -p plain
cat >plain/bend.conf <<'END'
[operation]
name = Bend
time zone = America/New_York
[bush north]
latitude = 45.06
longitude = -71.90
elevation = 1480 ft
taps = 140
[sources]
use = metno
contact = ann@bush.test
END
conf=plain/bend.conf
run syrup
ends 0; silent err
tells out 'the usual of 1480 ft'
tells out 'of 2.0 Brix (assumed)'
tells out 'Least     not known'
run note collected 10 gal
ends 0
says out 'noted as 1: collected 10 gal, north, 2026-03-09 19:30'
silent err
run note pulled 2026-03-04
ends 0; silent err
run note collected 10 gal
ends 0
says err 'thawbell: the taps were pulled 2026-03-04 12:00; if this is a slip: thawbell note remove 3'
waiting "$folder/.local/state/thawbell/spool" 3

echo "$cases cases"
exit $failed
