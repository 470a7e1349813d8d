#!/bin/sh
# Requests a second with 100 connections, beside nginx serving the same file:
# at least half as many, and no error; answers of 304 included.
#   sh load.sh SERVE_FOLDER SECONDS SHARE
# SHARE: the least share of nginx's speed, in per cent (0: errors alone count).
set -eu
program=$1 seconds=$2 share=$3
PATH="$PATH:/usr/sbin"
for peer in wrk h2load nginx; do
    command -v $peer >/dev/null 2>&1 || {
        echo "skipped: needs $peer of the system's packages"
        [ "${CI:-}" = true ] && exit 1
        exit 77
    }
done

folder=$(mktemp -d)
server= proxy=
finish() {
    [ -z "$server" ] || kill "$server" 2>/dev/null || true
    [ -z "$proxy" ] || kill "$proxy" 2>/dev/null || true
    wait 2>/dev/null || true
    rm -rf "$folder"
}
trap finish EXIT
mkdir "$folder/public"
"$program" --make "$folder/public" 0

mkfifo "$folder/in"
# As thawbelld runs it: its limits, its one thread (0 each). nginx gets as many
# workers as its "auto" gives it on two cores.
"$program" "$folder/public" 127.0.0.1:0 0 0 0 <"$folder/in" >"$folder/port" &
server=$!
exec 3>"$folder/in"
for _ in 1 2 3 4 5 6 7 8 9 10; do
    [ -s "$folder/port" ] && break
    sleep 0.3
done
ours="http://127.0.0.1:$(cat "$folder/port")/$(cat "$folder/public/token")"

free_port() {
    /usr/bin/python3 -c 'import socket; s = socket.create_server(
("127.0.0.1", 0)); print(s.getsockname()[1])'
}
port=$(free_port)
cat >"$folder/nginx.conf" <<END
worker_processes 2;
pid $folder/nginx.pid;
error_log $folder/nginx.log;
events { worker_connections 512; }
http {
    types { text/calendar ics; text/html html; application/json json; }
    access_log off;
    keepalive_requests 100000000;
    client_body_temp_path $folder; proxy_temp_path $folder;
    fastcgi_temp_path $folder; uwsgi_temp_path $folder;
    scgi_temp_path $folder;
    server { listen 127.0.0.1:$port; root $folder/public; etag on; }
}
END
chmod 755 "$folder" "$folder/public"
chmod 644 "$folder/public/"*.*
nginx -c "$folder/nginx.conf" -e "$folder/nginx.log" -g 'daemon off;' &
proxy=$!
sleep 0.5

# speed NAME WRK-OPTIONS… URL: requests a second into $speed; fails on errors.
speed() {
    name=$1
    shift
    wrk -t2 -c100 -d"${seconds}s" "$@" >"$folder/wrk" 2>&1
    speed=$(sed -n 's/^Requests\/sec: *\([0-9]*\).*/\1/p' "$folder/wrk")
    if grep -q 'Socket errors\|Non-2xx' "$folder/wrk" || [ -z "$speed" ]; then
        cat "$folder/wrk"
        echo "FAILED: $name: errors"
        exit 1
    fi
    printf '%-28s %8d requests/s\n' "$name" "$speed"
}

# The same for answers of 304. By h2load: the parser inside wrk waits for a body
# after a 304 with a length, which RFC 9110 (section 8.6) allows.
speed_304() {
    name=$1 url=$2
    tag=$(/usr/bin/python3 -c 'import sys, urllib.request
print(urllib.request.urlopen(sys.argv[1]).headers["ETag"])' "$url")
    h2load --h1 -t2 -c100 -D"$seconds" -H "If-None-Match: $tag" "$url" \
        >"$folder/h2load" 2>&1
    speed=$(sed -n 's/^finished in .*, \([0-9]*\)[.0-9]* req.*/\1/p' \
        "$folder/h2load")
    if ! grep -q ' 0 failed, 0 errored, 0 timeout' "$folder/h2load" ||
        ! grep -q '^status codes: 0 2xx, [1-9][0-9]* 3xx, 0 4xx, 0 5xx' \
            "$folder/h2load"; then
        cat "$folder/h2load"
        echo "FAILED: $name: errors"
        exit 1
    fi
    printf '%-28s %8d requests/s\n' "$name" "$speed"
}

failed=0
# compare NAME SPEED-COMMAND FILE WRK-OPTIONS…: a machine that does other
# things at times slows one of the two, so each gets three tries.
compare() {
    what=$1 how=$2 file=$3
    shift 3
    for _ in 1 2 3; do
        $how "nginx $what" "$@" "http://127.0.0.1:$port/$file"
        least=$((speed * share / 100))
        $how "thawbell $what" "$@" "$ours/$file"
        [ "$speed" -lt "$least" ] || return 0
    done
    echo "FAILED: $what: less than $share % of nginx"
    failed=1
}
compare calendar speed calendar.ics
compare "calendar, 304" speed_304 calendar.ics
compare page speed index.html
compare "page, gzip" speed index.html -H 'Accept-Encoding: gzip'
exit $failed
