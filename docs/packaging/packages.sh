#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The system packages evenfeed needs, and how to get them.
#   packages.sh build|check|lint look|install
# build: to compile and run; check: for the tests as well; lint: for the analysis as well.
set -u
set_name=${1:-build}
what=${2:-look}

packages="gcc libc6-dev gettext pkg-config libglpk-dev libyaml-dev libjansson-dev libgsl-dev libunistring-dev libxlsxwriter-dev"
case $set_name in
build) ;;
check) packages="$packages g++ locales libcmocka-dev libudunits2-dev coinor-clp python3-minimal python3-icalendar python3-openpyxl python3-jsonschema" ;;
lint) packages="$packages libcmocka-dev locales libudunits2-dev coinor-clp python3-minimal python3-icalendar python3-openpyxl python3-jsonschema g++ clang libclang-rt-dev clang-tidy clang-format cppcheck valgrind binutils" ;;
*) echo "packages.sh: unknown set $set_name" >&2; exit 2 ;;
esac

if ! command -v dpkg-query >/dev/null 2>&1; then
    # Not Debian: name what is missing instead of guessing at another packager.
    missing=
    command -v gcc >/dev/null 2>&1 || missing="$missing a C11 compiler (gcc);"
    command -v msgfmt >/dev/null 2>&1 || missing="$missing msgfmt (GNU gettext);"
    for pair in glpk.h:GLPK yaml.h:libyaml jansson.h:jansson gsl/gsl_cdf.h:GSL unistr.h:libunistring xlsxwriter.h:libxlsxwriter; do
        printf '#include <%s>\n' "${pair%%:*}" | ${CC:-cc} -E - >/dev/null 2>&1 || missing="$missing ${pair##*:} (${pair%%:*});"
    done
    if [ "$set_name" != build ]; then
        for pair in cmocka.h:cmocka udunits2.h:udunits2; do
            printf '#include <stdarg.h>\n#include <stddef.h>\n#include <setjmp.h>\n#include <stdint.h>\n#include <%s>\n' "${pair%%:*}" |
                ${CC:-cc} -E - >/dev/null 2>&1 || missing="$missing ${pair##*:} (${pair%%:*});"
        done
    fi
    [ -z "$missing" ] && exit 0
    echo "evenfeed needs these, with their development files:$missing" >&2
    exit 1
fi

missing=
for package in $packages; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || missing="$missing $package"
done
[ -z "$missing" ] && exit 0

# Another apt at work, as on a machine that has just started, is waited for.
command="apt-get -o DPkg::Lock::Timeout=300 install -y --no-install-recommends$missing"
if [ "$what" != install ]; then
    echo "Packages are missing. As root:  $command" >&2
    exit 1
fi
if [ "$(id -u)" = 0 ]; then
    root=
elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
    root=sudo
elif command -v sudo >/dev/null 2>&1 && [ -t 0 ]; then
    root=sudo
else
    echo "Packages are missing and this user cannot install them. As root:  apt-get update && $command" >&2
    exit 1
fi
echo "Installing:$missing" >&2
$root env DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=300 update -q >&2 &&
    $root env DEBIAN_FRONTEND=noninteractive $command >&2
