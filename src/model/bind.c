/* SPDX-License-Identifier: GPL-3.0-or-later
 * Blocks of the language: known keys, missing keys, named lists. */
#include "base/text.h"
#include "model/bind.h"

#include <stdlib.h>
#include <string.h>

bool efi_bind_cells(efi_binder *b, size_t cells, const efi_node *at)
{
    enum {
        MOST_CELLS = 8 << 20
    };
    if (b->cells > MOST_CELLS)
        return false;
    b->cells += cells;
    if (b->cells <= MOST_CELLS)
        return true;
    efi_bind_report(b, EFI_DIAG_TOO_LARGE, NULL, at,
                    "so many crops, materials and stations together are too many", NULL, NULL);
    return false;
}

void *efi_bind_get(efi_binder *b, size_t count, size_t size)
{
    void *memory = efi_arena_get(b->scenario->arena, count, size);
    if (!memory)
        b->failed = true;
    return memory;
}

const char *efi_bind_text(efi_binder *b, const efi_node *node)
{
    const char *text = efi_arena_text(b->scenario->arena, node->is.text, node->length);
    if (!text)
        b->failed = true;
    return text;
}

/* ---- duplicate keys -------------------------------------------------------------------------------------
 */

/* Keys of a map in order of text, then of place. */
static int by_key(const void *left, const void *right)
{
    const efi_node *a = *(const efi_node *const *)left;
    const efi_node *b = *(const efi_node *const *)right;
    const size_t shorter = a->length < b->length ? a->length : b->length;
    const int order = shorter ? memcmp(a->is.text, b->is.text, shorter) : 0;
    if (order != 0)
        return order;
    if (a->length != b->length)
        return a->length < b->length ? -1 : 1;
    return (a > b) - (a < b); /* children of one map lie in file order */
}

static void report_twice(efi_binder *b, const efi_path *up, const efi_node *first, const efi_node *again)
{
    const efi_path path = efi_path_to(up, again);
    ef_diag draft = efi_bind_draft(b, &path, again);
    if (efi_node_is_heading(again) && efi_diags_told(b->diags, EFI_DIAG_KEY_TWICE, &draft.place))
        return; /* a heading is told once, not for each row */
    draft.message = efi_diags_textf(b->diags, "\"%s\" stands twice in this block", draft.found);
    draft.second = efi_tree_place(&b->scenario->tree, first);
    draft.second_words = "first given here";
    draft.likely = "take one of the two out, or give it another name";
    efi_diags_add(b->diags, EFI_DIAG_KEY_TWICE, &draft);
}

static bool same_text(const efi_node *a, const efi_node *b)
{
    return a->length == b->length && memcmp(a->is.text, b->is.text, a->length) == 0;
}

/* Is the map so small that its keys are soon compared, and are they all different? */
static bool few_and_different(const efi_node *map)
{
    enum {
        FEW = 8
    };
    if (map->length > FEW)
        return false;
    for (int i = 0; i < (int)map->length; i++)
        for (int k = 0; k < i; k++)
            if (efi_node_key(map, i)->kind != EFI_NODE_TEXT || efi_node_key(map, k)->kind != EFI_NODE_TEXT ||
                same_text(efi_node_key(map, i), efi_node_key(map, k)))
                return false;
    return true;
}

/* Reports keys given twice in a map of any size. */
static void check_twice(efi_binder *b, const efi_node *map, const efi_path *path)
{
    if (few_and_different(map))
        return;
    const efi_node **keys = efi_new(map->length, sizeof(efi_node *));
    if (!keys) {
        b->failed = true;
        return;
    }
    size_t count = 0;
    for (int i = 0; i < (int)map->length; i++)
        if (!efi_node_key(map, i)->unsound)
            keys[count++] = efi_node_key(map, i);
    qsort(keys, count, sizeof *keys, by_key);
    for (size_t i = 1; i < count; i++)
        if (same_text(keys[i], keys[i - 1]))
            report_twice(b, path, keys[i - 1], keys[i]);
    efi_free(keys);
}

/* ---- blocks ---------------------------------------------------------------------------------------------
 */

enum {
    MOST_FIELDS = 64
};

