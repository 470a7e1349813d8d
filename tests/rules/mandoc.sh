#!/bin/sh
# The manual pages are well-formed mdoc: mandoc -T lint has nothing to say,
# but for pages of ours that this machine has not installed.
#   sh mandoc.sh PAGE…
set -eu
[ $# -gt 0 ] || { echo "no page to check"; exit 1; }
command -v mandoc >/dev/null || { echo "mandoc is missing"; exit 1; }
status=0
for page in "$@"; do
    said=$(mandoc -T lint "$page" | grep -v 'referenced manual not found') ||
        said=
    [ -z "$said" ] || { printf '%s\n' "$said"; status=1; }
done
exit $status
