/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/difference.h"

#include "base/text.h"

#include <string.h>

enum {
    LONGEST_SHOWN = 60
};

/* The way to a value, from the top. */
typedef struct way {
    const struct way *up; /* NULL at the top */
    const efi_node *key;
} way;

typedef struct finder {
    efi_arena *arena;
    efi_difference_list *list;
    int most;
    bool failed;
} finder;

/* ---- in words -------------------------------------------------------------------------------------------
 */

static void add_text(efi_text *text, const efi_node *node)
{
    for (uint32_t i = 0; i < node->length; i++) {
        const unsigned char c = (unsigned char)node->is.text[i];
        efi_text_add_bytes(text, c < 0x20 || c == 0x7F ? " " : node->is.text + i, 1);
    }
}

static void add_value(efi_text *text, const efi_node *node)
{
    if (text->length > LONGEST_SHOWN)
        return;
    switch ((efi_node_kind)node->kind) {
    case EFI_NODE_TEXT:
        add_text(text, node);
        return;
    case EFI_NODE_LIST:
        efi_text_add(text, "[");
        for (uint32_t i = 0; i < node->length; i++) {
            efi_text_add(text, i ? ", " : "");
            add_value(text, &node->is.children[i]);
        }
        efi_text_add(text, "]");
        return;
    case EFI_NODE_MAP:
        efi_text_add(text, "{");
        for (int i = 0; i < (int)node->length; i++) {
            efi_text_add(text, i ? ", " : "");
            add_value(text, efi_node_key(node, i));
            efi_text_add(text, ": ");
            add_value(text, efi_node_value(node, i));
        }
        efi_text_add(text, "}");
        return;
    }
}

static const char *keep(finder *f, efi_text *text)
{
    size_t length = text->length;
    const char *bytes = efi_text_get(text);
    const bool cut = length > LONGEST_SHOWN;
    length = cut ? LONGEST_SHOWN : length;
    while (cut && length > 0 && ((unsigned char)bytes[length] & 0xC0u) == 0x80u)
        length--;
    efi_text kept = {0};
    efi_text_addf(&kept, "%.*s%s", (int)length, bytes, cut ? "..." : "");
    const char *copy = efi_arena_text(f->arena, efi_text_get(&kept), kept.length);
    f->failed = f->failed || text->failed || kept.failed || !copy;
    efi_text_free(text);
    efi_text_free(&kept);
    return copy;
}

static const char *words_of(finder *f, const efi_node *node)
{
    efi_text text = {0};
    if (!node)
        return NULL;
    add_value(&text, node);
    return keep(f, &text);
}

static void add_way(efi_text *text, const way *to)
{
    if (to->up) {
        add_way(text, to->up);
        efi_text_add(text, ".");
    }
    add_text(text, to->key);
}

/* ---- looking --------------------------------------------------------------------------------------------
 */

static void note(finder *f, const way *to, const efi_node *here, const efi_node *there)
{
    if (f->list->count >= f->most) {
        f->list->more++;
        return;
    }
    efi_text path = {0};
    add_way(&path, to);
    const char *kept = efi_arena_text(f->arena, efi_text_get(&path), path.length);
    f->failed = f->failed || path.failed || !kept;
    efi_text_free(&path);
    f->list->items[f->list->count++] = (efi_difference){kept, words_of(f, here), words_of(f, there)};
}

static bool same_value(const efi_node *a, const efi_node *b)
{
    if (a->kind != b->kind || a->length != b->length)
        return false;
    switch ((efi_node_kind)a->kind) {
    case EFI_NODE_TEXT:
        return a->length == 0 || memcmp(a->is.text, b->is.text, a->length) == 0;
    case EFI_NODE_LIST:
        for (uint32_t i = 0; i < a->length; i++)
            if (!same_value(&a->is.children[i], &b->is.children[i]))
                return false;
        return true;
    case EFI_NODE_MAP:
        return false; /* looked at key by key */
    }
    return false;
}

/* The value of the key that reads like `key`; NULL without. */
static const efi_node *find_like(const efi_node *map, const efi_node *key)
{
    for (int i = 0; i < (int)map->length; i++)
        if (same_value(efi_node_key(map, i), key))
            return efi_node_value(map, i);
    return NULL;
}

static void compare_maps(finder *f, const way *up, const efi_node *here, const efi_node *there)
{
    for (int i = 0; i < (int)here->length; i++) {
        const way to = {.up = up, .key = efi_node_key(here, i)};
        const efi_node *mine = efi_node_value(here, i);
        const efi_node *theirs = find_like(there, to.key);
        if (efi_node_is(to.key, "note"))
            continue;
        if (theirs && mine->kind == EFI_NODE_MAP && theirs->kind == EFI_NODE_MAP)
            compare_maps(f, &to, mine, theirs);
        else if (!theirs || !same_value(mine, theirs))
            note(f, &to, mine, theirs);
    }
    for (int i = 0; i < (int)there->length; i++) {
        const way to = {.up = up, .key = efi_node_key(there, i)};
        if (!efi_node_is(to.key, "note") && !find_like(here, to.key))
            note(f, &to, NULL, efi_node_value(there, i));
    }
}

ef_status efi_scenario_differences(const ef_scenario *here, const ef_scenario *there, efi_arena *arena,
                                   int most, efi_difference_list *list)
{
    finder f = {.arena = arena, .list = list, .most = most};
    *list = (efi_difference_list){.items = efi_arena_get(arena, (size_t)most, sizeof *list->items)};
    if (!list->items)
        return EF_MEMORY;
    compare_maps(&f, NULL, here->tree.root, there->tree.root);
    return f.failed ? EF_MEMORY : EF_OK;
}
