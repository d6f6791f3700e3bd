#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Looks at pictures with other eyes: an XML reader, and a browser that lays out their words.
#   B=build/release sh tests/report/test_drawings.sh
# The pictures are those that tests/report/test_drawings keeps. In the browser they stand on one page, as in a report.
set -u

work=${TMPDIR:-/tmp}/pictures # in full: the browser needs it so
rm -rf "$work"
mkdir -p "$work" || exit
count=0
bad=0

# say WORDS: the outcome of the last command as a line of TAP.
say() {
    if [ $? -eq 0 ]; then result=ok; else result='not ok'; bad=1; fi
    count=$((count + 1))
    echo "$result $count - $1"
}
left_out() {
    count=$((count + 1))
    echo "not ok $count # SKIP $1"
}

EF_DRAWINGS=$work "$B/tests/report/test_drawings" >"$work/output" 2>&1 && [ -s "$work/020.svg" ]
say "pictures are there"

if command -v xmllint >/dev/null; then
    xmllint --noout "$work"/*.svg
    say "an XML reader takes all pictures"
else
    left_out "an XML reader takes all pictures: no xmllint"
fi

# The page: every picture inline; a script measures and writes what is wrong into the page.
{
    echo '<!DOCTYPE html><html lang="en"><meta charset="utf-8"><title>Pictures</title><body>'
    for picture in "$work"/*.svg; do
        printf '<section data-name="%s">' "${picture##*/}"
        cat "$picture"
        echo '</section>'
    done
    cat <<'PAGE'
<pre id="found"></pre><script>
const found = []
let words = 0
const say = (name, text) => { if (found.length < 40) found.push("bad " + name + ": " + text) }
const meets = (a, b) => a.left + 1 < b.right && b.left + 1 < a.right && a.top + 2 < b.bottom && b.top + 2 < a.bottom
for (const section of document.querySelectorAll("section")) {
    const name = section.dataset.name
    const svg = section.querySelector("svg")
    const sheet = svg.getBoundingClientRect()
    const texts = [...svg.querySelectorAll("text")]
    const boxes = texts.map(text => text.getBoundingClientRect())
    words += texts.length
    texts.forEach((text, i) => {
        const box = boxes[i]
        if (box.left < sheet.left - 1 || box.right > sheet.right + 1 || box.top < sheet.top - 1 || box.bottom > sheet.bottom + 1)
            say(name, "leaves the sheet: " + text.textContent)
        for (let j = 0; j < i; j++)
            if (meets(box, boxes[j])) say(name, text.textContent + " | " + texts[j].textContent)
    })
    for (const box of svg.querySelectorAll("path.box")) {
        const taken = box.getBoundingClientRect()
        texts.forEach((text, i) => {
            if (text.classList.contains("rate") && meets(boxes[i], taken)) say(name, text.textContent + " on a box")
        })
    }
    for (const shape of svg.querySelectorAll("path, rect, circle, line")) {
        const box = shape.getBBox()
        if (!Number.isFinite(box.width + box.height + box.x + box.y)) say(name, "no finite shape")
    }
    if (svg.querySelector("image, script, foreignObject, use")) say(name, "more than shapes and words")
}
found.push("measured " + document.querySelectorAll("section").length + " pictures, " + words + " words")
document.getElementById("found").textContent = found.join("\n")
</script>
PAGE
} >"$work/page.html"

browser=
for name in chromium chromium-browser google-chrome; do
    [ -n "$browser" ] || ! command -v "$name" >/dev/null || browser=$name
done
if [ -n "$browser" ]; then
    HOME=$work timeout 120 "$browser" --headless --no-sandbox --disable-gpu --user-data-dir="$work/profile" \
        --virtual-time-budget=60000 --enable-logging=stderr --dump-dom "file://$work/page.html" \
        >"$work/dom" 2>"$work/errors"
    sed -n '/<pre id="found">/,/<\/pre>/p' "$work/dom" | sed 's/<[^>]*>//g; s/^/# /' | tee "$work/found"
    grep -q 'measured [1-9][0-9]* pictures, [1-9]' "$work/found"
    say "a browser has measured them"
    ! grep -q '^# bad' "$work/found"
    say "in a browser no words overlap or leave their sheet"
    ! grep -q 'CONSOLE' "$work/errors"
    say "the browser complains of nothing"
else
    left_out "a browser lays out the words: none installed"
fi
echo "1..$count"
exit $bad