/* Which field of the block a key names, -1 when none. */
static int find_field(const efi_block *block, const efi_node *key)
{
    if (key->length == 0 || key->kind != EFI_NODE_TEXT)
        return -1;
    for (int i = 0; i < block->count; i++)
        if (block->fields[i].key[0] == key->is.text[0] && efi_node_is(key, block->fields[i].key))
            return i;
    return -1;
}

/* Finds the key of each field, the first where there are several; `keys` has a NULL for each field before.
 * Returns whether the map holds other keys too. */
static bool find_keys(const efi_block *block, const efi_node *map, const efi_node **keys)
{
    bool unknown = false;
    for (int i = 0; i < (int)map->length; i++) {
        const int field = find_field(block, efi_node_key(map, i));
        if (field < 0)
            unknown = true;
        else if (!keys[field])
            keys[field] = efi_node_key(map, i);
    }
    return unknown;
}

/* Does the field go with the station that is being bound? Only stations have a kind. */
static bool fits(const efi_field *field, const efi_block *block, const void *into)
{
    if (!field->kinds || block->names != EFI_NAMES_STATIONS)
        return true;
    const efi_station *station = into;
    if (station->kind == EFI_STATION_UNKNOWN)
        return true;
    return (field->kinds & 1u << station->kind) != 0;
}

/* Does it go with the station for sure? A kind that could not be read leaves that open. */
static bool sure_to_fit(const efi_field *field, const efi_block *block, const void *into)
{
    const bool open = field->kinds && block->names == EFI_NAMES_STATIONS &&
                      ((const efi_station *)into)->kind == EFI_STATION_UNKNOWN;
    return !open && fits(field, block, into);
}

/* The keys that fit here, for "allowed". */
static const char *known_keys(efi_binder *b, const efi_block *block, const void *into)
{
    efi_text text = {0};
    for (int i = 0; i < block->count; i++) {
        if (!fits(&block->fields[i], block, into))
            continue;
        efi_text_addf(&text, "%s%s", text.length ? ", " : "", block->fields[i].key);
    }
    return efi_bind_keep(b, &text);
}

/* The field that an unknown key was likely meant for: near in spelling, without a key so far, fitting. -1
 * when there is none. */
static int nearest_field(const efi_block *block, const efi_node *const *keys, const char *key,
                         const void *into)
{
    const char *words[MOST_FIELDS] = {NULL};
    int fields[MOST_FIELDS];
    int count = 0;
    for (int i = 0; i < block->count; i++) {
        if (fits(&block->fields[i], block, into) && !keys[i]) {
            fields[count] = i;
            words[count++] = block->fields[i].key;
        }
    }
    const char *nearest = efi_text_nearest(key, words, count);
    for (int i = 0; i < count; i++)
        if (words[i] == nearest)
            return fields[i];
    return -1;
}

/* "capacity:12 t/h" in braces is a key with no value. Splits it, and returns true, when that gives a key we
 * know. */
static bool split_tight(const efi_block *block, efi_node *key)
{
    const char *colon = memchr(key->is.text, ':', key->length);
    if (!colon || !efi_node_is_empty(key + 1))
        return false;
    efi_node head = *key;
    head.length = (uint32_t)(colon - key->is.text);
    if (find_field(block, &head) < 0)
        return false;
    const bool on_one_line = (int)key->width == efi_utf8_count(key->is.text, key->length);
    const int before = on_one_line ? efi_utf8_count(key->is.text, head.length + 1) : 0;
    key[1].is.text = colon + 1;
    key[1].length = key->length - head.length - 1;
    key[1].line = key->line;
    key[1].column = key->column + (uint32_t)before;
    key[1].width = (key->width - (unsigned)before) & 0xFFFFu;
    key->length = head.length;
    return true;
}

/* Reports a key that the block does not know and, where what was meant is clear, reads it as that, so that
 * its value is checked and nothing is said to be missing. */
