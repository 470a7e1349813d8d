#!/bin/sh
# contrib/completions and contrib/thawbell.conf.example are what the program
# prints today.
#   sh completions.sh THAWBELL PROJECT_DIR [--write]
set -eu
thawbell=$1
folder=$2/contrib/completions
fresh=$(mktemp -d)
trap 'rm -rf "$fresh"' EXIT

"$thawbell" --completion bash >"$fresh/thawbell.bash"
"$thawbell" --completion zsh >"$fresh/_thawbell"
"$thawbell" --completion fish >"$fresh/thawbell.fish"
"$thawbell" check --example >"$fresh/thawbell.conf.example"

if [ "${3-}" = --write ]; then
    mkdir -p "$folder"
    cp "$fresh"/*thawbell* "$folder"
    mv "$folder/thawbell.conf.example" "$2/contrib"
    exit 0
fi
bash -n "$fresh/thawbell.bash"
mv "$fresh/thawbell.conf.example" "$fresh/example"
status=0
for name in thawbell.bash _thawbell thawbell.fish; do
    diff -u "$folder/$name" "$fresh/$name" || status=1
done
diff -u "$2/contrib/thawbell.conf.example" "$fresh/example" || status=1
[ $status -eq 0 ] ||
    echo "stale; bring up to date: sh tests/rules/completions.sh $1 . --write"
exit $status
