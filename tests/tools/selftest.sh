#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Do the test tools notice what they are there to notice? Each runs here on something wrong made for it.
set -u

folder=$(mktemp -d) || exit 1
trap 'rm -rf "$folder"' EXIT
number=0
failed=0

# expect CODE WORDS NAME COMMAND...: the command ends with this exit code and prints a line with these words.
expect() {
    code=$1 words=$2 name=$3
    shift 3
    number=$((number + 1))
    "$@" >"$folder/output" 2>&1
    found=$?
    if [ "$found" = "$code" ] && grep -qF -- "$words" "$folder/output"; then
        echo "ok $number - $name"
    else
        failed=1
        sed 's/^/# /' "$folder/output"
        echo "not ok $number - $name: exit code $found, expected $code and a line with \"$words\""
    fi
}

# program NAME LINE...: a test program that is a shell script of these lines.
program() {
    path=$folder/$1
    shift
    printf '%s\n' '#!/bin/sh' "$@" >"$path"
    chmod +x "$path"
}

check() {
    env EF_SELFTEST=1 EF_CHECK_DIR="$folder/check" T=evenfeed_selftest_ sh tests/run.sh "$@"
}

good=$folder/evenfeed_selftest_good
program evenfeed_selftest_good 'echo "ok 1 - fine"; echo "ok 2 - fine too"'
program evenfeed_selftest_bad 'echo "ok 1 - fine"; echo "not ok 2 - wrong"; exit 1'
program evenfeed_selftest_quiet 'echo "not ok 1 - wrong"; exit 0'
program evenfeed_selftest_crash 'echo "ok 1 - fine"; kill -SEGV $$'
program evenfeed_selftest_empty 'exit 0'
program evenfeed_selftest_skip 'echo "SKIP sets: not here"; echo "ok 1 - sets"; echo "ok 2 - rest"'

expect 0 '2 passed, 0 failed, 0 skipped' 'passing tests are counted' check "$good"
expect 1 '3 passed, 1 failed, 0 skipped' 'a failing test fails the run' check "$good" "${good%good}bad"
expect 1 '0 passed, 1 failed, 0 skipped' 'a failing test fails the run whatever its exit code' check "${good%good}quiet"
expect 1 '1 passed, 1 failed, 0 skipped' 'a crash fails the run' check "${good%good}crash"
expect 1 '0 passed, 1 failed, 0 skipped' 'a program without tests fails the run' check "${good%good}empty"
expect 1 '0 passed, 1 failed, 0 skipped' 'a missing program fails the run' check "${good%good}gone"
expect 0 '1 passed, 0 failed, 1 skipped' 'what was skipped has not passed' check "${good%good}skip"
expect 1 'nothing was run' 'a run of nothing fails' check
expect 1 '3 passed, 1 failed, 0 skipped' 'failures show their output in order' check "${good%good}bad" "$good"

program evenfeed 'echo "$1 t/h"; exit 3'
mkdir "$folder/case"
echo 12 >"$folder/case/cmd"
golden() {
    env EF_PROGRAM="$folder/evenfeed" sh tests/golden/run.sh "$folder/case"
}
expect 1 'not ok' 'a golden case without expectations fails' golden
expect 0 'written' 'golden expectations can be written' env GOLDEN=write EF_PROGRAM="$folder/evenfeed" \
    sh tests/golden/run.sh "$folder/case"
expect 0 'ok 1 -' 'a golden case passes' golden
echo 0 >"$folder/case/exit"
expect 1 '# -0' 'another exit code fails a golden case' golden
echo 3 >"$folder/case/exit"
echo '13 t/h' >"$folder/case/stdout"
expect 1 '# -13 t/h' 'another text fails a golden case' golden

page() {
    printf '%s\n' 'Text' '```console' "$@" '```' >"$folder/page.md"
    env EF_PROGRAM="$folder/evenfeed" sh tests/docs/run.sh "$folder/page.md"
}
expect 0 'ok 1 -' 'a shown command passes' page '$ make' 'built' '$ evenfeed 12' '12 t/h'
expect 1 '# -13 t/h' 'a wrong output fails a shown command' page '$ evenfeed 12' '13 t/h'
expect 1 'not ok 2' 'a missing line fails a shown command' page '$ evenfeed 12' '12 t/h' '$ evenfeed 12'
expect 1 'not ok 1' 'cp and sed are run too' page '$ cp nothing here' ''
expect 0 'ok 1 -' 'dots stand for lines' page '$ evenfeed 12' '...' '12 t/h' '...'
expect 1 'not ok 1' 'dots do not stand for a wrong line' page '$ evenfeed 12' '...' '13 t/h'

top=$PWD
mkdir -p "$folder/src/model" "$folder/src/answers/bins"
printf '%s\n' '#include "base/memory.h"' '#include <yaml.h>' >"$folder/src/model/good.c"
printf '%s\n' '#include "shared/line.h"' >"$folder/src/model/up.c"
printf '%s\n' '#include "answers/shift/shift.h"' >"$folder/src/answers/bins/other.c"
printf '%s\n' '#include <glpk.h>' >"$folder/src/answers/bins/library.c"
floors() {
    (cd "$folder" && awk -f "$top/tests/floors.awk" "$@" && echo 'floors kept')
}
expect 0 'floors kept' 'includes that go down are let pass' floors src/model/good.c
expect 1 'model may not use shared' 'an include that goes up is refused' floors src/model/up.c
expect 1 'answers do not include each other' 'an answer that uses another is refused' floors src/answers/bins/other.c
expect 1 'only src/shared/lp' 'a wrapped library is refused outside its wrapper' floors src/answers/bins/library.c

exit "$failed"
