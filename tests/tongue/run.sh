#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Are all messages there in each language, and no others? xgettext finds what the sources mark, msgcmp of GNU
# gettext compares. TAP on standard output.
#   tests/tongue/run.sh          the check
#   tests/tongue/run.sh made FILE   a catalogue (.mo) in which every message stands between brackets
#   tests/tongue/run.sh update   adds what is new in the sources to each src/base/tongue/TAG.po
set -eu
if ! command -v xgettext >/dev/null 2>&1; then
    echo 'SKIP tongue: xgettext is not installed'
    echo '1..0'
    exit 0
fi
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
# Lists of words in public headers, which do not know tongue.h, are SAY(name, word, meaning).
find src include -name '*.[ch]' | LC_ALL=C sort >"$scratch/files"
xgettext --from-code=UTF-8 --language=C --keyword --keyword=efi_tr --keyword=EFI_TR --keyword=efi_tr_n:1,2 \
    --keyword=efi_tr_in:1c,2 --keyword=EFI_TR_IN:1c,2 --keyword=SAY:2 --files-from="$scratch/files" --no-location --sort-output -o "$scratch/all.pot"
xgettext --from-code=UTF-8 --language=C --keyword --keyword=SAY:3 --files-from="$scratch/files" --no-location \
    --sort-output --join-existing -o "$scratch/all.pot"
# The header of the sources that say what these words are is no message.
msgattrib --no-obsolete --no-location "$scratch/all.pot" >"$scratch/messages.pot"

if [ "${1:-}" = update ]; then
    for po in src/base/tongue/*.po; do
        msgmerge --quiet --update --no-fuzzy-matching --no-location --sort-output --backup=none "$po" "$scratch/messages.pot"
        msgattrib --no-obsolete --sort-output "$po" | sed '/^"POT-Creation-Date: /d; /^"Report-Msgid-Bugs-To: /d' >"$scratch/new.po"
        cat "$scratch/new.po" >"$po"
        printf '%s: ' "$po"
        msgfmt --check-format --check-domain -o /dev/null --statistics "$po"
    done
    exit 0
fi

if [ "${1:-}" = made ]; then
    msgen "$scratch/messages.pot" -o "$scratch/same.po"
    sed -i -e 's/charset=CHARSET/charset=UTF-8/' -e 's/nplurals=INTEGER; plural=EXPRESSION/nplurals=2; plural=(n != 1)/' "$scratch/same.po"
    msgfilter --keep-header -i "$scratch/same.po" -o "$scratch/made.po" sed -e '1s/^/⟦/' -e '$s/$/⟧/'
    msgfmt --endianness=little -o "$2" "$scratch/made.po"
    exit 0
fi

number=0
say() {
    number=$((number + 1))
    echo "$1 $number - $2"
}
for po in src/base/tongue/*.po; do
    if msgcmp "$po" "$scratch/messages.pot" >"$scratch/found" 2>&1; then
        say ok "$po says every message"
    else
        sed 's/^/# /' "$scratch/found" | head -40
        say 'not ok' "$po says every message; make words adds what is new"
    fi
    if msgcmp "$scratch/messages.pot" "$po" --use-untranslated >"$scratch/found" 2>&1; then
        say ok "$po says nothing else"
    else
        sed 's/^/# /' "$scratch/found" | head -40
        say 'not ok' "$po says nothing else; make words takes out what is not used any more"
    fi
    if msgfmt --check-format --check-domain -o /dev/null "$po" >"$scratch/found" 2>&1; then
        say ok "$po: pieces of messages agree with the sources"
    else
        sed 's/^/# /' "$scratch/found" | head -40
        say 'not ok' "$po: pieces of messages agree with the sources"
    fi
done
echo "1..$number"
