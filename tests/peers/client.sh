#!/bin/sh
# The client as the shell sees it: exit status, what goes to standard output
# and what to standard error.
#   sh client.sh THAWBELL
set -u
thawbell=$1
. "$(dirname "$0")/shell.sh"
call() { "$thawbell" "$@"; }

mkdir -p good bad
cat >good/bend.conf <<'END'
[operation]
name = Tamarack Bend
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
cat >bad/bad.conf <<'END'
[bush north]
latitude = 95
longitude = -71.90
elevation = 1480
[sources]
use = metnno
contact = ann@bush.test
END

run --version
ends 0; silent err
grep -qE '^thawbell [0-9]+\.[0-9]+\.[0-9]+$' out || fail "no version"
run --help
ends 0; silent err
says out 'Usage: thawbell [COMMAND] [OPTIONS]'
run check --help
ends 0; silent err
says out 'Usage: thawbell check [FILE] [OPTIONS]'
run wek
ends 2; silent out
says err 'thawbell: command "wek" is not known; did you mean week?'
run transmogrify
ends 2; silent out
says err 'thawbell: command "transmogrify" is not known; see thawbell --help'
run --unit us check
ends 2; silent out
says err 'thawbell: option --unit is not known; did you mean --units?'
run check one two
ends 2; silent out
says err 'thawbell: "two" is a word too many. Usage: thawbell check [FILE]'
run decode metno
ends 2; silent out
says err 'thawbell: a word is missing. Usage: thawbell decode SERVICE FILE'

# What can be done with the store.
run store
ends 2; silent out
says err 'thawbell: a word is missing. Usage: thawbell store check|backup FILE|export [FILE]'
run store frob
ends 2; silent out
says err 'thawbell: store "frob" is not known; it is store check, store backup FILE or store export [FILE]'
run store bakup copy.db
ends 2; silent out
says err 'thawbell: store "bakup" is not known; did you mean store backup?'
run store check extra
ends 2; silent out
says err 'thawbell: "extra" is a word too many. Usage: thawbell store check'
run store export one two
ends 2; silent out
says err 'thawbell: "two" is a word too many. Usage: thawbell store check|backup FILE|export [FILE]'
run store backup
ends 2; silent out
says err 'thawbell: a word is missing. Usage: thawbell store backup FILE'
run store backup ''
ends 2; silent out
says err 'thawbell: the name of the file is empty. Usage: thawbell store backup FILE'
run store export --from none.db
ends 1; silent out
says err 'thawbell: none.db: there is no store yet'

# Written to a full disk is not written.
if [ -w /dev/full ]; then
    ran="thawbell check --keys >/dev/full"
    "$thawbell" check --keys >/dev/full 2>err
    status=$?
    : >out
    ends 1
    says err 'thawbell: the output could not be written'
fi

run check
ends 2; silent out
says err "thawbell: no configuration: there is no *.conf in \
$folder/.config/thawbell, nor in /etc/thawbell. \"thawbell check --example\" \
prints one to start from"
run check bad/bad.conf
ends 2; silent out
says err 'bad/bad.conf:1: [bush north] has no taps. Needed: how many taps, a whole number from 1 to 100000'
says err 'bad/bad.conf:2: latitude = 95 is out of range. Allowed: degrees from -90 to 90, north of the equator positive, such as 45.06'
says err 'bad/bad.conf:4: elevation = 1480: "1480" has no unit; write one of: m or ft'
says err 'bad/bad.conf:6: use: "metnno" is not known; did you mean "metno"? Allowed: weather services in the order of preference, with commas, such as nws, metno, open-meteo'
says err 'bad/bad.conf: 4 errors'
run check nowhere.conf
ends 2; silent out
says err 'nowhere.conf: cannot be read: No such file or directory'

run -c good check
ends 0; silent err
says out 'good/bend.conf: configuration OK'
says out '  operation     Tamarack Bend'
says out '  bush north    140 taps, sugar maple, buckets, at 45.0600, -71.9000 and 1480 ft'
says out '  nothing yet; "thawbelld --once" makes the first forecast'
run check good/bend.conf --units metric
ends 0
says out '  bush north    140 taps, sugar maple, buckets, at 45.0600, -71.9000 and 451 m'
run check -q good/bend.conf
ends 0; silent out; silent err
run check --json good/bend.conf
ends 0; silent err
grep -q '"ok":true' out || fail "not ok"
run check --json bad/bad.conf
ends 2; silent err
grep -q '"ok":false' out || fail "ok"
run check -o brook good/bend.conf
ends 2; silent out
says err 'thawbell: no operation is called "brook"'

