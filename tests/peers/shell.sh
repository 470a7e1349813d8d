# For tests of the client as the shell sees it: a folder of its own, and what
# is said of a call. Before it is read, $thawbell; after it, call WORDS…: how
# the client is called.
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
export HOME="$folder" TMPDIR="$folder" LC_ALL=C
unset XDG_CONFIG_HOME XDG_STATE_HOME STATE_DIRECTORY
cd "$folder" || exit 1
failed=0
cases=0

# run WORDS…: the status in $status, the output in out and err.
run() {
    ran="thawbell $*"
    cases=$((cases + 1))
    call "$@" >out 2>err
    status=$?
}

fail() {
    printf 'FAILED: %s: %s\n--- out\n' "$ran" "$1"
    cat out
    printf '%s\n' '--- err'
    cat err
    failed=1
}

ends() { [ "$status" -eq "$1" ] || fail "ends with $status, not $1"; }

# says FILE LINE: the line is in it, whole.
says() { grep -qxF -- "$2" "$1" || fail "$1 does not say: $2"; }

# tells FILE WORDS: they are in it.
tells() { grep -qF -- "$2" "$1" || fail "$1 does not tell: $2"; }

silent() { [ ! -s "$1" ] || fail "$1 is not empty"; }