static void mend_key(efi_binder *b, const efi_block *block, efi_node *key, const efi_path *up,
                     const void *into, const efi_node **keys)
{
    const efi_path path = efi_path_to(up, key);
    const bool heading = efi_node_is_heading(key);
    const efi_station of_any_kind = {.kind = EFI_STATION_UNKNOWN};
    const bool for_all = heading && block->names == EFI_NAMES_STATIONS; /* rows may be of different kinds */
    ef_diag draft = efi_bind_draft(b, &path, key);
    const char *found = draft.found ? draft.found : "";
    draft.allowed = known_keys(b, block, for_all ? &of_any_kind : into);
    int meant = -1;
    if (split_tight(block, key)) {
        meant = find_field(block, key);
        draft.message = efi_diags_textf(b->diags, "\"%s\" has no blank after its colon", found);
        draft.likely = efi_diags_textf(b->diags, "%s: %s", block->fields[meant].key,
                                       efi_bind_shown(b, key + 1));
    } else {
        const efi_node *none[MOST_FIELDS] = {NULL};
        meant = for_all ? nearest_field(block, none, found, &of_any_kind)
                        : nearest_field(block, keys, found, into);
        draft.message = efi_diags_textf(b->diags, "%s\"%s\" means nothing here",
                                        heading ? "the heading " : "", found);
        draft.likely = meant >= 0 ? block->fields[meant].key : NULL;
    }
    if (!heading || !efi_diags_told(b->diags, EFI_DIAG_KEY_UNKNOWN, &draft.place))
        efi_diags_add(b->diags, EFI_DIAG_KEY_UNKNOWN, &draft);
    if (meant >= 0 && !keys[meant] && fits(&block->fields[meant], block, into)) {
        key->is.text = block->fields[meant].key;
        key->length = (uint32_t)strlen(key->is.text);
        keys[meant] = key;
    }
}

/* Reports the keys that the block does not know. One that the YAML reader has complained about, or whose
 * value, needs no second finding. */
static void check_keys(efi_binder *b, const efi_block *block, const efi_node *map, const efi_path *path,
                       const void *into, const efi_node **keys)
{
    for (int i = 0; i < (int)map->length; i++) {
        efi_node *key = &map->is.children[2 * i];
        const bool said = key->unsound || (key[1].kind == EFI_NODE_TEXT && key[1].unsound);
        if (said || find_field(block, key) >= 0)
            continue;
        if (efi_diags_full(b->diags, EF_ERROR)) {
            const ef_diag draft = {.place = efi_tree_place(&b->scenario->tree, key)};
            efi_diags_add(b->diags, EFI_DIAG_KEY_UNKNOWN, &draft);
        } else {
            mend_key(b, block, key, path, into, keys);
        }
    }
}

static void report_unfit(efi_binder *b, const efi_block *block, const efi_node *key, const efi_path *path,
                         const efi_station *station)
{
    const char *kind = efi_station_word((efi_station_kind)station->kind);
    const bool bin_size = station->kind == EFI_STATION_BIN && efi_node_is(key, "capacity");
    const char *message = efi_diags_textf(b->diags, "\"%.*s\" does not go with a station of kind \"%s\"",
                                          (int)key->length, key->is.text, kind);
    efi_bind_report(b, EFI_DIAG_KEY_UNFIT, path, efi_node_is_heading(key) ? key + 1 : key, message,
                    known_keys(b, block, station), bin_size ? "live volume" : NULL);
}

/* A row of a table whose name the scenario does not have, and which does not say enough for a new thing: it
 * is more likely misspelt. */
static void report_strange_row(efi_binder *b, const efi_block *block, const efi_field *field,
                               const efi_node *owner, const efi_path *path)
{
    ef_diag draft = efi_bind_draft(b, path, owner);
    const char *found = draft.found ? draft.found : "";
    draft.message = efi_diags_textf(
        b->diags,
        "the scenario has nothing called \"%s\" under %s, and for something new the row lacks \"%s\"", found,
        block->title, field->key);
    draft.likely = efi_bind_nearest(b, block->names, found, owner->source);
    draft.allowed = efi_diags_textf(b->diags, "a name that stands in the scenario, or a column \"%s\"",
                                    field->key);
    efi_diags_add(b->diags, EFI_DIAG_NAME_UNKNOWN, &draft);
}

