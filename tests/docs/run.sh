#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs the commands that the documents show and compares what they print; from the top of the repository.
#   B=build/release sh tests/docs/run.sh README.md docs/bins.md ...     TAP lines, differences as "# ..."
# Looked at are blocks that open with ```console: a line "$ evenfeed ..." is run, and so are cp and sed (a trailing
# backslash goes on in the next line); the lines up to the next "$ " or the end of the block are what it must print,
# on either stream. A line of three dots stands for any number of lines. Other "$ " lines (make, git) are not run. A page's commands
# run one after the other in a copy of the scenarios, so that a later one finds what an earlier one wrote.
set -u

program=${EF_PROGRAM:-$PWD/${B:-build/release}/evenfeed}
export LC_ALL=C.UTF-8 TZ=UTC NO_COLOR=1
if [ ! -x "$program" ]; then
    echo "docs/run.sh: there is no $program" >&2
    exit 1
fi
top=$PWD
scratch=$(mktemp -d) || exit 1
trap 'rm -rf "$scratch"' EXIT
mkdir "$scratch/bin"
ln -s "$program" "$scratch/bin/evenfeed"
PATH=$scratch/bin:$PATH

# Commands of a page, as files NUMBER.command, NUMBER.expected and NUMBER.line in the folder given.
split() {
    awk -v folder="$2" '
        function close_command() {
            if (base != "") { close(base ".command"); close(base ".expected"); close(base ".line") }
            base = ""
        }
        /^```console[ \t]*$/ { inside = 1; next }
        /^```/ { inside = 0; continued = 0; close_command(); next }
        !inside { next }
        continued { print > (base ".command"); continued = /\\$/; next }
        /^\$ / {
            close_command()
            if ($0 !~ /^\$ (evenfeed|cp|sed)( |$)/) next
            base = folder "/" sprintf("%03d", ++count)
            print substr($0, 3) > (base ".command")
            printf "" > (base ".expected")
            print NR > (base ".line")
            continued = /\\$/
            next
        }
        base != "" { print > (base ".expected") }
    ' "$1"
}

# Does the file $2 read as the pattern file $1 says, "..." standing for any number of lines?
matches() {
    awk '
        function from(p, f) {
            while (p <= patterns) {
                if (pattern[p] == "...") {
                    if (p == patterns) return 1
                    for (; f <= found + 1; f++) if (from(p + 1, f)) return 1
                    return 0
                }
                if (f > found || line[f] != pattern[p]) return 0
                p++
                f++
            }
            return f == found + 1
        }
        FILENAME == ARGV[1] { pattern[++patterns] = $0; next }
        { line[++found] = $0 }
        END { exit !from(1, 1) }
    ' "$1" "$2"
}

number=0
failed=0
for page in "$@"; do
    commands=$scratch/commands
    copy=$scratch/copy
    rm -rf "$commands" "$copy"
    mkdir "$commands" "$copy"
    [ ! -d scenarios ] || cp -R scenarios "$copy/"
    split "$page" "$commands"
    for command in "$commands"/*.command; do
        [ -f "$command" ] || continue
        base=${command%.command}
        number=$((number + 1))
        (cd "$copy" && timeout 60 sh "$command") >"$base.found" 2>&1 </dev/null
        name="$page:$(cat "$base.line"): $(head -n 1 "$command")"
        if matches "$base.expected" "$base.found"; then
            echo "ok $number - $name"
        else
            failed=1
            diff -u --label shown --label printed "$base.expected" "$base.found" | sed 's/^/# /'
            echo "not ok $number - $name"
        fi
    done
    cd "$top" || exit 1
done
exit "$failed"
