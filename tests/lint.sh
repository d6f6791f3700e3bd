#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Static analysis and the project's own rules of structure; from the top of the repository, before or after a build.
#   EF_CFLAGS='-std=c11 -Iinclude -Isrc ...' sh tests/lint.sh
# Prints what it finds under the name of the check. The last line says how many checks failed; any fails the run.
set -u

EF_CFLAGS=${EF_CFLAGS:--std=c11 -D_POSIX_C_SOURCE=200809L -Iinclude -Isrc}
JOBS=${JOBS:-2}
work=build/lint
rm -rf "$work"
mkdir -p "$work"
failed=0
checks=0

# check NAME COMMAND...: runs a check; what it prints is shown when it fails, or always when it starts with "listed:".
check() {
    title=$1
    shift
    checks=$((checks + 1))
    started=$(date +%s)
    if "$@" >"$work/output" 2>&1; then
        printf '  ok    %-34s %4d s\n' "$title" $(($(date +%s) - started))
        sed -n 's/^listed: /        /p' "$work/output"
    else
        failed=$((failed + 1))
        printf '  FAIL  %-34s %4d s\n' "$title" $(($(date +%s) - started))
        sed 's/^listed: //;s/^/        /' "$work/output"
    fi
}

# Files of the project: what git tracks or would track, or everything when this is no clone.
project_files() {
    git -c safe.directory="$PWD" ls-files --cached --others --exclude-standard 2>/dev/null | while read -r file; do
        [ ! -f "$file" ] || echo "$file"
    done
}
project_files >"$work/files"
[ -s "$work/files" ] || find . -path ./build -prune -o -type f -print | sed 's|^\./||' >"$work/files"
grep -E '^(src|tests)/.*\.c$' "$work/files" >"$work/sources"
grep -E '^(src|include|tests)/.*\.[ch]$' "$work/files" >"$work/code"
grep -E '^src/.*\.[ch]$' "$work/files" >"$work/floors"
grep -E '^src/.*\.c$' "$work/files" | grep -v '^src/cli/' >"$work/library"

# ---- tools ----------------------------------------------------------------------------------------------

tools() {
    missing=
    for tool in gcc g++ clang-tidy cppcheck nm awk git; do
        command -v "$tool" >/dev/null 2>&1 || missing="$missing $tool"
    done
    [ -z "$missing" ] && return 0
    echo "missing:$missing (sh docs/packaging/packages.sh lint install)"
    return 1
}

clang_tidy() {
    # One file a process: clang-tidy 14 forgets va_copy and other names in the second file of a process. Its own
    # analyzer takes three quarters of the time and mostly finds what gcc's does: LINT_DEEP=1 adds it.
    less=-clang-analyzer-*
    [ -z "${LINT_DEEP:-}" ] || less=
    xargs -n 1 -P "$JOBS" sh -c '
        flags=$0
        checks=$1
        shift
        clang-tidy --quiet --checks="$checks" "$@" -- $flags -DEF_VERSION=\"lint\" 2>&1
    ' "$EF_CFLAGS" "$less" <"$work/sources" >"$work/tidy"
    code=$?
    grep -vE '^[0-9]+ warnings? (and [0-9]+ errors? )?generated\.$|^Suppressed |^Use -header-filter' "$work/tidy" |
        sed '/\[readability-function-size\]$/s/^/listed: /'
    return "$code"
}

cpp_check() {
    cppcheck -q -j "$JOBS" --std=c11 --enable=warning,performance,portability --inline-suppr --error-exitcode=1 \
        --suppress=missingInclude --suppress=missingIncludeSystem -Iinclude -Isrc -D__GNUC__=12 \
        '-Dfail_msg(...)=abort()' '-Dfail()=abort()' --file-list="$work/sources"
}

# Compiles each source with the analyzer, whose every word is a failure; the objects of the library are looked at below.
gcc_analyzer() {
    xargs -n 1 -P "$JOBS" sh -c '
        object=$1/objects/${2%.c}.o
        mkdir -p "$(dirname "$object")"
        gcc $0 -DEF_VERSION=\"lint\" -O2 -fPIC -Wall -Wextra -fanalyzer -c -o "$object" "$2"
    ' "$EF_CFLAGS" "$work" <"$work/sources" >"$work/analyzer" 2>&1
    code=$?
    cat "$work/analyzer"
    [ "$code" = 0 ] && [ ! -s "$work/analyzer" ]
}

# ---- structure ------------------------------------------------------------------------------------------

floors() {
    xargs -r awk -f tests/floors.awk <"$work/floors"
}

file_length() {
    xargs -r awk '
        function close_file() {
            if (lines > 600) print "listed: " file ": " lines " lines; is there a second responsibility to split off?"
            if (lines > 900) too_long = 1
        }
        FNR == 1 { close_file(); file = FILENAME }
        { lines = FNR }
        END { close_file(); exit too_long }
    ' <"$work/code"
}

