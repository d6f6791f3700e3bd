/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/lp/lp_names.h"

#include "base/letter.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum {
    LONGEST_NAME = 48,
    NAME_ROOM = LONGEST_NAME + 16
};

/* Names given so far, in an open hash table; each remembers how many were derived from it. */
typedef struct taken_name {
    const char *name; /* NULL: an empty place */
    int last_suffix;
} taken_name;

typedef struct name_table {
    taken_name *places;
    size_t place_count; /* a power of two, at least twice the names */
    efi_arena *arena;
} name_table;

/* Words of the CPLEX LP format, small letters. */
static const char *const format_words[] = {
    "max",     "maximum",  "maximize", "maximise", "min",      "minimum", "minimize", "minimise",
    "subject", "such",     "st",       "bound",    "bounds",   "general", "generals", "gen",
    "integer", "integers", "int",      "binary",   "binaries", "bin",     "semi",     "sos",
    "free",    "inf",      "infinity", "end",      "constant",
};

static bool is_format_word(const char *name)
{
    for (size_t k = 0; k < EF_COUNT(format_words); k++) {
        const char *word = format_words[k];
        size_t n = 0;
        while (word[n] && (name[n] == word[n] || name[n] - 'A' == word[n] - 'a'))
            n++;
        if (!word[n] && !name[n])
            return true;
    }
    return false;
}

/* `given` in the letters that are allowed, to clean[NAME_ROOM]. */
static void name_clean(const char *given, char *clean)
{
    size_t length = 0;
    char plain[LONGEST_NAME + 1];
    for (; length < LONGEST_NAME && given[length]; length++)
        plain[length] = efi_is_letter(given[length]) || efi_is_digit(given[length]) ? given[length] : '_';
    plain[length] = '\0';
    const bool is_number_like = (plain[0] == 'e' || plain[0] == 'E') && efi_is_digit(plain[1]);
    const bool needs_front = !efi_is_letter(plain[0]) || is_number_like || is_format_word(plain);
    (void)snprintf(clean, NAME_ROOM, "%s%s", needs_front ? "n_" : "", plain);
}

/* FNV-1a. Source: G. Fowler, L. C. Noll, K.-P. Vo, D. Eastlake, The FNV Non-Cryptographic Hash Algorithm. */
static uint64_t hash_of(const char *name)
{
    uint64_t hash = 0xcbf29ce484222325u;
    for (; *name; name++)
        hash = (hash ^ (unsigned char)*name) * 0x100000001b3u;
    return hash;
}

/* Where `name` stands, or the empty place where it would. */
static taken_name *place_of(const name_table *table, const char *name)
{
    size_t at = (size_t)hash_of(name) & (table->place_count - 1);
    while (table->places[at].name && strcmp(table->places[at].name, name) != 0)
        at = (at + 1) & (table->place_count - 1);
    return &table->places[at];
}

static ef_status name_take(name_table *table, const char *given, const char **name)
{
    char clean[NAME_ROOM];
    char wanted[NAME_ROOM + 16];
    name_clean(given, clean);
    taken_name *first = place_of(table, clean);
    taken_name *place = first;
    (void)snprintf(wanted, sizeof wanted, "%s", clean);
    while (place->name) {
        first->last_suffix++;
        (void)snprintf(wanted, sizeof wanted, "%s_%d", clean, first->last_suffix + 1);
        place = place_of(table, wanted);
    }
    place->name = efi_arena_text(table->arena, wanted, strlen(wanted));
    if (!place->name)
        return EF_MEMORY;
    *name = place->name;
    return EF_OK;
}

static ef_status names_take(name_table *table, const efi_lp *lp, const char **columns, const char **rows)
{
    char by_place[NAME_ROOM];
    for (int j = 0; j < efi_lp_columns(lp); j++) {
        const char *given = efi_lp_column_name(lp, j);
        (void)snprintf(by_place, sizeof by_place, "c%d", j + 1);
        EF_TRY(name_take(table, given ? given : by_place, &columns[j]));
    }
    for (int i = 0; i < efi_lp_rows(lp); i++) {
        const char *given = efi_lp_row_name(lp, i);
        (void)snprintf(by_place, sizeof by_place, "r%d", i + 1);
        EF_TRY(name_take(table, given ? given : by_place, &rows[i]));
    }
    return EF_OK;
}

ef_status efi_lp_names_make(const efi_lp *lp, const char *const *reserved, int reserved_count,
                            efi_arena *arena, const char **columns, const char **rows)
{
    const size_t count = (size_t)efi_lp_columns(lp) + (size_t)efi_lp_rows(lp) + (size_t)reserved_count;
    name_table table = {.place_count = 16, .arena = arena};
    while (table.place_count < 2 * count)
        table.place_count *= 2;
    table.places = efi_new(table.place_count, sizeof *table.places);
    if (!table.places)
        return EF_MEMORY;
    const char *unused;
    ef_status status = EF_OK;
    for (int k = 0; status == EF_OK && k < reserved_count; k++)
        status = name_take(&table, reserved[k], &unused);
    if (status == EF_OK)
        status = names_take(&table, lp, columns, rows);
    efi_free(table.places);
    return status;
}
