#!/bin/sh
# Builds a Debian package of this machine's kind: build/thawbell_VERSION_ARCH.deb
#   contrib/package.sh [cmake option…]
# BUILD names another build folder, and where the package goes.
set -eu
cd "$(dirname "$0")/.."
. contrib/lib.sh

# shellcheck disable=SC2046 # a list of names
install_missing $(packages contrib/packages-build.txt) dpkg-dev
build=${BUILD:-build/package}
mkdir -p build
configure "$build" -DCMAKE_BUILD_TYPE=Release -DBUILD_TESTING=OFF \
    -DCMAKE_INSTALL_PREFIX=/usr -DSOURCE_DATA=OFF "$@"
say "building"
ninja -C "$build" >"$build.log" || { cat "$build.log" >&2; die "ninja failed"; }

version=$(sed -n 's/^project(thawbell VERSION \([0-9.]*\).*/\1/p' CMakeLists.txt)
arch=$(dpkg --print-architecture)
# The same sources give the same bytes: no time but the last change's.
SOURCE_DATE_EPOCH=${SOURCE_DATE_EPOCH:-$(git log -1 --format=%ct 2>/dev/null ||
    echo 0)}
export SOURCE_DATE_EPOCH
root=$build/root
rm -rf "$root"
DESTDIR=$PWD/$root
case $build in /*) DESTDIR=$root ;; esac
DESTDIR=$DESTDIR cmake --install "$build" --strip >/dev/null
install -d -m 755 "$root/DEBIAN" "$root/usr/share/doc/thawbell" \
    "$root/etc/thawbell"
install -m 644 LICENSE "$root/usr/share/doc/thawbell/copyright"
install -m 644 contrib/thawbell.conf.example "$root/usr/share/doc/thawbell"
for script in postinst prerm postrm; do
    install -m 755 "contrib/debian/$script" "$root/DEBIAN/$script"
done
find "$root/usr/share/man" -type f -exec gzip -9n {} +

# dpkg-shlibdeps wants a source package's control file; this one says nothing.
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/debian"
printf 'Source: thawbell\n\nPackage: thawbell\nArchitecture: any\n' \
    >"$work/debian/control"
bin=$(cd "$root/usr" && pwd)
depends=$(cd "$work" && dpkg-shlibdeps -O -e"$bin/bin/thawbell" \
    -e"$bin/sbin/thawbelld" 2>/dev/null | sed -n 's/^shlibs:Depends=//p')
[ -n "$depends" ] || die "dpkg-shlibdeps finds no libraries"
size=$(du -k -s --apparent-size "$root/usr" | cut -f1)
cat >"$root/DEBIAN/control" <<END
Package: thawbell
Version: $version
Architecture: $arch
Maintainer: thawbell maintainers <maintainers@thawbell.invalid>
Installed-Size: $size
Depends: $depends, systemd | systemd-standalone-sysusers, tzdata
Recommends: ca-certificates
Section: science
Priority: optional
Description: when maple sap runs, and what to do about it
 Forecasts for sugarmakers: for each coming day whether the sap of a
 sugarbush will run, how much and when, with a plan for collecting and
 boiling. thawbelld fetches forecasts from open weather services and
 publishes a calendar, a page and files; thawbell shows them in the shell.
END
find "$root" -exec touch -h -d "@$SOURCE_DATE_EPOCH" {} +
package=$(dirname "$build")/thawbell_${version}_$arch.deb
dpkg-deb --root-owner-group -Zxz --build "$root" "$package" >/dev/null
say "$package"
