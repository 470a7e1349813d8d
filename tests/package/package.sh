#!/bin/sh
# The Debian package: built by its one command, installed into a root of its
# own, run from there, removed and purged, with nothing left behind.
#   sh package.sh PROJECT_DIR BUILD_DIR
set -eu
project=$1
build=$2

skip() {
    echo "skipped: $1"
    [ "${CI:-}" = true ] && exit 1
    exit 77
}
fail() {
    echo "FAILED: $1"
    exit 1
}

for tool in dpkg-deb dpkg-shlibdeps systemd-sysusers systemd-tmpfiles; do
    command -v $tool >/dev/null || skip "needs $tool"
done
[ "$(id -u)" -eq 0 ] || skip "needs root, to install into another root"

BUILD=$build sh "$project/contrib/package.sh" >"$build.said" 2>&1 || {
    cat "$build.said"
    fail "no package"
}
package=$(sed -n 's/^== \(.*\.deb\)$/\1/p' "$build.said")
[ -f "$package" ] || fail "no package"

root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
mkdir -p "$root/var/lib/dpkg/updates" "$root/var/lib/dpkg/info" \
    "$root/etc" "$root/var/log"
: >"$root/var/lib/dpkg/status"
: >"$root/var/lib/dpkg/available"

in_root() {
    dpkg --root="$root" --force-script-chrootless --force-depends "$@" \
        >>"$root/var/log/said" 2>&1 || {
        cat "$root/var/log/said"
        fail "dpkg $*"
    }
}
files() {
    (cd "$root" && find . -path ./var/lib/dpkg -prune -o -path ./var/log \
        -prune -o ! -type d -print | sort)
}

files >"$build.before"
in_root --install "$package"
grep -q '^thawbell:' "$root/etc/passwd" || fail "no user"
[ "$(stat -c %a "$root/var/spool/thawbell")" = 2770 ] || fail "no spool"
"$root/usr/sbin/thawbelld" --version | grep -q '^thawbelld [0-9]' ||
    fail "thawbelld does not run"
TMPDIR=$root HOME=$root "$root/usr/bin/thawbell" try >/dev/null ||
    fail "thawbell try does not run"
grep -q '^ExecStart=/usr/sbin/thawbelld$' \
    "$root/usr/lib/systemd/system/thawbelld.service" || fail "the unit"
for page in man1/thawbell.1 man5/thawbell.conf.5 man8/thawbelld.8; do
    [ -f "$root/usr/share/man/$page.gz" ] || fail "no $page"
done
if grep -q -F -e "$project" "$root/usr/sbin/thawbelld" \
    "$root/usr/bin/thawbell"; then
    fail "it names the folder it was built from"
fi
rm -rf "$root"/thawbell-*

# What is the operator's stays on removal, and goes on purge.
echo "[operation]" >"$root/etc/thawbell/mine.conf"
mkdir -p "$root/var/lib/thawbell"
echo data >"$root/var/lib/thawbell/thawbell.db"
in_root --remove thawbell
[ ! -e "$root/usr/sbin/thawbelld" ] || fail "not removed"
[ -s "$root/var/lib/thawbell/thawbell.db" ] || fail "the store is gone"
in_root --purge thawbell
[ ! -e "$root/var/lib/thawbell" ] || fail "the store is left"
[ -s "$root/etc/thawbell/mine.conf" ] || fail "a file not ours is gone"
rm -r "$root/etc/thawbell"
files | grep -v -e '^./etc/passwd' -e '^./etc/group' -e '^./etc/shadow' \
    -e '^./etc/gshadow' -e '^./etc/.pwd.lock' >"$build.after" || :
diff "$build.before" "$build.after" || fail "files are left"
[ ! -e "$root/usr/share/thawbell" ] || fail "a folder is left"
echo "installed, run, removed and purged: $(basename "$package")"
