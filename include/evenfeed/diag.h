/* SPDX-License-Identifier: GPL-3.0-or-later
 * Diagnostics: what is wrong with a file, as data that a program can sort, count, show or translate. */
#ifndef EVENFEED_DIAG_H
#define EVENFEED_DIAG_H

#include <evenfeed/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum ef_severity {
    EF_ERROR,  /* the file cannot be used */
    EF_WARNING /* it can, but somebody should look */
} ef_severity;

/* A stretch of one line of a file. Lines and columns count from 1, columns count characters. */
typedef struct ef_place {
    const char *file; /* name as given; never NULL in a diagnostic */
    int line;         /* 0: the file as a whole */
    int column;
    int end_column; /* one past the last character; equal to column when the stretch is empty */
} ef_place;

/* One finding. Texts are UTF-8 and live as long as the list; those that do not apply are NULL. */
typedef struct ef_diag {
    ef_severity severity;
    const char *name; /* stable name, say "unit-missing" */
    ef_place place;
    const char *key;          /* path of the key, say "stations.Deck.capacity" */
    const char *found;        /* what stands there, as typed */
    const char *message;      /* one sentence without the key */
    const char *allowed;      /* what would be accepted */
    const char *likely;       /* the likely fix */
    const char *excerpt;      /* the line of the file */
    ef_place second;          /* a second position; second.file is NULL when there is none */
    const char *second_words; /* what stands at the second position, say "first given here" */
} ef_diag;

/* A list of findings, sorted by position once loading is over. Not shared between threads while it grows. */
typedef struct ef_diags ef_diags;

/* A new empty list, or NULL without memory. Free it with ef_diags_free. */
ef_diags *ef_diags_new(void);

/* Frees the list and every text in it; NULL is allowed. */
void ef_diags_free(ef_diags *diags);

/* How many findings; all, and those of one severity. */
int ef_diags_count(const ef_diags *diags);
int ef_diags_count_of(const ef_diags *diags, ef_severity severity);

/* Finding number `index`, 0 <= index < ef_diags_count; NULL outside. Valid until the list is freed or grows.
 */
const ef_diag *ef_diags_get(const ef_diags *diags, int index);

/*
 * Every diagnostic name there is, in a fixed order: name `index` from 0, NULL past the last. `severity` and
 * `meaning` (one sentence) are filled where not NULL. Any thread.
 */
const char *ef_diag_name(int index, ef_severity *severity, const char **meaning);

#ifdef __cplusplus
}
#endif
#endif
