/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/node.h"

#include <string.h>

const efi_node *efi_node_key(const efi_node *map, int index)
{
    return &map->is.children[2 * index];
}

const efi_node *efi_node_value(const efi_node *map, int index)
{
    return &map->is.children[2 * index + 1];
}

bool efi_node_is(const efi_node *node, const char *words)
{
    const size_t length = strlen(words);
    return node && node->kind == EFI_NODE_TEXT && node->length == length &&
           memcmp(node->is.text, words, length) == 0;
}

bool efi_node_is_empty(const efi_node *node)
{
    return node && node->kind == EFI_NODE_TEXT && node->length == 0 && !node->quoted;
}

const efi_node *efi_node_find_key(const efi_node *map, const char *key)
{
    if (!map || map->kind != EFI_NODE_MAP)
        return NULL;
    for (int i = 0; i < (int)map->length; i++)
        if (efi_node_is(efi_node_key(map, i), key))
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
                            .end_column = (int)node->end_column};
    return place;
}

enum {
    LONGEST_EXCERPT = 200
};

const char *efi_tree_excerpt(const efi_tree *tree, const efi_node *node)
{
    const efi_source *source = &tree->sources[node->source];
    if (node->line < 1 || (int)node->line > source->lines)
        return NULL;
    const size_t start = source->line_start[node->line - 1];
    size_t end = start;
    while (end < source->length && source->bytes[end] != '\n' && source->bytes[end] != '\r' &&
           end - start < LONGEST_EXCERPT)
        end++;
    while (end > start && end < source->length && ((unsigned char)source->bytes[end] & 0xC0u) == 0x80u)
        end--;
    return efi_arena_text(tree->arena, source->bytes + start, end - start);
}