static void report_missing(efi_binder *b, const efi_block *block, const efi_field *field,
                           const efi_node *owner, const efi_path *path)
{
    if (block->names != EFI_NAMES_NONE && block->names != EFI_NAMES_LOTS && owner->source != 0 &&
        owner[1].kind == EFI_NODE_MAP) {
        report_strange_row(b, block, field, owner, path);
        return;
    }
    ef_diag draft = efi_bind_draft(b, path, owner);
    draft.found = NULL;
    draft.message = efi_diags_textf(b->diags, "the key \"%s\" is missing", field->key);
    if (field->type == EFI_FIELD_CHOICE)
        draft.allowed = efi_bind_choices(b, field);
    else
        draft.likely = efi_diags_textf(b->diags, "%s:%s%s", field->key, field->example ? " " : "",
                                       field->example ? field->example : "");
    efi_diags_add(b->diags, EFI_DIAG_KEY_MISSING, &draft);
}

static void bind_named(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                       void *into);
static void bind_block(efi_binder *b, const efi_block *block, const efi_node *map, const efi_node *owner,
                       const efi_path *path, void *into);

static void bind_field(efi_binder *b, const efi_field *field, const efi_node *key, const efi_node *value,
                       const efi_path *path, void *into)
{
    if (field->type == EFI_FIELD_NAMED) {
        bind_named(b, field, value, path, into);
    } else if (field->type == EFI_FIELD_BLOCK) {
        void *item = efi_bind_get(b, 1, field->block->size);
        if (!item || !efi_bind_is_map(b, value, path, "keys"))
            return;
        if (field->block->prepare)
            field->block->prepare(item);
        memcpy((char *)into + field->slot, &item, sizeof item);
        bind_block(b, field->block, value, key, path, item);
    } else {
        efi_bind_value(b, field, value, path, into);
    }
}

/* Binds one key and its value, if it goes with the station. */
static void bind_key(efi_binder *b, const efi_block *block, const efi_field *field, const efi_node *key,
                     const efi_path *path, void *into)
{
    const efi_path here = efi_path_to(path, key);
    if (fits(field, block, into))
        bind_field(b, field, key, key + 1, &here, into);
    else
        report_unfit(b, block, key, &here, into);
}

/* Binds the fields in the order of the table, so that what others refer to comes first. Which keys go with a
 * station is known once its kind is, so the first field is bound before the keys are looked at. */
static void bind_block(efi_binder *b, const efi_block *block, const efi_node *map, const efi_node *owner,
                       const efi_path *path, void *into)
{
    const efi_node *keys[MOST_FIELDS] = {NULL};
    assert(block->count <= MOST_FIELDS);
    check_twice(b, map, path);
    const bool unknown = find_keys(block, map, keys);
    const int bound = keys[0] ? 1 : 0;
    if (bound)
        bind_key(b, block, &block->fields[0], keys[0], path, into);
    if (unknown)
        check_keys(b, block, map, path, into, keys);
    for (int i = bound; i < block->count; i++) {
        const efi_field *field = &block->fields[i];
        if (keys[i])
            bind_key(b, block, field, keys[i], path, into);
        else if (field->required && sure_to_fit(field, block, into) && !b->scenario->tree.cut_short)
            report_missing(b, block, field, owner, path);
    }
}

/* ---- named lists ----------------------------------------------------------------------------------------
 */

/* The beginning of every named struct. */
typedef struct named {
    const char *name;
    efi_origin origin;
} named;

/* By which crop bushels go in the blocks of a list: of a crop it, of a lot the only one until it names its
 * own. */
static efi_crop *crop_of(efi_binder *b, efi_names names, int item)
{
    if (names == EFI_NAMES_CROPS)
        return &b->scenario->crops[item];
    if (names == EFI_NAMES_LOTS)
        return b->scenario->crop_count == 1 ? &b->scenario->crops[0] : &b->unread_crop;
    return NULL;
}

static int by_name(const void *left, const void *right)
{
    const named *a = *(const named *const *)left;
    const named *b = *(const named *const *)right;
    const int order = strcmp(a->name, b->name);
    return order ? order : (a > b) - (a < b);
}

static void build_index(efi_binder *b, efi_index *index, char *items, int count, size_t size)
{
    const named **sorted = efi_new((size_t)count, sizeof(named *));
    index->name = efi_bind_get(b, (size_t)count, sizeof *index->name);
    index->item = efi_bind_get(b, (size_t)count, sizeof *index->item);
    if (sorted && index->name && index->item) {
        for (int i = 0; i < count; i++)
            sorted[i] = (const named *)(void *)(items + (size_t)i * size);
        qsort(sorted, (size_t)count, sizeof *sorted, by_name);
        for (int i = 0; i < count; i++) {
            index->name[i] = sorted[i]->name;
            index->item[i] = (int)((size_t)((const char *)sorted[i] - items) / size);
        }
        index->count = count;
    } else {
        b->failed = true;
    }
    efi_free(sorted);
}

