/* SPDX-License-Identifier: GPL-3.0-or-later
 * Growing text, UTF-8 lengths, and the nearest known word for a misspelt one. */
#ifndef EFI_TEXT_H
#define EFI_TEXT_H

#include "base/base.h"

#include <stdbool.h>
#include <stdarg.h>
#include <stddef.h>

/* A growing text. Zero-initialise it; free it with efi_text_free. After a failed allocation `failed` stays
 * true and further additions do nothing, so one check at the end is enough. */
typedef struct efi_text {
    char *bytes;   /* closed by NUL once anything was added, else NULL */
    size_t length; /* bytes, without the closing NUL */
    size_t room;
    bool failed;
    bool fixed; /* bytes are the caller's, and what does not fit fails */
} efi_text;

/* A text in `room` bytes of the caller's, which takes no memory and need not be freed. */
efi_text efi_text_fixed(char *bytes, size_t room);

void efi_text_add(efi_text *text, const char *words);
void efi_text_add_bytes(efi_text *text, const char *bytes, size_t length);
void efi_text_addf(efi_text *text, const char *format, ...) EF_PRINTF(2, 3);
void efi_text_addfv(efi_text *text, const char *format, va_list arguments) EF_PRINTF(2, 0);
/* Adds `pattern` with `word` for each %s in it: for a message of a table, which no compiler checks. */
void efi_text_add_with(efi_text *text, const char *pattern, const char *word);
/* `count` times the character `c`; nothing when count <= 0. */
void efi_text_fill(efi_text *text, char c, int count);
void efi_text_free(efi_text *text);
/* The text so far; "" when nothing was added. */
const char *efi_text_get(const efi_text *text);

/* Number of code points in valid UTF-8 of `length` bytes. */
int efi_utf8_count(const char *bytes, size_t length);

/* Columns that the text takes on a terminal or in an aligned table; wide characters count two. */
int efi_text_width(const char *words);

/*
 * The word among `words` (count of them) nearest to `found`: the fewest single-character insertions,
 * deletions, replacements and swaps of neighbours, case and the difference between blank, hyphen and
 * underscore left aside. NULL when none is near enough to be a misspelling (a third of the length, at least
 * one). Ties go to the first.
 */
const char *efi_text_nearest(const char *found, const char *const *words, int count);

/* Case, blanks, hyphens and underscores left aside, are the two the same word? */
bool efi_text_same_word(const char *a, const char *b);

#endif
