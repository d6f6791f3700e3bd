/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/diag.h"
#include "base/text.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

typedef struct entry {
    ef_diag diag;
    int order;
} entry;

struct ef_diags {
    efi_arena *arena;
    entry *entries; /* shape [count] */
    size_t count;
    size_t room;
    int per_code[EFI_DIAG_COUNT]; /* found, kept or not */
    int kept[EF_WARNING + 1];     /* by severity */
    int left_out;                 /* since the last sort */
    const char *left_out_file;    /* in the arena */
    bool failed;
};

static const struct {
    const char *name;
    ef_severity severity;
    const char *meaning;
} codes[EFI_DIAG_COUNT] = {
#define ROW(code, name, severity, meaning) [EFI_DIAG_##code] = {name, severity, meaning},
    EFI_DIAG_LIST(ROW)
#undef ROW
};

ef_diags *ef_diags_new(void)
{
    ef_diags *diags = efi_new(1, sizeof *diags);
    if (!diags)
        return NULL;
    diags->arena = efi_arena_new();
    if (!diags->arena) {
        efi_free(diags);
        return NULL;
    }
    return diags;
}

void ef_diags_free(ef_diags *diags)
{
    if (!diags)
        return;
    efi_arena_free(diags->arena);
    efi_free(diags->entries);
    efi_free(diags);
}

int ef_diags_count(const ef_diags *diags)
{
    return (int)diags->count;
}

int ef_diags_count_of(const ef_diags *diags, ef_severity severity)
{
    int count = 0;
    for (size_t i = 0; i < diags->count; i++)
        count += diags->entries[i].diag.severity == severity;
    return count;
}

const ef_diag *ef_diags_get(const ef_diags *diags, int index)
{
    if (index < 0 || (size_t)index >= diags->count)
        return NULL;
    return &diags->entries[index].diag;
}

const char *ef_diag_name(int index, ef_severity *severity, const char **meaning)
{
    if (index < 0 || index >= EFI_DIAG_COUNT)
        return NULL;
    if (severity)
        *severity = codes[index].severity;
    if (meaning)
        *meaning = codes[index].meaning;
    return codes[index].name;
}

static const char *copy(ef_diags *diags, const char *text)
{
    if (!text)
        return NULL;
    const char *kept = efi_arena_text(diags->arena, text, strlen(text));
    if (!kept)
        diags->failed = true;
    return kept;
}

static void keep(ef_diags *diags, efi_diag_code code, const ef_diag *draft)
{
    if (efi_grow(&diags->entries, diags->count, &diags->room, sizeof *diags->entries) != 0) {
        diags->failed = true;
        return;
    }
    entry *fresh = &diags->entries[diags->count];
    fresh->order = (int)diags->count;
    ef_diag *diag = &fresh->diag;
    *diag = *draft;
    diag->severity = codes[code].severity;
    diag->name = codes[code].name;
    diag->place.file = copy(diags, draft->place.file ? draft->place.file : "");
    diag->key = copy(diags, draft->key);
    diag->found = copy(diags, draft->found);
    diag->message = copy(diags, draft->message ? draft->message : codes[code].meaning);
    diag->allowed = copy(diags, draft->allowed);
    diag->likely = copy(diags, draft->likely);
    diag->excerpt = copy(diags, draft->excerpt);
    diag->second.file = copy(diags, draft->second.file);
    diag->second_words = copy(diags, draft->second_words);
    diags->count++;
}

void efi_diags_add(ef_diags *diags, efi_diag_code code, const ef_diag *draft)
{
    diags->per_code[code]++;
    if (!efi_diags_full(diags, codes[code].severity)) {
        diags->kept[codes[code].severity]++;
        keep(diags, code, draft);
        return;
    }
    if (diags->left_out++ == 0)
        diags->left_out_file = copy(diags, draft->place.file);
}

bool efi_diags_told(const ef_diags *diags, efi_diag_code code, const ef_place *place)
{
    for (size_t i = 0; i < diags->count; i++) {
        const ef_diag *diag = &diags->entries[i].diag;
        if (diag->name == codes[code].name && diag->place.line == place->line &&
            diag->place.column == place->column && strcmp(diag->place.file, place->file) == 0)
            return true;
    }
    return false;
}

const char *efi_diags_textf(ef_diags *diags, const char *format, ...)
{
    if (efi_diags_full(diags, EF_ERROR))
        return "";
    efi_text text = {0};
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&text, format, arguments);
    va_end(arguments);
    const char *kept = text.failed ? NULL : efi_arena_text(diags->arena, efi_text_get(&text), text.length);
    if (!kept)
        diags->failed = true;
    efi_text_free(&text);
    return kept;
}

bool efi_diags_full(const ef_diags *diags, ef_severity severity)
{
    return diags->kept[EF_ERROR] >= EFI_DIAG_MOST || diags->kept[severity] >= EFI_DIAG_MOST;
}

int efi_diags_count_code(const ef_diags *diags, efi_diag_code code)
{
    return diags->per_code[code];
}

int efi_diags_errors(const ef_diags *diags)
{
    int errors = 0;
    for (int code = 0; code < EFI_DIAG_COUNT; code++)
        errors += codes[code].severity == EF_ERROR ? diags->per_code[code] : 0;
    return errors;
}

bool efi_diags_failed(const ef_diags *diags)
{
    return diags->failed;
}

static int by_place(const void *left, const void *right)
{
    const entry *a = left;
    const entry *b = right;
    const int more_a = a->diag.name == codes[EFI_DIAG_TOO_MANY].name;
    const int more_b = b->diag.name == codes[EFI_DIAG_TOO_MANY].name;
    if (more_a != more_b)
        return more_a - more_b;
    const int files = strcmp(a->diag.place.file, b->diag.place.file);
    if (files != 0)
        return files;
    if (a->diag.place.line != b->diag.place.line)
        return a->diag.place.line < b->diag.place.line ? -1 : 1;
    if (a->diag.place.column != b->diag.place.column)
        return a->diag.place.column < b->diag.place.column ? -1 : 1;
    return (a->order > b->order) - (a->order < b->order);
}

/* Says how many findings were left out. The text is made here, for a full list makes none. */
static void add_left_out(ef_diags *diags)
{
    efi_text text = {0};
    efi_text_addf(&text, "%d more finding%s left out; mend these first", diags->left_out,
                  diags->left_out == 1 ? " is" : "s are");
    const ef_diag more = {.place = {.file = diags->left_out_file}, .message = efi_text_get(&text)};
    diags->per_code[EFI_DIAG_TOO_MANY]++;
    diags->failed = diags->failed || text.failed;
    keep(diags, EFI_DIAG_TOO_MANY, &more);
    efi_text_free(&text);
    diags->left_out = 0;
}

void efi_diags_sort(ef_diags *diags)
{
    if (diags->count > 1)
        qsort(diags->entries, diags->count, sizeof *diags->entries, by_place);
    if (diags->left_out > 0)
        add_left_out(diags);
}
