/* SPDX-License-Identifier: GPL-3.0-or-later
 * Single values of the language: texts, flags, counts, choices, quantities, names of stations; by crop where
 * allowed. */
#include "base/text.h"
#include "model/bind.h"

#include <string.h>

enum {
    MOST_COUNT = 1000,
    MOST_WORDS = 64,
    LONGEST_LIST = 40
};

static efi_diag_code code_of(efi_quantity_fault fault)
{
    switch (fault) {
    case EFI_QUANTITY_NUMBER_MISSING:
    case EFI_QUANTITY_NUMBER_BAD:
    case EFI_QUANTITY_DECIMAL_COMMA:
    case EFI_QUANTITY_NUMBER_GROUPED:
    case EFI_QUANTITY_NUMBER_BASE:
    case EFI_QUANTITY_NUMBER_NOT_FINITE:
    case EFI_QUANTITY_NUMBER_RANGE:
    case EFI_QUANTITY_SUM_ORDER:
    case EFI_QUANTITY_TEXT_TRAILING:
        return EFI_DIAG_NUMBER_BAD;
    case EFI_QUANTITY_UNIT_MISSING:
        return EFI_DIAG_UNIT_MISSING;
    case EFI_QUANTITY_UNIT_UNKNOWN:
    case EFI_QUANTITY_UNIT_AMBIGUOUS:
    case EFI_QUANTITY_UNIT_BROKEN:
    case EFI_QUANTITY_CURRENCY_MIXED:
        return EFI_DIAG_UNIT_UNKNOWN;
    case EFI_QUANTITY_UNIT_UNFIT:
    case EFI_QUANTITY_UNIT_UNWANTED:
        return EFI_DIAG_UNIT_UNFIT;
    case EFI_QUANTITY_SHARE_ABOVE_ONE:
    case EFI_QUANTITY_SHARE_AMBIGUOUS:
        return EFI_DIAG_SHARE_BAD;
    case EFI_QUANTITY_FAULT_LIMIT:
        break;
    }
    return EFI_DIAG_NUMBER_BAD;
}

static void report_quantity(efi_binder *b, const efi_node *node, const efi_path *path, efi_kinds kinds,
                            const efi_quantity_error *error)
{
    if (efi_diags_full(b->diags))
        return;
    ef_diag draft = efi_bind_draft(b, path, node);
    const size_t start = error->start;
    size_t end = error->end;
    if (end == start && error->fault == EFI_QUANTITY_UNIT_MISSING)
        end = node->length;
    const size_t from = error->fault == EFI_QUANTITY_UNIT_MISSING ? 0 : start;
    if (!node->quoted && end > from) {
        draft.place.column += efi_utf8_count(node->is.text, from);
        draft.place.end_column = draft.place.column + efi_utf8_count(node->is.text + from, end - from);
    }
    draft.message = efi_diags_textf(b->diags, "\"%.*s\" %s", (int)(end - from), node->is.text + from,
                                    efi_quantity_fault_words(error->fault));
    efi_text allowed = {0};
    if (error->offered)
        efi_text_addf(&allowed, "%s", error->offered);
    else
        efi_kinds_add_units(&allowed, kinds);
    draft.allowed = efi_diags_textf(b->diags, "%s", efi_text_get(&allowed));
    draft.likely = error->likely[0] ? error->likely : NULL;
    efi_diags_add(b->diags, code_of(error->fault), &draft);
    efi_text_free(&allowed);
}

static bool parse(efi_binder *b, const efi_node *node, const efi_path *path, efi_kinds kinds,
                  efi_quantity *quantity)
{
    if (!efi_bind_is_text(b, node, path))
        return false;
    efi_quantity_error error;
    if (efi_quantity_parse(node->is.text, node->length, kinds, quantity, &error))
        return true;
    report_quantity(b, node, path, kinds, &error);
    return false;
}

static bool in_range(efi_binder *b, const efi_node *node, const efi_path *path, efi_range range, double value)
{
    if (efi_range_holds(range, value))
        return true;
    efi_bind_report(b, EFI_DIAG_OUT_OF_RANGE, path, node,
                    efi_diags_textf(b->diags, "\"%.*s\" is outside what is possible here", (int)node->length,
                                    node->is.text),
                    efi_range_words(range), NULL);
    return false;
}

bool efi_bind_share(efi_binder *b, const efi_node *node, const efi_path *path, double *share)
{
    efi_quantity quantity;
    if (!parse(b, node, path, EFI_KIND_SET(EFI_KIND_SHARE), &quantity) ||
        !in_range(b, node, path, EFI_RANGE_SHARE, quantity.value))
        return false;
    *share = quantity.value;
    return true;
}

/* ---- names ----------------------------------------------------------------------------------------------
 */

