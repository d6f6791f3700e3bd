/* SPDX-License-Identifier: GPL-3.0-or-later
 * Names of the language: those of materials, crops, lines, stations, crews and lots, and values spread over
 * the crops by their names. */
#include "base/text.h"
#include "model/bind.h"

#include <string.h>

enum {
    LONGEST_LIST = 40
};

efi_index *efi_bind_index(const efi_binder *b, efi_names names)
{
    switch (names) {
    case EFI_NAMES_MATERIALS:
        return &b->scenario->material_index;
    case EFI_NAMES_CROPS:
        return &b->scenario->crop_index;
    case EFI_NAMES_LINES:
        return &b->scenario->line_index;
    case EFI_NAMES_CREWS:
        return &b->scenario->crew_index;
    case EFI_NAMES_LOTS:
        return &b->scenario->lot_index;
    case EFI_NAMES_STATIONS:
    case EFI_NAMES_NONE:
        break;
    }
    return &b->scenario->station_index;
}

/* What one of them is called in messages. */
static const char *const words_of[] = {
    [EFI_NAMES_MATERIALS] = "material", [EFI_NAMES_CROPS] = "crop", [EFI_NAMES_LINES] = "line",
    [EFI_NAMES_CREWS] = "crew",         [EFI_NAMES_LOTS] = "lot",   [EFI_NAMES_STATIONS] = "station",
    [EFI_NAMES_NONE] = "station",
};

static const char *list_names(efi_binder *b, const efi_index *index)
{
    efi_text list = {0};
    for (int i = 0; i < index->count && i < LONGEST_LIST; i++)
        efi_text_addf(&list, "%s%s", i ? ", " : "", index->name[i]);
    if (index->count > LONGEST_LIST)
        efi_text_addf(&list, " and %d more", index->count - LONGEST_LIST);
    return efi_bind_keep(b, &list);
}

/* Where an item of a list of names stands. */
static const efi_node *key_of(const ef_scenario *scenario, efi_names names, int item)
{
    switch (names) {
    case EFI_NAMES_MATERIALS:
        return scenario->materials[item].origin.key;
    case EFI_NAMES_CROPS:
        return scenario->crops[item].origin.key;
    case EFI_NAMES_LINES:
        return scenario->lines[item].origin.key;
    case EFI_NAMES_STATIONS:
        return scenario->stations[item].origin.key;
    case EFI_NAMES_CREWS:
        return scenario->crews[item].origin.key;
    case EFI_NAMES_LOTS:
        return scenario->lots[item].origin.key;
    case EFI_NAMES_NONE:
        return NULL;
    }
    return NULL;
}

const char *efi_bind_nearest(efi_binder *b, efi_names names, const char *found, unsigned source)
{
    const efi_index *index = efi_bind_index(b, names);
    const char **words = efi_bind_get(b, (size_t)index->count, sizeof *words);
    int count = 0;
    for (int i = 0; words && i < index->count; i++) {
        const efi_node *key = key_of(b->scenario, names, index->item[i]);
        if (key && key->source != source)
            words[count++] = index->name[i];
    }
    return words ? efi_text_nearest(found, words, count) : NULL;
}

bool efi_bind_knows(const efi_binder *b, efi_names names, const efi_node *node)
{
    return efi_index_find(efi_bind_index(b, names), node->is.text, node->length) >= 0;
}

