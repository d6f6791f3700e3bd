#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Looks at reports in Chromium, if it is installed: TAP lines on standard output; from the top of the repository.
#   B=build/release sh tests/browser/run.sh
# Each page is seen light and dark, as wide as a phone and a desk: see check.js. Nothing may be written on the
# console, nothing fetched.
set -u

EVENFEED=${EF_PROGRAM:-$PWD/${B:-build/release}/evenfeed}
chromium=
for candidate in chromium chromium-browser; do
    command -v "$candidate" >/dev/null 2>&1 && chromium=$candidate && break
done
if [ -z "$chromium" ]; then
    echo 'SKIP browser: Chromium is not installed'
    exit 0
fi
scratch=$(mktemp -d) || exit 1
trap 'rm -rf "$scratch"' EXIT
number=0
failed=0
few='--runs 40 --traces 10 --no-remedies'
sections='overview designer balance bins scheduler planning levels manager shift cautions again'
pictures='flow ladder curve tonnes hours envelope'

say() {
    number=$((number + 1))
    [ "$1" = ok ] || failed=1
    echo "$1 $number - $2"
}

browse() {
    # as root it has no sandbox; its profile and cache go with the scratch folder
    HOME=$scratch timeout 120 "$chromium" --headless --no-sandbox --disable-gpu --disable-dev-shm-usage \
        --user-data-dir="$scratch/profile" --no-first-run --disable-extensions --disable-background-networking \
        --allow-file-access-from-files --enable-logging=stderr --v=0 --window-size=1280,1000 "$@" \
        2>"$scratch/log"
}

# look NAME COLOURS SECTIONS PICTURES: the report in $scratch/NAME
look() {
    name=$1 colours=$2
    scheme=1
    [ "$colours" = light ] || scheme=0
    cat >"$scratch/$name/look.html" <<X
<!DOCTYPE html><html lang="en"><meta charset="utf-8"><title>look</title>
<body data-colours="$colours" data-sections="$3" data-pictures="$4">
<iframe id="page" src="report.html" style="width:390px;height:900px;border:0"></iframe>
<pre id="results">not ok 1 - the check did not come to its end</pre>
<script src="$PWD/tests/browser/check.js"></script></body></html>
X
    browse --blink-settings=preferredColorScheme=$scheme --dump-dom "file://$scratch/$name/look.html" >"$scratch/dom"
    sed -n '/<pre id="results">/,/<\/pre>/p' "$scratch/dom" | sed 's/.*<pre id="results">//;s/<\/pre>.*//' >"$scratch/lines"
    [ -s "$scratch/lines" ] || echo 'not ok 1 - nothing came back from the browser' >"$scratch/lines"
    while IFS= read -r line; do
        case $line in
        'ok '*) say ok "$name, $colours: ${line#* - }" ;;
        'not ok '*) say 'not ok' "$name, $colours: ${line#* - }" ;;
        *) printf '%s\n' "$line" ;;
        esac
    done <"$scratch/lines"
    if grep -q ':CONSOLE' "$scratch/log"; then
        grep ':CONSOLE' "$scratch/log" | sed 's/^/# /'
        say 'not ok' "$name, $colours: the console stays empty"
    else
        say ok "$name, $colours: the console stays empty"
    fi
}

# report NAME SECTIONS PICTURES FILE OPTIONS...
report() {
    name=$1 wanted_sections=$2 wanted_pictures=$3
    shift 3
    if ! "$EVENFEED" report "$@" --out "$scratch/$name" >"$scratch/said" 2>&1; then
        sed 's/^/# /' "$scratch/said"
        say 'not ok' "$name: the report is written"
        return
    fi
    if grep -qE '(src|href|srcset|action)="(https?:)?//|url\((https?:)?//|@import' "$scratch/$name/report.html"; then
        say 'not ok' "$name: the page speaks of no other place"
    else
        say ok "$name: the page speaks of no other place"
    fi
    look "$name" light "$wanted_sections" "$wanted_pictures"
    look "$name" dark "$wanted_sections" "$wanted_pictures"
}

# Independent validator of HTML (html-validate of the npm registry), where it is installed: in PATH, or by
# `make html-validate` under build/.
validate() {
    validator=$(command -v html-validate || ls "$PWD/build/npm/node_modules/.bin/html-validate" 2>/dev/null || true)
    if [ -z "$validator" ]; then
        [ "$1" != cereal-seed ] || echo 'SKIP html: html-validate is not installed'
        return
    fi
    echo '{"root": true, "extends": ["html-validate:recommended"]}' >"$scratch/.htmlvalidate.json"
    if (cd "$scratch" && "$validator" "$1/report.html") >"$scratch/found" 2>&1; then
        say ok "$1: valid HTML"
    else
        sed 's/^/# /' "$scratch/found" | head -20
        say 'not ok' "$1: valid HTML"
    fi
}

# Can the check fail? A page with one fault of each kind, of which each must be found.
look_at_faults() {
    mkdir -p "$scratch/faults"
    awk '{ if (index($0, "</main>")) { while ((getline line < faults) > 0) print line } print }' \
        faults=tests/browser/faults.html "$scratch/cereal-seed/report.html" >"$scratch/faults/report.html"
    before=$number
    look faults light "$sections nowhere" "$pictures none" >"$scratch/found"
    failed=$failed_before number=$before
    for fault in 'nothing sticks out at 390' 'no words of a picture are cut off at 390' \
        'no words of a picture lie over others at 390' 'contrast of words at 390' 'contrast of words in pictures at 390' \
        'nothing sticks out at 1100' 'contrast of words at 1100' 'nothing was fetched' 'all sections are there' \
        'all pictures are there' 'headings, ids, links' 'tables have captions' 'the console stays empty'; do
        if grep -q "^not ok .*faults, light: $fault" "$scratch/found"; then
            say ok "a fault is found: $fault"
        else
            say 'not ok' "a fault is found: $fault"
        fi
    done
}

# shellcheck disable=SC2086 # $few is several words
for scenario in cereal-seed clover-grass-seed pulses-export soybean-seed; do
    report "$scenario" "$sections" "$pictures" "scenarios/$scenario.yaml" $few
    validate "$scenario"
done
# A season too, for the scheduler and the manager, and all of it in a language with longer words.
all="overview designer balance bins scheduler season planning levels manager shift season-costs cautions again"
# shellcheck disable=SC2086
report season "$all" "$pictures season stores" scenarios/seasons/clover-grass-seed.yaml $few --steps 20000
validate season
# shellcheck disable=SC2086
report german "$all" "$pictures season stores" scenarios/seasons/cereal-seed.yaml $few --steps 20000 --lang de
validate german
# A line of 44 stations stays readable.
# shellcheck disable=SC2086
awk -v n=11 -f tests/browser/long-line.awk >"$scratch/long-line.yaml"
report long-line "$sections" "$pictures" "$scratch/long-line.yaml" $few
failed_before=$failed
look_at_faults
[ "$failed" = 0 ]