static const efi_index *index_for(const ef_scenario *scenario, efi_names names, const char **what)
{
    switch (names) {
    case EFI_NAMES_MATERIALS:
        *what = "material";
        return &scenario->material_index;
    case EFI_NAMES_CROPS:
        *what = "crop";
        return &scenario->crop_index;
    case EFI_NAMES_STATIONS:
    case EFI_NAMES_NONE:
        break;
    }
    *what = "station";
    return &scenario->station_index;
}

int efi_bind_find(efi_binder *b, efi_names names, const efi_node *node, const efi_path *path)
{
    const char *what;
    const efi_index *index = index_for(b->scenario, names, &what);
    if (node->kind == EFI_NODE_TEXT) {
        const int found = efi_index_find(index, node->is.text, node->length);
        if (found >= 0)
            return found;
    }
    if (b->scenario->tree.cut_short || efi_diags_full(b->diags))
        return -1;
    ef_diag draft = efi_bind_draft(b, path, node);
    draft.message = efi_diags_textf(b->diags, "no %s is called \"%s\"", what,
                                    draft.found ? draft.found : "?");
    efi_text list = {0};
    for (int i = 0; i < index->count && i < LONGEST_LIST; i++)
        efi_text_addf(&list, "%s%s", i ? ", " : "", index->name[i]);
    if (index->count > LONGEST_LIST)
        efi_text_addf(&list, " and %d more", index->count - LONGEST_LIST);
    draft.allowed = efi_diags_textf(b->diags, "%s", efi_text_get(&list));
    efi_text_free(&list);
    draft.likely = draft.found ? efi_text_nearest(draft.found, index->name, index->count) : NULL;
    efi_diags_add(b->diags, EFI_DIAG_NAME_UNKNOWN, &draft);
    return -1;
}

const efi_node **efi_bind_by_crop(efi_binder *b, const efi_node *node, const efi_path *path)
{
    const int crops = b->scenario->crop_count;
    if (!efi_bind_cells(b, (size_t)crops, node))
        return NULL;
    const efi_node **by_crop = efi_bind_get(b, (size_t)crops, sizeof(efi_node *));
    if (!by_crop)
        return NULL;
    if (node->kind != EFI_NODE_MAP) {
        for (int crop = 0; crop < crops; crop++)
            by_crop[crop] = node;
        return by_crop;
    }
    const efi_node *others = efi_node_find(node, EFI_WORD_OTHER_CROPS);
    for (int crop = 0; crop < crops; crop++)
        by_crop[crop] = others;
    for (int i = 0; i < (int)node->length; i++) {
        const efi_node *key = efi_node_key(node, i);
        const efi_path here = efi_path_to(path, key);
        if (efi_node_is(key, EFI_WORD_OTHER_CROPS))
            continue;
        const int crop = efi_bind_find(b, EFI_NAMES_CROPS, key, &here);
        if (crop >= 0)
            by_crop[crop] = key + 1;
    }
    return by_crop;
}

/* ---- quantities -----------------------------------------------------------------------------------------
 */

static void report_trade_weight(efi_binder *b, const efi_node *node, const efi_path *path,
                                const efi_crop *crop)
{
    ef_diag draft = efi_bind_draft(b, path, node);
    draft.message = efi_diags_textf(b->diags, "\"%s\" is in bushels, but %s has no trade weight",
                                    draft.found ? draft.found : "", crop->name);
    draft.allowed = "a rate by weight, or a trade weight for the crop";
    draft.likely = efi_diags_textf(b->diags, "trade weight: 60 lb/bu (the legal weight, under crops.%s)",
                                   crop->name);
    draft.second = efi_tree_place(&b->scenario->tree, crop->origin.key);
    draft.second_words = "the crop is described here";
    efi_diags_add(b->diags, EFI_DIAG_TRADE_WEIGHT_MISSING, &draft);
}

static bool read_for_crop(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                          const efi_crop *crop, efi_value *value)
{
    efi_quantity quantity;
    if (!parse(b, node, path, field->quantities, &quantity))
        return false;
    if (efi_quantity_needs_trade_weight(&quantity)) {
        if (!crop)
            return false;
        if (!crop->trade_weight_tpbu.given) {
            if (!efi_node_find(crop->origin.value, "trade weight"))
                report_trade_weight(b, node, path, crop);
            return true;
        }
        quantity = efi_quantity_weigh(quantity, crop->trade_weight_tpbu.value);
    }
    if (!in_range(b, node, path, field->range, quantity.value))
        return false;
    *value = (efi_value){.value = quantity.value, .given = true, .of = quantity.kind};
    return true;
}

/* One value for each crop. A value shared by crops is complained about once. */
static void bind_by_crop(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                         const efi_value **slot)
{
    const int crops = b->scenario->crop_count;
    const efi_node **by_crop = efi_bind_by_crop(b, node, path);
    efi_value *values = efi_bind_get(b, (size_t)crops, sizeof *values);
    if (!by_crop || !values)
        return;
    for (int crop = 0; crop < crops; crop++) {
        if (!by_crop[crop])
            continue;
        const bool bad = !read_for_crop(b, field, by_crop[crop], path, &b->scenario->crops[crop],
                                        &values[crop]);
        for (int later = crop + 1; bad && later < crops; later++)
            if (by_crop[later] == by_crop[crop])
                by_crop[later] = NULL;
    }
    *slot = values;
}

