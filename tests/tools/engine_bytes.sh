#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Does the event engine give the same bytes with gcc and clang, without and with optimisation, without and with
# fused multiply-add, with one thread and two? TAP lines on standard output.
set -u

work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
sources="tests/tools/engine_bytes.c tests/lib/networks.c src/shared/engine/*.c src/shared/stops/*.c
    src/shared/statistics/quantile.c src/base/memory.c src/base/random.c src/base/text.c"
libraries="-lcmocka -lgsl -lgslcblas -lunistring -lm -lpthread"
fma=
grep -qw fma /proc/cpuinfo 2>/dev/null && fma=-mfma

# build NAME COMPILER FLAGS...: in the background; a compiler that is not there leaves nothing.
build() {
    name=$1 compiler=$2
    shift 2
    command -v "$compiler" >/dev/null 2>&1 || return 0
    # shellcheck disable=SC2086
    "$compiler" -std=c11 -D_POSIX_C_SOURCE=200809L -ffp-contract=off -Isrc -Iinclude "$@" -o "$work/$name" $sources \
        $libraries 2>"$work/$name.words" || echo "$name" >>"$work/failed"
}

{ build gcc-O0 gcc -O0 && build gcc-O3 gcc -O3 $fma; } &
{ build clang-O0 clang -O0 && build clang-O3 clang -O3 $fma; } &
wait

number=0
first=
failed=0
for name in gcc-O0 gcc-O3 clang-O0 clang-O3; do
    [ -x "$work/$name" ] || { grep -qx "$name" "$work/failed" 2>/dev/null && failed=1 && cat "$work/$name.words"; continue; }
    for threads in 1 2; do
        [ "$threads" = 2 ] && [ "$name" != gcc-O3 ] && continue
        number=$((number + 1))
        digest=$("$work/$name" "$threads") || digest=none
        first=${first:-$digest}
        if [ "$digest" = "$first" ] && [ "$digest" != none ]; then
            echo "ok $number - $name${fma:+ ($fma with -O3)}, threads $threads: $digest"
        else
            failed=1
            echo "not ok $number - $name, threads $threads: $digest, not $first"
        fi
    done
done
[ "$failed" = 0 ] && [ "$number" -ge 2 ]
