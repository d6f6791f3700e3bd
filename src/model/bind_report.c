/* SPDX-License-Identifier: GPL-3.0-or-later
 * Findings of the binder: where in the file, what stands there, and values of the wrong shape. */
#include "base/number.h"
#include "base/text.h"
#include "model/bind.h"

efi_path efi_path_to(const efi_path *up, const efi_node *key)
{
    const efi_path path = {.up = up, .key = key};
    return path;
}

efi_path efi_path_by_crop(const efi_path *path, const efi_node *whole, const efi_node *value)
{
    if (value == whole || value == &efi_node_unread)
        return *path;
    return efi_path_to(path, value - 1); /* in a map the key stands before its value */
}

/* Adds a text on one line, cut where it is long. */
static void add_shown(efi_text *text, const efi_node *node)
{
    enum {
        LONGEST_SHOWN = 100
    };
    size_t length = node->length;
    if (length > LONGEST_SHOWN) {
        length = LONGEST_SHOWN;
        while (length > 0 && ((unsigned char)node->is.text[length] & 0xC0u) == 0x80u)
            length--;
    }
    for (size_t i = 0; i < length; i++) {
        const unsigned char c = (unsigned char)node->is.text[i];
        efi_text_add_bytes(text, c < 0x20 || c == 0x7F ? " " : node->is.text + i, 1);
    }
    if (length < node->length)
        efi_text_add(text, "...");
}

static void add_path(efi_text *text, const efi_path *path)
{
    if (path->up) {
        add_path(text, path->up);
        efi_text_add(text, ".");
    }
    if (path->key->kind == EFI_NODE_TEXT)
        add_shown(text, path->key);
    else
        efi_text_add(text, "?");
}

const char *efi_bind_keep(efi_binder *b, efi_text *text)
{
    const char *kept = efi_diags_textf(b->diags, "%s", efi_text_get(text));
    b->failed = b->failed || text->failed;
    efi_text_free(text);
    return kept;
}

const char *efi_bind_percent(efi_binder *b, double share)
{
    efi_text text = {0};
    efi_number_add_significant(&text, share * 100.0, 6);
    return efi_bind_keep(b, &text);
}

const char *efi_path_text(efi_binder *b, const efi_path *path)
{
    if (!path || efi_diags_full(b->diags, EF_ERROR))
        return NULL;
    efi_text text = {0};
    add_path(&text, path);
    return efi_bind_keep(b, &text);
}

const char *efi_bind_shown(efi_binder *b, const efi_node *node)
{
    if (efi_diags_full(b->diags, EF_ERROR))
        return "";
    efi_text text = {0};
    add_shown(&text, node);
    return efi_bind_keep(b, &text);
}

ef_diag efi_bind_draft(efi_binder *b, const efi_path *path, const efi_node *at)
{
    ef_diag draft = {.place = efi_tree_place(&b->scenario->tree, at)};
    if (efi_diags_full(b->diags, EF_ERROR))
        return draft;
    draft.key = efi_path_text(b, path);
    b->failed = !efi_tree_point(&b->scenario->tree, at, &draft) || b->failed;
    if (at->kind == EFI_NODE_TEXT)
        draft.found = efi_bind_shown(b, at);
    return draft;
}

void efi_bind_report(efi_binder *b, efi_diag_code code, const efi_path *path, const efi_node *at,
                     const char *message, const char *allowed, const char *likely)
{
    ef_diag draft = efi_bind_draft(b, path, at);
    draft.message = message;
    draft.allowed = allowed;
    draft.likely = likely;
    efi_diags_add(b->diags, code, &draft);
}

bool efi_bind_is_text(efi_binder *b, const efi_node *node, const efi_path *path)
{
    if (node->kind == EFI_NODE_TEXT && node->unsound)
        return false;
    if (efi_node_is_empty(node)) {
        efi_bind_report(b, EFI_DIAG_VALUE_EMPTY, path, path->key, "nothing stands after the colon", NULL,
                        NULL);
        return false;
    }
    if (node->kind != EFI_NODE_TEXT) {
        efi_bind_report(b, EFI_DIAG_VALUE_SHAPE, path, node,
                        node->kind == EFI_NODE_LIST ? "a list stands where a single value belongs"
                                                    : "a block stands where a single value belongs",
                        "one value on the same line", NULL);
        return false;
    }
    return true;
}

bool efi_bind_is_map(efi_binder *b, const efi_node *node, const efi_path *path, const char *of_what)
{
    if (node->kind == EFI_NODE_MAP)
        return true;
    if (node->kind == EFI_NODE_TEXT && node->unsound)
        return false;
    const char *allowed = efi_diags_textf(b->diags, "a block of %s, each with a colon, indented below",
                                          of_what);
    if (efi_node_is_empty(node))
        efi_bind_report(b, EFI_DIAG_VALUE_EMPTY, path, path->key, "nothing stands after the colon", allowed,
                        NULL);
    else if (node->kind == EFI_NODE_LIST)
        efi_bind_report(b, EFI_DIAG_VALUE_SHAPE, path, node, "a list stands where a block belongs", allowed,
                        "take the dashes or the brackets out");
    else
        efi_bind_report(b, EFI_DIAG_VALUE_SHAPE, path, node, "a single value stands where a block belongs",
                        allowed, NULL);
    return false;
}
