/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/text.h"
#include "base/letter.h"
#include "base/memory.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <uniwidth.h>
#include <unistr.h>

efi_text efi_text_fixed(char *bytes, size_t room)
{
    bytes[0] = '\0';
    return (efi_text){.bytes = bytes, .room = room, .fixed = true};
}

static bool make_room(efi_text *text, size_t more)
{
    if (text->failed)
        return false;
    if (more >= SIZE_MAX - text->length - 1) {
        text->failed = true;
        return false;
    }
    const size_t needed = text->length + more + 1;
    if (needed <= text->room)
        return true;
    if (text->fixed) {
        text->failed = true;
        return false;
    }
    size_t room = text->room ? text->room : 64;
    while (room < needed)
        room = room > SIZE_MAX / 2 ? needed : room * 2;
    char *grown = efi_resize(text->bytes, room, 1);
    if (!grown) {
        text->failed = true;
        return false;
    }
    text->bytes = grown;
    text->room = room;
    return true;
}

void efi_text_add_bytes(efi_text *text, const char *bytes, size_t length)
{
    if (!make_room(text, length))
        return;
    if (length)
        memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
    text->bytes[text->length] = '\0';
}

void efi_text_add(efi_text *text, const char *words)
{
    efi_text_add_bytes(text, words, strlen(words));
}

void efi_text_addfv(efi_text *text, const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(NULL, 0, format, again);
    va_end(again);
    if (length < 0) {
        text->failed = true;
        return;
    }
    if (!make_room(text, (size_t)length))
        return;
    (void)vsnprintf(text->bytes + text->length, (size_t)length + 1, format, arguments);
    text->length += (size_t)length;
}

void efi_text_addf(efi_text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(text, format, arguments);
    va_end(arguments);
}

void efi_text_add_with(efi_text *text, const char *pattern, const char *word)
{
    for (const char *at = strstr(pattern, "%s"); at; at = strstr(pattern, "%s")) {
        efi_text_add_bytes(text, pattern, (size_t)(at - pattern));
        efi_text_add(text, word);
        pattern = at + 2;
    }
    efi_text_add(text, pattern);
}

void efi_text_fill(efi_text *text, char c, int count)
{
    for (int i = 0; i < count; i++)
        efi_text_add_bytes(text, &c, 1);
}

void efi_text_free(efi_text *text)
{
    if (!text->fixed)
        efi_free(text->bytes);
    memset(text, 0, sizeof *text);
}

const char *efi_text_get(const efi_text *text)
{
    return text->bytes ? text->bytes : "";
}

int efi_utf8_count(const char *bytes, size_t length)
{
    int count = 0;
    for (size_t i = 0; i < length; i++)
        if (((unsigned char)bytes[i] & 0xC0u) != 0x80u)
            count++;
    return count;
}

int efi_text_width(const char *words)
{
    const int width = u8_strwidth((const uint8_t *)words, "UTF-8");
    return width >= 0 ? width : efi_utf8_count(words, strlen(words));
}

static char plain(char c)
{
    return c == '_' || c == '-' ? ' ' : efi_lower(c);
}

bool efi_text_same_word(const char *a, const char *b)
{
    while (*a && plain(*a) == plain(*b)) {
        a++;
        b++;
    }
    return plain(*a) == plain(*b);
}

enum {
    LONGEST_WORD = 64
};

/* Restricted edit distance (optimal string alignment), by rows; -1 when a word is too long to be worth it. */
static int distance(const char *a, const char *b)
{
    const size_t na = strlen(a);
    const size_t nb = strlen(b);
    if (na > LONGEST_WORD || nb > LONGEST_WORD)
        return -1;
    int before[LONGEST_WORD + 1] = {0};
    int last[LONGEST_WORD + 1];
    int now[LONGEST_WORD + 1];
    for (size_t j = 0; j <= nb; j++)
        last[j] = (int)j;
    for (size_t i = 1; i <= na; i++) {
        now[0] = (int)i;
        for (size_t j = 1; j <= nb; j++) {
            const int change = plain(a[i - 1]) != plain(b[j - 1]);
            int best = last[j - 1] + change;
            if (last[j] + 1 < best)
                best = last[j] + 1;
            if (now[j - 1] + 1 < best)
                best = now[j - 1] + 1;
            if (i > 1 && j > 1 && plain(a[i - 1]) == plain(b[j - 2]) && plain(a[i - 2]) == plain(b[j - 1]) &&
                before[j - 2] + 1 < best)
                best = before[j - 2] + 1;
            now[j] = best;
        }
        memcpy(before, last, sizeof before);
        memcpy(last, now, sizeof last);
    }
    return last[nb];
}

const char *efi_text_nearest(const char *found, const char *const *words, int count)
{
    const char *nearest = NULL;
    const int length = (int)strlen(found);
    int least = length / 3;
    if (least < 1)
        least = 1;
    least++;
    for (int i = 0; i < count; i++) {
        /* Each character more or less is an edit, so that most words need no closer look. */
        if (abs((int)strlen(words[i]) - length) >= least)
            continue;
        const int d = distance(found, words[i]);
        if (d >= 0 && d < least) {
            least = d;
            nearest = words[i];
        }
    }
    return nearest;
}
