/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/beside_tree.h"
#include "base/csv.h"
#include "base/letter.h"
#include "base/text.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- changing the tree ----------------------------------------------------------------------------------
 */

bool efi_beside_add_pair(efi_binder *b, efi_node *map, efi_node key, efi_node value)
{
    efi_node *children = efi_bind_get(b, 2 * ((size_t)map->length + 1), sizeof *children);
    if (!children)
        return false;
    if (map->length)
        memcpy(children, map->is.children, 2 * (size_t)map->length * sizeof *children);
    children[2 * map->length] = key;
    children[2 * map->length + 1] = value;
    map->is.children = children;
    map->length++;
    return true;
}

efi_node *efi_beside_find_value(efi_node *map, const char *key, size_t length)
{
    for (uint32_t i = 0; i < map->length; i++) {
        efi_node *pair = &map->is.children[2 * i];
        if (pair->kind == EFI_NODE_TEXT && pair->length == length && memcmp(pair->is.text, key, length) == 0)
            return pair + 1;
    }
    return NULL;
}

bool efi_beside_become_map(efi_node *node)
{
    if (efi_node_is_empty(node)) {
        node->kind = EFI_NODE_MAP;
        node->length = 0;
        node->is.children = NULL;
    }
    return node->kind == EFI_NODE_MAP;
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

typedef struct table {
    efi_binder *b;
    efi_csv csv;
    int source;
} table;

static efi_node node_of(const table *t, const efi_csv_cell *cell)
{
    efi_node node = {.kind = EFI_NODE_TEXT,
                     .quoted = cell->quoted,
                     .source = (uint8_t)t->source,
                     .line = cell->line,
                     .column = cell->column,
                     .length = cell->length};
    efi_node_set_width(&node, cell->end_column - cell->column);
    node.is.text = cell->text;
    return node;
}

/* Splits "capacity [t/h]" or "capacity (t/h)" into the key and the unit; no unit leaves it empty. */
static void split_heading(const efi_csv_cell *heading, size_t *key_length, const char **unit,
                          size_t *unit_length)
{
    *key_length = heading->length;
    *unit = "";
    *unit_length = 0;
    const char *text = heading->text;
    const char last = heading->length ? text[heading->length - 1] : ' ';
    const char first = last == ']' ? '[' : '(';
    const char *open = last == ']' || last == ')' ? memchr(text, first, heading->length) : NULL;
    if (!open)
        return;
    *unit = open + 1;
    *unit_length = (size_t)(text + heading->length - 1 - *unit);
    *key_length = (size_t)(open - text);
    while (*key_length > 0 && text[*key_length - 1] == ' ')
        (*key_length)--;
}

/* The cell's value; a bare number gets the unit of its heading. */
static efi_node value_of(const table *t, int row, int column)
{
    const efi_csv_cell *cell = efi_csv_at(&t->csv, row, column);
    efi_node node = node_of(t, cell);
    size_t key_length;
    const char *unit;
    size_t unit_length;
    split_heading(efi_csv_at(&t->csv, 0, column), &key_length, &unit, &unit_length);
    const char last = cell->length ? cell->text[cell->length - 1] : ' ';
    if (unit_length == 0 || cell->length == 0 || !(efi_is_digit(last) || last == '.'))
        return node;
    efi_text text = {0};
    efi_text_addf(&text, "%.*s %.*s", (int)cell->length, cell->text, (int)unit_length, unit);
    node.is.text = efi_arena_text(t->b->scenario->arena, efi_text_get(&text), text.length);
    node.length = (uint32_t)text.length;
    t->b->failed = t->b->failed || text.failed || !node.is.text;
    efi_text_free(&text);
    return node;
}

/* Puts a value at a dotted key inside a block, making the blocks on the way. */
static void put(const table *t, efi_node *block, const char *key, size_t length, const efi_csv_cell *heading,
                efi_node value)
{
    for (;;) {
        const char *dot = memchr(key, '.', length);
        efi_node name = node_of(t, heading);
        name.is.text = key;
        name.length = (uint32_t)(dot ? (size_t)(dot - key) : length);
        if (!dot) {
            (void)efi_beside_add_pair(t->b, block, name, value);
            return;
        }
        efi_node *inner = efi_beside_find_value(block, key, name.length);
        if (!inner || !efi_beside_become_map(inner)) {
            efi_node fresh = value; /* where the row has it */
            fresh.kind = EFI_NODE_MAP;
            fresh.length = 0;
            fresh.is.children = NULL;
            if (!efi_beside_add_pair(t->b, block, name, fresh))
                return;
            inner = &block->is.children[2 * block->length - 1];
        }
        block = inner;
        length -= (size_t)(dot + 1 - key);
        key = dot + 1;
    }
}

static void put_row(const table *t, efi_node *block, int row, int first_column)
{
    for (int column = first_column; column < t->csv.columns && !t->b->failed; column++) {
        const efi_csv_cell *heading = efi_csv_at(&t->csv, 0, column);
        if (efi_csv_at(&t->csv, row, column)->length == 0 || heading->length == 0)
            continue;
        size_t key_length;
        const char *unit;
        size_t unit_length;
        split_heading(heading, &key_length, &unit, &unit_length);
        put(t, block, heading->text, key_length, heading, value_of(t, row, column));
    }
}

/* A key of the block in sorted order, and where its value is. */
typedef struct sorted_key {
    const char *text;
    size_t length;
    uint32_t pair;
} sorted_key;

static int by_text(const void *left, const void *right)
{
    const sorted_key *a = left;
    const sorted_key *b = right;
    const size_t shorter = a->length < b->length ? a->length : b->length;
    const int order = shorter ? memcmp(a->text, b->text, shorter) : 0;
    return order ? order : (a->length > b->length) - (a->length < b->length);
}

/* Adds the rows to the block, each under its number. */
static void add_rows(const table *t, efi_node *map)
{
    const size_t old = map->length;
    const size_t rows = t->csv.rows > 0 ? (size_t)t->csv.rows - 1 : 0;
    efi_node *children = efi_bind_get(t->b, 2 * (old + rows), sizeof *children);
    if (!children)
        return;
    if (old)
        memcpy(children, map->is.children, 2 * old * sizeof *children);
    map->is.children = children;
    for (int row = 1; row < t->csv.rows && !t->b->failed; row++) {
        char name[24];
        const int length = snprintf(name, sizeof name, "row %d", row + 1);
        efi_node *key = &children[2 * map->length++];
        *key = node_of(t, efi_csv_at(&t->csv, row, 0));
        key[1] = *key;
        key->is.text = efi_arena_text(t->b->scenario->arena, name, (size_t)length);
        key->length = (uint32_t)length;
        t->b->failed = t->b->failed || !key->is.text;
        key[1].kind = EFI_NODE_MAP;
        key[1].length = 0;
        key[1].is.children = NULL;
        put_row(t, key + 1, row, 0);
    }
}

/* Are the rows of a table in the block at `path` numbered, not named? */
static bool is_numbered(const efi_path *path)
{
    for (int i = 0; path && !path->up && i < efi_language.count; i++) {
        const efi_field *field = &efi_language.fields[i];
        if (efi_node_is(path->key, field->key))
            return field->type == EFI_FIELD_NAMED && field->block->numbered;
    }
    return false;
}

/* What the language knows at a place: a block of keys, or names with a block each. */
typedef struct spot {
    const efi_block *keys;  /* NULL for names, and where the language knows nothing */
    const efi_block *named; /* of each name; NULL for keys */
} spot;

static spot spot_at(const efi_path *path)
{
    if (!path)
        return (spot){.keys = &efi_language};
    const spot up = spot_at(path->up);
    if (up.named)
        return (spot){.keys = up.named};
    for (int i = 0; up.keys && i < up.keys->count; i++) {
        const efi_field *field = &up.keys->fields[i];
        if (!efi_node_is(path->key, field->key))
            continue;
        if (field->type == EFI_FIELD_NAMED)
            return (spot){.named = field->block};
        return (spot){.keys = field->type == EFI_FIELD_BLOCK ? field->block : NULL};
    }
    return (spot){0};
}

/* A value under no heading would be lost. */
static void check_headings(const table *t)
{
    for (int column = 0; column < t->csv.columns; column++) {
        const bool bare = efi_csv_at(&t->csv, 0, column)->length == 0;
        for (int row = 1; bare && column > 0 && row < t->csv.rows; row++) {
            const efi_csv_cell *cell = efi_csv_at(&t->csv, row, column);
            const efi_node node = node_of(t, cell);
            if (cell->length == 0)
                continue;
            efi_bind_report(t->b, EFI_DIAG_KEY_UNKNOWN, NULL, &node, "this column has no heading",
                            "a key above each column", NULL);
            break;
        }
    }
}

/* Is some column for this key of the block? */
static bool has_column(const table *t, const char *key)
{
    for (int column = 0; column < t->csv.columns; column++) {
        const efi_csv_cell *heading = efi_csv_at(&t->csv, 0, column);
        size_t length;
        const char *unit;
        size_t unit_length;
        split_heading(heading, &length, &unit, &unit_length);
        if (length == strlen(key) && memcmp(heading->text, key, length) == 0)
            return true;
    }
    return false;
}

/* Is the first column one of keys, where names belong? Then no row means anything. */
static bool first_is_key(const table *t, const efi_block *block, const efi_path *path)
{
    const efi_csv_cell *heading = t->csv.rows > 0 ? efi_csv_at(&t->csv, 0, 0) : NULL;
    size_t length = 0;
    const char *unit;
    size_t unit_length;
    if (heading)
        split_heading(heading, &length, &unit, &unit_length);
    for (int i = 0; length > 0 && i < block->count; i++) {
        const char *key = block->fields[i].key;
        if (strlen(key) != length || memcmp(key, heading->text, length) != 0)
            continue;
        const efi_node node = node_of(t, heading);
        efi_bind_report(t->b, EFI_DIAG_KEY_UNKNOWN, path, &node,
                        efi_diags_textf(t->b->diags,
                                        "the first column holds the names of the %s, not their %s",
                                        block->title, key),
                        "a first column with a name for each row, then the keys", NULL);
        return true;
    }
    return false;
}

/* Is there a heading that no key of the block has, but which may be meant for this one? */
static bool has_near_column(const table *t, const efi_block *block, const char *key)
{
    for (int column = 1; column < t->csv.columns; column++) {
        const efi_csv_cell *heading = efi_csv_at(&t->csv, 0, column);
        size_t length;
        const char *unit;
        size_t unit_length;
        bool known = false;
        split_heading(heading, &length, &unit, &unit_length);
        for (int i = 0; i < block->count && !known; i++)
            known = strlen(block->fields[i].key) == length &&
                    memcmp(block->fields[i].key, heading->text, length) == 0;
        const char *text = known ? NULL : efi_arena_text(t->b->scenario->arena, heading->text, length);
        t->b->failed = t->b->failed || (!known && !text);
        if (text && efi_text_nearest(text, &key, 1))
            return true;
    }
    return false;
}

/* Does a table of lots, which brings them all, lack a column that each of them needs? Told once, not for
 * every row. */
static bool lacks_column(const table *t, const efi_block *block, const efi_path *path)
{
    for (int i = 0; block->names == EFI_NAMES_LOTS && i < block->count; i++) {
        const efi_field *field = &block->fields[i];
        if (!field->required || t->csv.rows < 2 || has_column(t, field->key) ||
            has_near_column(t, block, field->key))
            continue;
        const efi_node node = node_of(t, efi_csv_at(&t->csv, 0, 0));
        efi_bind_report(t->b, EFI_DIAG_KEY_MISSING, path, &node,
                        efi_diags_textf(t->b->diags, "the table has no column \"%s\"", field->key), NULL,
                        efi_diags_textf(t->b->diags, "%s [t]", field->key));
        return true;
    }
    return false;
}

/* Merges the rows into the block: a known key takes the row in, others are added at the end. Where the keys
 * are names of things, each row is a block; else a table of two columns holds keys and values. */
static void merge_rows(const table *t, efi_node *map, const efi_path *path)
{
    const efi_block *named = spot_at(path).named;
    const bool scalar = t->csv.columns == 2 && !named;
    if (named && (first_is_key(t, named, path) || (map->length == 0 && lacks_column(t, named, path)))) {
        map->unsound = 1;
        return;
    }
    const size_t old = map->length;
    const size_t rows = t->csv.rows > 0 ? (size_t)t->csv.rows - 1 : 0;
    efi_node *children = efi_bind_get(t->b, 2 * (old + rows), sizeof *children);
    sorted_key *keys = efi_bind_get(t->b, old, sizeof *keys);
    if (!children || !keys)
        return;
    if (old)
        memcpy(children, map->is.children, 2 * old * sizeof *children);
    map->is.children = children;
    for (size_t i = 0; i < old; i++)
        keys[i] = (sorted_key){children[2 * i].kind == EFI_NODE_TEXT ? children[2 * i].is.text : "",
                               children[2 * i].kind == EFI_NODE_TEXT ? children[2 * i].length : 0,
                               (uint32_t)i};
    qsort(keys, old, sizeof *keys, by_text);
    for (int row = 1; row < t->csv.rows && !t->b->failed; row++) {
        const efi_csv_cell *name = efi_csv_at(&t->csv, row, 0);
        const sorted_key wanted = {.text = name->text, .length = name->length};
        const sorted_key *known = old ? bsearch(&wanted, keys, old, sizeof *keys, by_text) : NULL;
        efi_node *block = known && !scalar ? &children[2 * known->pair + 1] : NULL;
        if (!block || !efi_beside_become_map(block)) {
            children[2 * map->length] = node_of(t, name);
            block = &children[2 * map->length + 1];
            *block = scalar ? value_of(t, row, 1) : node_of(t, name);
            if (!scalar) {
                block->kind = EFI_NODE_MAP;
                block->length = 0;
                block->is.children = NULL;
            }
            map->length++;
        }
        if (!scalar)
            put_row(t, block, row, 1);
    }
}

static void report_unread(efi_binder *b, const efi_path *path, const efi_node *at, const char *message,
                          const char *likely)
{
    efi_bind_report(b, EFI_DIAG_FILE_UNREAD, path, at, message, NULL, likely);
}

/* A file that a `file` key names: all in the arena. */
typedef struct beside {
    const char *name; /* with its directory */
    const char *bytes;
    size_t length;
} beside;

/* Reads the file that a `file` key names; false when it cannot be read (reported). */
static bool read_beside(efi_binder *b, const efi_path *path, const efi_node *at, const char *directory,
                        beside *file)
{
    const char *name = at->kind == EFI_NODE_TEXT ? efi_bind_text(b, at) : NULL;
    if (!name || !*name) {
        report_unread(b, path, at, "the name of a file belongs here", "file: stations.csv");
        return false;
    }
    if (!directory) {
        report_unread(b, path, at,
                      "there are no files beside a scenario that does not come from a file itself", NULL);
        return false;
    }
    efi_text where = {0};
    efi_text_addf(&where, "%s%s", name[0] == '/' ? "" : directory, name);
    char *bytes = NULL;
    errno = 0;
    const ef_status status = where.failed ? EF_MEMORY
                                          : efi_file_read(efi_text_get(&where), &bytes, &file->length);
    if (status == EF_FILE)
        report_unread(b, path, at, efi_diags_textf(b->diags, "%s: %s", efi_text_get(&where), strerror(errno)),
                      "the name is taken relative to the scenario");
    file->name = efi_arena_text(b->scenario->arena, efi_text_get(&where), where.length);
    file->bytes = status == EF_OK ? efi_arena_text(b->scenario->arena, bytes, file->length) : NULL;
    efi_text_free(&where);
    efi_free(bytes);
    b->failed = b->failed || !file->name || (status != EF_OK && status != EF_FILE) ||
                (status == EF_OK && !file->bytes);
    return status == EF_OK && !b->failed;
}

/* Reads a file as a table; false when it cannot be (reported). */
static bool open_table(efi_binder *b, const efi_path *path, const efi_node *at, const beside *file, table *t)
{
    const ef_status added = efi_tree_add_source(&b->scenario->tree, file->name, file->bytes, file->length,
                                                &t->source);
    if (added == EF_USAGE)
        report_unread(b, path, at, "there are too many tables", NULL);
    b->failed = b->failed || added == EF_MEMORY;
    if (added != EF_OK)
        return false;
    t->b = b;
    b->failed = efi_csv_read(&t->csv, b->scenario->arena, file->name, file->bytes, file->length, b->diags) !=
                EF_OK;
    b->scenario->tree.sources[t->source].is_table = true;
    b->scenario->tree.sources[t->source].decimal_comma = !b->failed && t->csv.separator != ',';
    return !b->failed;
}

/* Takes pair `index` out of a map. */
static void drop_pair(efi_node *map, uint32_t index)
{
    efi_node *at = &map->is.children[2 * index];
    memmove(at, at + 2, 2 * (size_t)(map->length - index - 1) * sizeof *at);
    map->length--;
}

/* ---- scenarios beside a scenario ------------------------------------------------------------------------
 */

static bool is_scenario(const char *name)
{
    const char *dot = strrchr(name, '.');
    return dot && (strcmp(dot, ".yaml") == 0 || strcmp(dot, ".yml") == 0);
}

/* Adds what another file says to a block; what the block says itself goes before. */
static void merge_under(efi_binder *b, efi_node *map, const efi_node *under)
{
    const efi_node own = *map; /* its pairs alone: a key that stands twice in the other file is told later */
    for (uint32_t i = 0; i < under->length && !b->failed; i++) {
        const efi_node *pair = &under->is.children[2 * i];
        const efi_node *known = NULL;
        for (uint32_t k = 0; k < own.length && !known && pair->kind == EFI_NODE_TEXT; k++)
            if (own.is.children[2 * k].length == pair->length &&
                efi_node_is(&own.is.children[2 * k], efi_bind_text(b, pair)))
                known = &own.is.children[2 * k];
        if (!known)
            (void)efi_beside_add_pair(b, map, pair[0], pair[1]);
        else if (known[1].kind == EFI_NODE_MAP && pair[1].kind == EFI_NODE_MAP)
            merge_under(b, &map->is.children[known - own.is.children + 1], &pair[1]);
    }
}

/* Where files are read from, and how many of them lead here. */
typedef struct place_of_files {
    const char *directory; /* ending in a slash, or ""; NULL: nowhere */
    int depth;
} place_of_files;

enum {
    MOST_FILES_DEEP = 8
};

static void merge_files(efi_binder *b, efi_node *node, const efi_path *path, place_of_files where);

static void merge_scenario(efi_binder *b, efi_node *node, const efi_path *path, const efi_path *here,
                           const efi_node *at, const beside *file, int depth)
{
    efi_node *root = NULL;
    if (depth > MOST_FILES_DEEP) {
        report_unread(b, here, at, "files that name one another without an end", NULL);
        return;
    }
    const char *slash = strrchr(file->name, '/');
    const place_of_files where = {.directory = efi_arena_text(b->scenario->arena, file->name,
                                                              slash ? (size_t)(slash + 1 - file->name) : 0),
                                  .depth = depth};
    const ef_status status = efi_tree_read_more(&b->scenario->tree, file->name, file->bytes, file->length,
                                                b->diags, &root);
    if (status == EF_USAGE)
        report_unread(b, here, at, "there are too many files", NULL);
    b->failed = b->failed || status == EF_MEMORY || !where.directory;
    if (status != EF_OK || b->failed || !root)
        return;
    if (root->kind != EFI_NODE_MAP) {
        report_unread(b, here, at, "the file holds no keys", NULL);
        return;
    }
    merge_files(b, root, path, where);
    merge_under(b, node, root);
}

static void merge_files(efi_binder *b, efi_node *node, const efi_path *path, place_of_files where)
{
    if (node->kind == EFI_NODE_TEXT || b->failed)
        return;
    const bool map = node->kind == EFI_NODE_MAP;
    for (uint32_t i = 0; i < node->length; i++) {
        efi_node *child = &node->is.children[map ? 2 * i + 1 : i];
        const efi_path here = efi_path_to(path, map ? child - 1 : child);
        merge_files(b, child, &here, where);
    }
    for (uint32_t i = 0; map && i < node->length; i++) {
        const efi_node key = node->is.children[2 * i];
        if (!efi_node_is(&key, EFI_WORD_FILE))
            continue;
        const efi_node at = node->is.children[2 * i + 1];
        const efi_path here = efi_path_to(path, &key);
        beside file;
        table t;
        drop_pair(node, i);
        if (!read_beside(b, &here, &at, where.directory, &file))
            return;
        if (is_scenario(file.name)) {
            merge_scenario(b, node, path, &here, &at, &file, where.depth + 1);
            return;
        }
        if (!open_table(b, &here, &at, &file, &t))
            return;
        check_headings(&t);
        if (is_numbered(path))
            add_rows(&t, node);
        else
            merge_rows(&t, node, path);
        return;
    }
}

void efi_beside_read(efi_binder *b, const char *directory)
{
    if (b->scenario->tree.root)
        merge_files(b, b->scenario->tree.root, NULL, (place_of_files){.directory = directory});
}