headers() {
    CC=gcc sh tests/headers.sh | grep -v '^ok ' >"$work/headers"
    cat "$work/headers"
    [ ! -s "$work/headers" ]
}

# Objects of the library, one a line.
library_objects() {
    sed "s|^\(.*\)\.c$|$work/objects/\1.o|" "$work/library"
}

# Every global of the library is ef_ or efi_; the shared library shows ef_ only.
symbols() {
    library_objects | xargs nm -A --defined-only --extern-only >"$work/defined" || return 1
    awk '$NF !~ /^efi?_/' "$work/defined" >"$work/wrong"
    if [ -s "$work/wrong" ]; then
        echo "global symbols that are neither ef_ nor efi_:"
        cat "$work/wrong"
    fi
    library_objects | xargs gcc -shared -Wl,--version-script=docs/packaging/evenfeed.map -o "$work/library.so" || return 1
    nm -D --defined-only "$work/library.so" >"$work/exported"
    awk '$NF !~ /^ef_/' "$work/exported" >"$work/hidden"
    if [ -s "$work/hidden" ]; then
        echo "the shared library shows what is not ef_:"
        cat "$work/hidden"
    fi
    # What public headers declare must be there for those who link the shared library.
    awk '{ print $NF }' "$work/exported" >"$work/names"
    grep -hoE '\bef_[a-z0-9_]+\(' include/evenfeed/*.h | tr -d '(' | sort -u |
        grep -vxFf "$work/names" >"$work/absent"
    if [ -s "$work/absent" ]; then
        echo "declared in a public header, not in the shared library:"
        cat "$work/absent"
    fi
    [ ! -s "$work/wrong" ] && [ ! -s "$work/hidden" ] && [ ! -s "$work/absent" ] && [ -s "$work/exported" ]
}

# What the library must not call: it never prints or exits, takes nothing from clock, locale or environment, and gets
# its memory from base/memory.
calls() {
    never='stdout|stderr|printf|vprintf|puts|putchar|perror|exit|_exit|_Exit|quick_exit|abort'
    never="$never|rand|srand|random|drand48|time|localtime|gmtime|mktime|setlocale|getenv|system|popen"
    memory='malloc|calloc|realloc|strdup|strndup|aligned_alloc|posix_memalign|getline|open_memstream'
    library_objects | xargs nm -A --undefined-only >"$work/undefined" || return 1
    sed 's/@.*//' "$work/undefined" |
        awk -v never="^($never)$" -v memory="^($memory)$" '
            $NF ~ never { print $1 " calls " $NF; bad = 1 }
            $NF ~ memory && $1 !~ /base\/memory\.o/ { print $1 " calls " $NF " itself"; bad = 1 }
            END { exit bad || NR == 0 }'
}

words() {
    # Written so that this file does not find itself.
    grep -vE '^LICENSE$' "$work/files" | xargs grep -nIE '/wor[k]/|/tmp/w[t]|/hom[e]/|\b(TOD[O]|FIXM[E]|XX[X])\b' >"$work/found"
    cat "$work/found"
    [ ! -s "$work/found" ]
}

# First lines: the licence in each source and script.
licences() {
    grep -E '\.(c|h|sh|awk|py)$|^Makefile$|^\.ci/run$' "$work/files" | while read -r file; do
        head -n 3 "$file" | grep -q 'SPDX-License-Identifier: GPL-3.0-or-later' || echo "$file has no SPDX line"
    done >"$work/found"
    cat "$work/found"
    [ ! -s "$work/found" ]
}

scripts() {
    bad=0
    for file in $(grep -E '\.sh$' "$work/files"); do
        sh -n "$file" || bad=1
    done
    return "$bad"
}

fuzz_table() {
    bad=0
    for file in $(grep -E '^tests/fuzz/fuzz_.*\.c$' "$work/files"); do
        name=$(basename "$file" .c)
        grep -q "$name" tests/fuzz/README.md || { echo "$name is not in tests/fuzz/README.md"; bad=1; }
        [ -n "$(ls "tests/fuzz/corpus/$name" 2>/dev/null)" ] || { echo "tests/fuzz/corpus/$name is empty"; bad=1; }
    done
    return "$bad"
}

check 'tools' tools
check 'floors' floors
check 'file length' file_length
check 'public headers compile alone' headers
check 'words' words
check 'licence lines' licences
check 'scripts parse' scripts
check 'fuzzers are listed' fuzz_table
check 'gcc -fanalyzer' gcc_analyzer
check 'symbols' symbols
check 'calls of the library' calls
check 'cppcheck' cpp_check
check 'clang-tidy' clang_tidy

echo "$checks checks, $failed failed"
[ "$failed" = 0 ]
