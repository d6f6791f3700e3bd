#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Does every public header compile alone, as C11 and as C++? TAP lines on standard output.
set -u

number=0
failed=0
CC=${CC:-cc}

# compiles NAME COMMAND...: one TAP line.
compiles() {
    name=$1
    shift
    number=$((number + 1))
    if words=$("$@" 2>&1); then
        echo "ok $number - $name"
    else
        failed=1
        echo "not ok $number - $name"
        echo "$words" | sed 's/^/# /'
    fi
}

cxx=
for candidate in ${CXX:-} g++ clang++; do
    # A compiler without the C++ headers is no use either.
    if echo '#include <cstddef>' | "$candidate" -x c++ -fsyntax-only - 2>/dev/null; then
        cxx=$candidate
        break
    fi
done

warnings='-Wall -Wextra -Wpedantic -Werror -fsyntax-only -Iinclude'
for header in include/evenfeed/*.h; do
    compiles "$header is C11" $CC -x c -std=c11 -Wstrict-prototypes $warnings "$header"
    if [ -n "$cxx" ]; then
        compiles "$header is C++" "$cxx" -x c++ -std=c++11 $warnings "$header"
    else
        echo "SKIP $header-is-C++: no C++ compiler"
    fi
done
exit "$failed"
