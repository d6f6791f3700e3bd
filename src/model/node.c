/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/node.h"

#include <string.h>
#include <unistr.h>

const efi_node efi_node_unread = {.kind = EFI_NODE_TEXT, .quoted = 1, .unsound = 1, .is.text = ""};

const efi_node *efi_node_key(const efi_node *map, int index)
{
    return &map->is.children[2 * index];
}

const efi_node *efi_node_value(const efi_node *map, int index)
{
    return &map->is.children[2 * index + 1];
}

static bool is_text(const efi_node *node, const char *words, size_t length)
{
    return node->kind == EFI_NODE_TEXT && node->length == length && memcmp(node->is.text, words, length) == 0;
}

bool efi_node_is_heading(const efi_node *key)
{
    return key->source != 0 && key[1].source == key->source && key[1].line != key->line;
}

bool efi_node_is(const efi_node *node, const char *words)
{
    return node && is_text(node, words, strlen(words));
}

bool efi_node_is_empty(const efi_node *node)
{
    return node && node->kind == EFI_NODE_TEXT && node->length == 0 && !node->quoted && !node->unsound;
}

const efi_node *efi_node_find_key(const efi_node *map, const char *key)
{
    if (!map || map->kind != EFI_NODE_MAP)
        return NULL;
    const size_t length = strlen(key);
    for (int i = 0; i < (int)map->length; i++)
        if (is_text(efi_node_key(map, i), key, length))
            return efi_node_key(map, i);
    return NULL;
}

const efi_node *efi_node_find(const efi_node *map, const char *key)
{
    const efi_node *found = efi_node_find_key(map, key);
    return found ? found + 1 : NULL;
}

ef_place efi_tree_place(const efi_tree *tree, const efi_node *node)
{
    const ef_place place = {.file = tree->sources[node->source].name,
                            .line = (int)node->line,
                            .column = (int)node->column,
                            .end_column = (int)node->column + (int)node->width};
    return place;
}

enum {
    LONGEST_EXCERPT = 200
};

/* A copy of the bytes with a question mark for each character that no terminal should be sent. */
static const char *copy_shown(efi_arena *arena, const char *bytes, size_t length)
{
    char *copy = efi_arena_get(arena, length + 1, 1);
    size_t used = 0;
    for (size_t i = 0; copy && i < length;) {
        ucs4_t c;
        const int size = u8_mbtouc(&c, (const uint8_t *)bytes + i, length - i);
        const bool shown = (c >= 0x20 || c == '\t') && c != 0x7F && !(c >= 0x80 && c < 0xA0) && c != 0xFFFD;
        if (shown)
            memcpy(copy + used, bytes + i, (size_t)size);
        else
            copy[used] = '?';
        used += shown ? (size_t)size : 1;
        i += (size_t)size;
    }
    return copy;
}

bool efi_tree_point(const efi_tree *tree, const efi_node *node, ef_diag *draft)
{
    const efi_source *source = &tree->sources[node->source];
    draft->place = efi_tree_place(tree, node);
    draft->excerpt = NULL;
    if (node->line < 1 || (int)node->line > source->lines)
        return true;
    const size_t start = source->line_start[node->line - 1];
    size_t end = start;
    while (end < source->length && source->bytes[end] != '\n' && source->bytes[end] != '\r' &&
           end - start < LONGEST_EXCERPT)
        end++;
    while (end > start && end < source->length && ((unsigned char)source->bytes[end] & 0xC0u) == 0x80u)
        end--;
    draft->excerpt = copy_shown(tree->arena, source->bytes + start, end - start);
    return draft->excerpt != NULL;
}
