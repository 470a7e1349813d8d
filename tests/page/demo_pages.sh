#!/bin/sh
# The demo's page in each language, crowded with a plan of ten days, and the
# sentence that must come first: demo-LANG.html and demo-LANG.line; and its
# morning mail: mails/LANG/mail.html.
#   sh demo_pages.sh PROJECT THAWBELL WRITE_MAIL PAGES
set -eu
project=$1 thawbell=$2 write_mail=$3 pages=$4
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
export HOME="$folder" LC_ALL=C.UTF-8 THAWBELL_DATA="$project"
unset XDG_CONFIG_HOME XDG_STATE_HOME STATE_DIRECTORY COLUMNS
for language in en fr; do
    mkdir "$folder/$language"
    TMPDIR="$folder/$language" "$thawbell" try --lang $language >/dev/null
    cp "$folder/$language"/thawbell-*/public/tamarack-bend/index.html \
        "$pages/demo-$language.html"
    mkdir -p "$pages/mails/$language"
    "$write_mail" \
        "$folder/$language"/thawbell-*/public/tamarack-bend/bulletin.json \
        2026-03-05T06:30:00-05:00 "$pages/mails/$language"
    grep -q "html lang=\"$language\"" "$pages/mails/$language/mail.html"
    # The page tells the hour in which it was made.
    "$thawbell" -c "$folder/$language"/thawbell-*/tamarack-bend.conf \
        --at 2026-03-05T06:00:00-05:00 --lang $language |
        tr -d '\n' >"$pages/demo-$language.line"
done