int efi_bind_find(efi_binder *b, efi_names names, const efi_node *node, const efi_path *path)
{
    const efi_index *index = efi_bind_index(b, names);
    if (node->unsound)
        return -1;
    const int found = efi_index_find(index, node->is.text, node->length);
    /* What was not read, or a list that is missing (which is reported), may hold the name. */
    if (found >= 0 || b->scenario->tree.cut_short ||
        (index->count == 0 && names != EFI_NAMES_LINES && names != EFI_NAMES_CREWS))
        return found;
    ef_diag draft = efi_bind_draft(b, path, node);
    if (!efi_diags_full(b->diags, EF_ERROR)) {
        const char *found_name = draft.found ? draft.found : ""; /* no memory */
        const char *what = words_of[names];
        draft.message = efi_diags_textf(b->diags, "no %s is called \"%s\"", what, found_name);
        draft.allowed = index->count ? list_names(b, index) : NULL;
        draft.likely = efi_text_nearest(found_name, index->name, index->count);
        if (!draft.likely)
            draft.likely = efi_diags_textf(b->diags, "a line for \"%s\" under %ss", found_name, what);
    }
    if (node->source == 0 || !efi_diags_told(b->diags, EFI_DIAG_NAME_UNKNOWN, &draft.place))
        efi_diags_add(b->diags, EFI_DIAG_NAME_UNKNOWN, &draft); /* a heading is told once, not for each row */
    return -1;
}

/* The crops that a map leaves to "other crops", then those that it names, each in order; what each gets. */
static void spread(efi_binder *b, const efi_node *map, const efi_path *path)
{
    const int crops = b->scenario->crop_count;
    const efi_node *others = efi_node_find(map, EFI_WORD_OTHER_CROPS);
    bool unread = map->unsound;
    for (int crop = 0; crop < crops; crop++)
        b->by_crop[crop] = NULL;
    for (int i = 0; i < (int)map->length; i++) {
        const efi_node *key = efi_node_key(map, i);
        const efi_path here = efi_path_to(path, key);
        if (efi_node_is(key, EFI_WORD_OTHER_CROPS))
            continue;
        const int crop = efi_bind_find(b, EFI_NAMES_CROPS, key, &here);
        unread = unread || crop < 0;
        if (crop >= 0 && !b->by_crop[crop])
            b->by_crop[crop] = key + 1;
    }
    int count = 0;
    for (int crop = 0; crop < crops; crop++)
        if (!b->by_crop[crop])
            b->crop_order[count++] = crop;
    const int left_over = count;
    for (int crop = 0; crop < crops; crop++)
        if (b->by_crop[crop])
            b->crop_order[count++] = crop;
    for (int i = 0; i < left_over; i++)
        b->by_crop[b->crop_order[i]] = others ? others : unread ? &efi_node_unread : NULL;
}

bool efi_bind_by_crop(efi_binder *b, const efi_node *node, const efi_path *path)
{
    const size_t crops = (size_t)b->scenario->crop_count;
    if (!efi_bind_cells(b, crops, node))
        return false;
    if (!b->by_crop) {
        b->by_crop = efi_bind_get(b, crops, sizeof *b->by_crop);
        b->crop_order = efi_bind_get(b, crops, sizeof *b->crop_order);
    }
    if (!b->by_crop || !b->crop_order)
        return false;
    if (node->kind == EFI_NODE_MAP) {
        spread(b, node, path);
        return true;
    }
    for (int crop = 0; crop < (int)crops; crop++) {
        b->by_crop[crop] = node;
        b->crop_order[crop] = crop;
    }
    return true;
}

bool efi_bind_is_name(efi_binder *b, const efi_node *node, const efi_path *path)
{
    enum {
        LONGEST_NAME = 100
    };
    const char *text = node->is.text;
    const size_t length = node->length;
    if (node->unsound)
        return false;
    const char *wrong = NULL;
    if (length == 0)
        wrong = "is no name";
    else if (memchr(text, '\n', length) || memchr(text, '\t', length))
        wrong = "has a line break or a tab in it";
    else if (text[0] == ' ' || text[length - 1] == ' ')
        wrong = "begins or ends with a blank";
    else if (efi_utf8_count(text, length) > LONGEST_NAME)
        wrong = "is too long for a name";
    if (!wrong)
        return true;
    efi_bind_report(b, EFI_DIAG_NAME_BAD, path, node,
                    efi_diags_textf(b->diags, "\"%s\" %s", efi_bind_shown(b, node), wrong),
                    efi_diags_textf(b->diags, "up to %d characters on one line, no blanks around them",
                                    (int)LONGEST_NAME),
                    NULL);
    return false;
}
