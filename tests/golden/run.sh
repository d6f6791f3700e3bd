#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs the program as each case says and compares what it prints, letter by letter; from the top of the repository.
#   B=build/release sh tests/golden/run.sh [tests/golden/CASE...]       compares: TAP lines, differences as "# ..."
#   B=build/release GOLDEN=write sh tests/golden/run.sh [CASE...]       rewrites what is expected
# A case is a folder of four files: cmd, stdout, stderr, exit. cmd holds one line, the arguments; a shell reads it,
# so it may redirect, or go on after a semicolon with "$EVENFEED". What it writes goes to the empty folder "$OUT",
# whose name appears as OUT in what is expected.
set -u

EVENFEED=${EF_PROGRAM:-$PWD/${B:-build/release}/evenfeed}
export EVENFEED LC_ALL=C.UTF-8 TZ=UTC NO_COLOR=1
if [ ! -x "$EVENFEED" ]; then
    echo "golden/run.sh: there is no $EVENFEED" >&2
    exit 1
fi
scratch=$(mktemp -d) || exit 1
trap 'rm -rf "$scratch"' EXIT
[ "$#" -gt 0 ] || set -- tests/golden/*/

# run CASE: leaves stdout, stderr and exit in $scratch/got.
run() {
    rm -rf "$scratch/got" "$scratch/out"
    mkdir "$scratch/got" "$scratch/out"
    OUT=$scratch/out timeout 60 sh -c "\"\$EVENFEED\" $(cat "$1/cmd")" \
        >"$scratch/stdout" 2>"$scratch/stderr" </dev/null
    echo "$?" >"$scratch/got/exit"
    for stream in stdout stderr; do
        sed "s|$scratch/out|OUT|g" "$scratch/$stream" >"$scratch/got/$stream"
    done
}

number=0
failed=0
for case in "$@"; do
    case=${case%/}
    number=$((number + 1))
    if [ "$(cat "$case/cmd" | wc -l)" != 1 ]; then
        failed=1
        echo "not ok $number - $case: cmd must hold one line"
        continue
    fi
    run "$case"
    if [ "${GOLDEN:-}" = write ]; then
        cp "$scratch/got/stdout" "$scratch/got/stderr" "$scratch/got/exit" "$case/"
        echo "written: $case (exit code $(cat "$case/exit"))"
        continue
    fi
    differs=
    for file in exit stderr stdout; do
        diff -u --label "$case/$file expected" --label "$case/$file found" "$case/$file" "$scratch/got/$file" \
            >"$scratch/difference" 2>&1 || differs=yes
        sed 's/^/# /' "$scratch/difference"
    done
    if [ -z "$differs" ]; then
        echo "ok $number - $case"
    else
        failed=1
        echo "not ok $number - $case"
    fi
done
[ "$number" -gt 0 ] && [ "$failed" = 0 ]
