/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values set on the command line. */
#include "model/beside_tree.h"

#include <string.h>

/* The longest key of a map that the path begins with, followed by a dot or its end; NULL without. */
static efi_node *step_into(efi_node *map, const char **path, const char *end)
{
    efi_node *best = NULL;
    size_t best_length = 0;
    for (uint32_t i = 0; map->kind == EFI_NODE_MAP && i < map->length; i++) {
        efi_node *key = &map->is.children[2 * i];
        const size_t left = (size_t)(end - *path);
        if (key->kind != EFI_NODE_TEXT || key->length > left || key->length < best_length || key->length == 0)
            continue;
        const bool whole = key->length == left || (*path)[key->length] == '.';
        if (whole && memcmp(key->is.text, *path, key->length) == 0) {
            best = key + 1;
            best_length = key->length;
        }
    }
    if (best)
        *path += best_length + ((size_t)(end - *path) > best_length ? 1 : 0);
    return best;
}

static void report_setting(efi_binder *b, const char *setting, const char *message, const char *likely)
{
    const ef_diag draft = {
        .place = {.file = "--set"}, .found = setting, .message = message, .likely = likely};
    efi_diags_add(b->diags, EFI_DIAG_SETTING_BAD, &draft);
}

void efi_beside_set(efi_binder *b, const char *setting)
{
    const char *equals = strchr(setting, '=');
    efi_node *at = b->scenario->tree.root;
    if (!equals || equals == setting || !at) {
        report_setting(b, setting, efi_diags_textf(b->diags, "\"%s\" is not a setting", setting),
                       "path=value, say \"stations.Deck.capacity=8 t/h\"");
        return;
    }
    efi_node *value;
    const char *name = efi_arena_text(b->scenario->arena, "--set", 5);
    const char *text = efi_arena_text(b->scenario->arena, equals + 1, strlen(equals + 1));
    const ef_status status = name && text ? efi_tree_read_more(&b->scenario->tree, name, text, strlen(text),
                                                               b->diags, &value)
                                          : EF_MEMORY;
    if (status == EF_USAGE)
        report_setting(b, setting, "there are too many settings", NULL);
    b->failed = b->failed || status == EF_MEMORY;
    if (status != EF_OK || !value)
        return;
    const char *path = setting;
    while (path < equals) {
        efi_node *next = step_into(at, &path, equals);
        if (!next)
            break;
        at = next;
    }
    if (path == equals) {
        *at = *value;
    } else if (efi_beside_become_map(at) && !memchr(path, '.', (size_t)(equals - path))) {
        efi_node key = *value;
        key.kind = EFI_NODE_TEXT;
        key.is.text = efi_arena_text(b->scenario->arena, path, (size_t)(equals - path));
        key.length = (uint32_t)(equals - path);
        b->failed = b->failed || !key.is.text;
        if (!b->failed)
            (void)efi_beside_add_pair(b, at, key, *value);
    } else {
        report_setting(b, setting,
                       efi_diags_textf(b->diags, "nothing is found at \"%.*s\" in \"%.*s\"",
                                       (int)(equals - path), path, (int)(equals - setting), setting),
                       "the keys as the scenario writes them, joined by dots");
    }
}