static void check_name(efi_binder *b, const efi_node *key, const efi_path *path)
{
    static const char *const reserved[] = {EFI_WORD_REST, EFI_WORD_OTHER_CROPS, EFI_WORD_OTHER_MATERIALS,
                                           EFI_WORD_FILE};
    for (size_t i = 0; i < EF_COUNT(reserved); i++)
        if (efi_node_is(key, reserved[i]))
            efi_bind_report(
                b, EFI_DIAG_NAME_RESERVED, path, key,
                efi_diags_textf(b->diags, "\"%s\" is a word of the language, not a name", reserved[i]),
                "any other name", NULL);
    (void)efi_bind_is_name(b, key, path);
}

/* The names and places of a list, before any of its blocks is bound. */
static char *bind_names(efi_binder *b, const efi_block *block, const efi_node *node, const efi_path *path)
{
    char *items = efi_bind_get(b, node->length, block->size);
    for (int i = 0; items && i < (int)node->length; i++) {
        named *item = (named *)(void *)(items + (size_t)i * block->size);
        const efi_node *key = efi_node_key(node, i);
        const efi_path here = efi_path_to(path, key);
        check_name(b, key, &here);
        if (block->prepare)
            block->prepare(item);
        item->name = efi_bind_text(b, key);
        item->origin.key = key;
        item->origin.value = key + 1;
    }
    return items;
}

static void bind_named(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                       void *into)
{
    const efi_block *block = field->block;
    if (!efi_bind_is_map(b, node, path, "names"))
        return;
    if (node->length == 0 && !node->unsound)
        efi_bind_report(b, EFI_DIAG_VALUE_EMPTY, path, path->key, "the block holds nothing",
                        "a block of names, each with a colon", NULL);
    if ((int)node->length > block->most) {
        efi_bind_report(b, EFI_DIAG_TOO_LARGE, path, path->key,
                        efi_diags_textf(b->diags, "%d %s; at most %d can be handled", (int)node->length,
                                        block->title, block->most),
                        NULL, NULL);
        return;
    }
    check_twice(b, node, path);
    char *items = bind_names(b, block, node, path);
    if (!items || b->failed)
        return;
    const int count = (int)node->length;
    memcpy((char *)into + field->slot, &items, sizeof items);
    memcpy((char *)into + field->count_slot, &count, sizeof count);
    if (block->names != EFI_NAMES_NONE)
        build_index(b, efi_bind_index(b, block->names), items, count, block->size);
    for (int i = 0; i < count && !b->failed; i++) {
        const efi_node *key = efi_node_key(node, i);
        const efi_path here = efi_path_to(path, key);
        b->crop = crop_of(b, block->names, i);
        const efi_node nothing = {.kind = EFI_NODE_MAP,
                                  .source = key->source,
                                  .line = key->line,
                                  .column = key->column,
                                  .width = key->width};
        if (efi_node_is_empty(key + 1))
            bind_block(b, block, &nothing, key, &here, items + (size_t)i * block->size);
        else if (efi_bind_is_map(b, key + 1, &here, "keys"))
            bind_block(b, block, key + 1, key, &here, items + (size_t)i * block->size);
    }
    b->crop = NULL;
}

void efi_bind_file(efi_binder *b, const efi_node *root)
{
    ef_scenario *scenario = b->scenario;
    const efi_node top = {.kind = EFI_NODE_MAP}; /* line 0: the file as a whole */
    if (root->kind != EFI_NODE_MAP) {
        if (!root->unsound)
            efi_bind_report(b, EFI_DIAG_VALUE_SHAPE, NULL, root,
                            "a scenario begins with keys, not with a single value or a list",
                            "evenfeed, plant, materials, crops, stations", "evenfeed: 1");
        return;
    }
    const efi_node *version = efi_node_find_key(root, "evenfeed");
    if (version && !efi_bind_version(b, version))
        return;
    bind_block(b, &efi_language, root, &top, NULL, scenario);
}