# Two files of one name, in the personal folder.
mkdir -p .config/thawbell
cp good/bend.conf .config/thawbell/a.conf
cp good/bend.conf .config/thawbell/b.conf
run check
ends 2
says err "$folder/.config/thawbell/b.conf:1: the name \"Tamarack Bend\" is \
too like that of $folder/.config/thawbell/a.conf; two operations need two \
names"
rm -r .config

# Secrets that others may read.
cp good/bend.conf mail.conf
cat >>mail.conf <<'END'
[mail]
server = smtps://mail.bush.test
user = ann
password file = secret
from = ann@bush.test
to = ann@bush.test
END
run check mail.conf
ends 0
says out '  password file: secret cannot be read: No such file or directory'
echo word >secret
chmod 644 secret
run check mail.conf
ends 0
says out '  password file: others may read secret, and so it will be refused; chmod 600 secret'
chmod 600 secret
run check mail.conf
ends 0
grep -q 'password file:' out && fail "warns for nothing"

# What is missing on this machine, and a date left over from last season.
sed -e '/^taps/a tapped = 2026-03-01' \
    -e '/^use/a station = file:none.csv' \
    -e '/^name/a models = nowhere' good/bend.conf >files.conf
run check --at 2027-03-01T12:00Z files.conf
ends 0
says out '  station: none.csv cannot be read: No such file or directory; the forecast goes on without it'
says out '  models: nowhere cannot be read: No such file or directory'
says out "  bush north: tapped 2026-03-01 is of a season that is over; write this season's date"
run check --at 2025-12-01T12:00Z files.conf
says out '  bush north: tapped 2026-03-01 is more than two months ahead'
run check --at 2026-03-20T12:00Z files.conf
grep -q tapped.2026-03-01.is out && fail "doubts a date of this season"
sed -e 's/^use.*/use = open-meteo/' -e '/^use/a open-meteo key = S3CRET' \
    good/bend.conf >key.conf
chmod 644 key.conf
run check -v key.conf
ends 0
says out '  key.conf: it holds an access key, and anybody on this machine may read it; chmod o= key.conf'
grep -q S3CRET out err && fail "shows a secret"

# The demo's operation, by its age.
run try
ends 0
conf=$(echo "$folder"/thawbell-*/tamarack-bend.conf)
# Of several operations a line each; one that fails does not silence others.
mkdir -p several
cp -r "$(dirname "$conf")"/* several/
sed 's/^name = .*/name = Cedar Flat/' good/bend.conf >several/a.conf
run -c several --at 2026-03-05T08:30:00-05:00 -o all
ends 1
says out \
    'Tamarack Bend: Nothing to do until Sat. Weeping today, 6 gal. 21 F tonight.'
grep -q '^thawbell: nothing is published for Cedar Flat yet' err ||
    fail "does not say what is missing"
run -c several --at 2026-03-05T08:30:00-05:00 -o all --json
[ "$(grep -c '^{"version":1' out)" -eq 1 ] || fail "is not JSON a line"
rm several/a.conf
run -c several --at 2026-03-05T08:30:00-05:00 -o all
ends 0; silent err

bulletin=$(dirname "$conf")/public/tamarack-bend/bulletin.json
run -c "$conf" --at 2026-03-05T08:30:00-05:00 check
ends 0; silent err
says out '  bulletin 2 h old, its weather 2 h old'
run -c "$conf" --at 2026-03-09T08:30:00-05:00 check
ends 1
says err "$bulletin: its weather is 4 days old; is thawbelld running, and \
the network up?"
echo '{"version": 1' >"$bulletin"
run -c "$conf" check -q
ends 1; silent out
grep -q "^$bulletin cannot be used: " err || fail "does not say why"

# The example is a configuration that works as it is.
run check --example
ends 0
cp out example.conf
run check example.conf
ends 0

run check --explain taps
ends 0
says out '[bush NAME] taps (needed)'
run check --explain tpas
ends 2; silent out
says err 'thawbell: key "tpas" is not known; did you mean "taps"?'

printf '%d calls of the client looked at\n' "$cases"
[ "$cases" -ge 36 ] || failed=1
exit $failed
