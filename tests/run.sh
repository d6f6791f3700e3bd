#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs the tests, from the top of the repository, and says what came out.
#   B=build/release [T=part-of-a-path] [RUNNER='valgrind -q'] sh tests/run.sh TEST-PROGRAM...
# T picks what to run by its path; RUNNER goes before each test program, which are then all that is run.
# Every job prints TAP lines (as cmocka does on request), and "SKIP name: reason" for what it had to leave out.
# Output is shown of jobs that fail; the last line counts.
set -u

B=${B:-build/release}
T=${T:-}
RUNNER=${RUNNER:-}
VARIANT=${VARIANT:-release}
JOBS=${JOBS:-2}
work=${EF_CHECK_DIR:-$B/check}
limit_s=300
[ -z "$RUNNER" ] || limit_s=1800
export B RUNNER VARIANT
export CC="${CC:-cc}" CMOCKA_MESSAGE_OUTPUT=TAP LC_ALL=C.UTF-8
unset CDPATH GOLDEN
# A leak reported at the end must show in the exit code.
export ASAN_OPTIONS="${ASAN_OPTIONS:-detect_leaks=1}" UBSAN_OPTIONS="${UBSAN_OPTIONS:-print_stacktrace=1}"
if [ -x "$B/evenfeed" ]; then
    export EF_PROGRAM="$PWD/$B/evenfeed"
else
    unset EF_PROGRAM
fi

# One job of the list: its output, exit code and scratch folder stay under $work/NUMBER.
if [ "${1:-}" = --job ]; then
    here=$2/$3
    mkdir -p "$here/tmp"
    command=$(cat "$here/command")
    TMPDIR=$PWD/$here/tmp timeout -k 10 "$limit_s" sh -c "$command" >"$here/output" 2>&1 </dev/null
    code=$?
    [ "$code" != 124 ] || echo "ended after $limit_s s" >>"$here/output"
    rm -rf "$here/tmp"
    echo "$code" >"$here/code.new" && mv "$here/code.new" "$here/code"
    exit 0
fi

# One benchmark at its smallest size: are its lines what `make bench` promises?
if [ "${1:-}" = --bench ]; then
    EF_BENCH_SMALLEST=1 "$2" >"$TMPDIR/lines" || exit
    awk -F, '
        function number(text) { return text ~ /^-?[0-9]+(\.[0-9]+)?([eE][-+]?[0-9]+)?$/ }
        NF != 6 || $1 == "" || $2 == "" || $4 == "" || !number($3) || ($5 != "" && !number($5)) {
            print "# not name,size,value,unit,spread,reference: " $0
            bad++
        }
        END {
            if (NR == 0) print "# no line was printed"
            print (NR == 0 || bad ? "not ok" : "ok") " 1 - lines are well formed"
            exit NR == 0 || bad > 0
        }' "$TMPDIR/lines"
    exit
fi

rm -rf "$work"
mkdir -p "$work"
count=0

# add NAME COMMAND: a job, unless T says otherwise.
add() {
    case $1 in *"$T"*) ;; *) return 0 ;; esac
    count=$((count + 1))
    mkdir -p "$work/$count"
    printf '%s\n' "$1" >"$work/$count/name"
    printf '%s\n' "$2" >"$work/$count/command"
}

for program in "$@"; do
    add "${program#"$B/"}" "exec $RUNNER '$program'"
done
if [ -z "$RUNNER" ]; then
    for source in tests/bench/bench_*.c; do
        [ ! -f "$source" ] || add "${source%.c}" "exec sh tests/run.sh --bench '$B/${source%.c}'"
    done
    for source in tests/fuzz/fuzz_*.c; do
        name=${source#tests/fuzz/}
        name=${name%.c}
        [ ! -f "$source" ] || add "tests/fuzz/$name" "exec '$B/tests/fuzz/$name-replay' tests/fuzz/corpus/$name/*"
    done
    for case in tests/golden/*/; do
        [ ! -d "$case" ] || add "${case%/}" "exec sh tests/golden/run.sh '${case%/}'"
    done
    for page in README.md docs/*.md; do
        [ ! -f "$page" ] || ! grep -q '^```console' "$page" || add "tests/docs $page" "exec sh tests/docs/run.sh '$page'"
    done
    add tests/report/test_drawings.sh 'exec sh tests/report/test_drawings.sh'
    add tests/headers.sh 'exec sh tests/headers.sh'
    add tests/tongue/run.sh 'exec sh tests/tongue/run.sh'
    add tests/browser/run.sh 'exec sh tests/browser/run.sh'
    [ "${EF_SELFTEST:-}" = 1 ] || add tests/tools/selftest.sh 'exec sh tests/tools/selftest.sh'
fi

i=0
while [ "$i" -lt "$count" ]; do i=$((i + 1)); echo "$i"; done |
    xargs -r -n 1 -P "$JOBS" sh tests/run.sh --job "$work" &
runner=$!
trap 'kill "$runner" 2>/dev/null; exit 130' INT TERM

# "passed failed skipped" of one job. A test that says SKIP and then passes has not passed; one that prints
# nothing to count, or ends badly without saying what failed, has failed.
count_lines() {
    awk -v code="$2" '
        /^ok [0-9]+ - / { name = $0; sub(/^ok [0-9]+ - /, "", name); ok[++passed] = name; next }
        /^not ok [0-9]+ # SKIP/ { left_out++; next }
        /^not ok / { failed++; next }
        /^SKIP / { name = $2; sub(/:$/, "", name); said[name] = 1; skips++ }
        END {
            for (i = passed; i >= 1; i--) if (ok[i] in said) passed--
            skipped = skips > left_out ? skips : left_out
            if (failed == 0 && (code != 0 || passed + skipped == 0)) failed = 1
            print passed + 0, failed + 0, skipped + 0
        }' "$1"
}

passed_all=0 failed_all=0 skipped_all=0
i=0
while [ "$i" -lt "$count" ]; do
    i=$((i + 1))
    while [ ! -f "$work/$i/code" ] && kill -0 "$runner" 2>/dev/null; do sleep 0.05; done
    touch "$work/$i/output"
    code=$(cat "$work/$i/code" 2>/dev/null || echo 'none')
    set -- $(count_lines "$work/$i/output" "$code")
    passed_all=$((passed_all + $1)) failed_all=$((failed_all + $2)) skipped_all=$((skipped_all + $3))
    words="$1 passed"
    [ "$2" = 0 ] || words="$words, $2 failed"
    [ "$3" = 0 ] || words="$words, $3 skipped"
    if [ "$2" = 0 ]; then
        printf '  ok    %-44s %s\n' "$(cat "$work/$i/name")" "$words"
        sed -n 's/^SKIP /        SKIP /p' "$work/$i/output"
    else
        printf '  FAIL  %-44s %s (exit code %s)\n' "$(cat "$work/$i/name")" "$words" "$code"
        sed 's/^/        /' "$work/$i/output"
    fi
done
wait "$runner"

if [ $((passed_all + failed_all)) = 0 ]; then
    echo "nothing was run${T:+: no test path holds \"$T\", or all of it was skipped}"
fi
printf '%d passed, %d failed, %d skipped\n' "$passed_all" "$failed_all" "$skipped_all"
[ "$failed_all" = 0 ] && [ "$passed_all" != 0 ]