static void bind_stations(efi_binder *b, const efi_node *node, const efi_path *path, const int **slot)
{
    const int crops = b->scenario->crop_count;
    const efi_node **by_crop = efi_bind_by_crop(b, node, path);
    int *to = efi_bind_get(b, (size_t)crops, sizeof *to);
    if (!by_crop || !to)
        return;
    const efi_node *last = NULL;
    int last_to = -1;
    for (int crop = 0; crop < crops; crop++) {
        to[crop] = -1;
        if (!by_crop[crop])
            continue;
        if (by_crop[crop] != last) {
            last = by_crop[crop];
            last_to = efi_bind_is_text(b, last, path) ? efi_bind_find(b, EFI_NAMES_STATIONS, last, path) : -1;
        }
        to[crop] = last_to;
    }
    *slot = to;
}

/* ---- other values ---------------------------------------------------------------------------------------
 */

static void bind_flag(efi_binder *b, const efi_node *node, const efi_path *path, bool *flag)
{
    if (!efi_bind_is_text(b, node, path))
        return;
    if (efi_node_is(node, "yes"))
        *flag = true;
    else if (efi_node_is(node, "no"))
        *flag = false;
    else
        efi_bind_report(
            b, EFI_DIAG_VALUE_UNKNOWN, path, node,
            efi_diags_textf(b->diags, "\"%.*s\" is neither yes nor no", (int)node->length, node->is.text),
            "yes, no",
            efi_node_is(node, "true")    ? "yes"
            : efi_node_is(node, "false") ? "no"
                                         : NULL);
}

static void bind_count(efi_binder *b, const efi_node *node, const efi_path *path, int *count)
{
    if (!efi_bind_is_text(b, node, path))
        return;
    int value = 0;
    bool good = node->length > 0 && node->length <= 4;
    for (uint32_t i = 0; good && i < node->length; i++) {
        good = node->is.text[i] >= '0' && node->is.text[i] <= '9';
        value = value * 10 + (node->is.text[i] - '0');
    }
    if (good && value >= 1 && value <= MOST_COUNT)
        *count = value;
    else
        efi_bind_report(b, EFI_DIAG_COUNT_BAD, path, node,
                        efi_diags_textf(b->diags, "\"%.*s\" is not a whole number from 1 to %d",
                                        (int)node->length, node->is.text, (int)MOST_COUNT),
                        efi_diags_textf(b->diags, "a whole number from 1 to %d", (int)MOST_COUNT), NULL);
}

static void bind_choice(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                        int *choice)
{
    if (!efi_bind_is_text(b, node, path))
        return;
    int count = 0;
    for (; field->choices[count]; count++) {
        if (efi_node_is(node, field->choices[count])) {
            *choice = count;
            return;
        }
    }
    ef_diag draft = efi_bind_draft(b, path, node);
    draft.message = efi_diags_textf(b->diags, "\"%s\" is not among the words that fit", draft.found);
    efi_text list = {0};
    for (int i = 0; i < count; i++)
        efi_text_addf(&list, "%s%s", i ? ", " : "", field->choices[i]);
    draft.allowed = efi_diags_textf(b->diags, "%s", efi_text_get(&list));
    efi_text_free(&list);
    draft.likely = efi_text_nearest(draft.found ? draft.found : "", field->choices, count);
    efi_diags_add(b->diags, EFI_DIAG_VALUE_UNKNOWN, &draft);
}

void efi_bind_value(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                    void *into)
{
    void *slot = (char *)into + field->slot;
    switch (field->type) {
    case EFI_FIELD_TEXT:
        if (efi_bind_is_text(b, node, path))
            *(const char **)slot = efi_bind_text(b, node);
        break;
    case EFI_FIELD_FLAG:
        bind_flag(b, node, path, slot);
        break;
    case EFI_FIELD_COUNT:
        bind_count(b, node, path, slot);
        break;
    case EFI_FIELD_CHOICE:
        bind_choice(b, field, node, path, slot);
        break;
    case EFI_FIELD_QUANTITY:
        if (field->by_crop)
            bind_by_crop(b, field, node, path, slot);
        else
            (void)read_for_crop(b, field, node, path, NULL, slot);
        break;
    case EFI_FIELD_STATION:
        bind_stations(b, node, path, slot);
        break;
    case EFI_FIELD_RECEIPT:
        efi_bind_receipt(b, node, path, slot);
        break;
    case EFI_FIELD_TAKES:
        efi_bind_takes(b, node, path, into);
        break;
    case EFI_FIELD_BLOCK:
    case EFI_FIELD_NAMED:
        break; /* bind.c */
    }
}
