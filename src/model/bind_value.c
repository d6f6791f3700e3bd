/* SPDX-License-Identifier: GPL-3.0-or-later
 * Single values of the language: texts, flags, counts, choices, quantities, names of stations; by crop where
 * allowed. */
#include "base/letter.h"
#include "base/text.h"
#include "model/bind.h"

#include <string.h>

enum {
    MOST_COUNT = 1000
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

/* What would be accepted in place of a faulty quantity. */
static const char *allowed_for(efi_binder *b, efi_kinds kinds, const efi_quantity_error *error)
{
    if (error->offered)
        return error->offered;
    if (kinds == EFI_KIND_SET(EFI_KIND_SHARE))
        return "a share such as 12 %, 0.12 or 1/8";
    efi_text text = {0};
    if (code_of(error->fault) == EFI_DIAG_NUMBER_BAD)
        efi_text_add(&text, "a number such as 12.5 and a unit: ");
    efi_kinds_add_units(&text, kinds);
    return efi_bind_keep(b, &text);
}

/* The message: the culprit in quotes and what is wrong with it. */
static const char *fault_words(efi_binder *b, const efi_node *node, efi_kinds kinds,
                               const efi_quantity_error *error, size_t from, size_t end)
{
    efi_node culprit = *node;
    culprit.is.text = node->is.text + from;
    culprit.length = (uint32_t)(end - from);
    const char *shown = efi_bind_shown(b, &culprit);
    if (error->fault != EFI_QUANTITY_UNIT_UNFIT)
        return efi_diags_textf(b->diags, "\"%s\" %s", shown, efi_quantity_fault_words(error->fault));
    efi_text wanted = {0};
    efi_kinds_add_words(&wanted, kinds);
    return efi_diags_textf(b->diags, "\"%s\" is not a unit of %s", shown, efi_bind_keep(b, &wanted));
}

/* Is it a bare number in a table's column whose heading has no unit either? Then that is told once, at the
 * heading. */
static bool tell_heading(efi_binder *b, const efi_node *node, const efi_path *path, efi_kinds kinds,
                         const efi_quantity_error *error)
{
    if (error->fault != EFI_QUANTITY_UNIT_MISSING || !b->scenario->tree.sources[node->source].is_table ||
        !path || !efi_node_is_heading(path->key))
        return false;
    ef_diag draft = efi_bind_draft(b, path, path->key);
    if (efi_diags_told(b->diags, EFI_DIAG_UNIT_MISSING, &draft.place))
        return true;
    const char *number = efi_bind_shown(b, node);
    draft.message = efi_diags_textf(b->diags, "\"%s\" has no unit, and its heading names none", number);
    draft.allowed = allowed_for(b, kinds, error);
    const size_t length = strlen(error->likely);
    if (length > node->length)
        draft.likely = efi_diags_textf(b->diags, "%.*s [%s]", (int)path->key->length, path->key->is.text,
                                       error->likely + node->length + 1);
    draft.second = efi_tree_place(&b->scenario->tree, node);
    draft.second_words = "the first bare number below it";
    efi_diags_add(b->diags, EFI_DIAG_UNIT_MISSING, &draft);
    return true;
}

static void report_quantity(efi_binder *b, const efi_node *node, const efi_path *path, efi_kinds kinds,
                            const efi_quantity_error *error)
{
    if (tell_heading(b, node, path, kinds, error))
        return;
    ef_diag draft = efi_bind_draft(b, path, node);
    if (!efi_diags_full(b->diags, EF_ERROR)) {
        const bool missing = error->fault == EFI_QUANTITY_UNIT_MISSING;
        const size_t from = missing ? 0 : error->start;
        size_t end = missing && error->end == error->start ? node->length : error->end;
        while (end < node->length && ((unsigned char)node->is.text[end] & 0xC0u) == 0x80u)
            end++; /* a culprit of one byte may be the first of a character */
        /* In quotes or over several lines, characters of the value are not those of the file. */
        const int width = efi_utf8_count(node->is.text, node->length);
        if (!node->quoted && end > from && draft.place.end_column - draft.place.column == width) {
            draft.place.column += efi_utf8_count(node->is.text, from);
            draft.place.end_column = draft.place.column + efi_utf8_count(node->is.text + from, end - from);
        }
        draft.message = fault_words(b, node, kinds, error, from, end);
        draft.allowed = allowed_for(b, kinds, error);
        draft.likely = error->likely[0] ? error->likely : NULL;
    }
    efi_diags_add(b->diags, code_of(error->fault), &draft);
}

/* The text with its decimal commas as points; NULL (and `failed`) without memory. */
static const char *with_points(efi_binder *b, const efi_node *node)
{
    char *text = efi_arena_text(b->scenario->arena, node->is.text, node->length);
    for (uint32_t i = 0; text && i < node->length; i++)
        if (text[i] == ',')
            text[i] = '.';
    b->failed = b->failed || !text;
    return text;
}

static bool parse(efi_binder *b, const efi_node *node, const efi_path *path, efi_kinds kinds,
                  efi_quantity *quantity)
{
    if (!efi_bind_is_text(b, node, path))
        return false;
    efi_quantity_error error;
    if (efi_quantity_parse(node->is.text, node->length, kinds, quantity, &error))
        return true;
    if (error.fault == EFI_QUANTITY_DECIMAL_COMMA && b->scenario->tree.sources[node->source].decimal_comma) {
        const char *pointed = with_points(b, node);
        if (!pointed || efi_quantity_parse(pointed, node->length, kinds, quantity, &error))
            return pointed != NULL;
    }
    report_quantity(b, node, path, kinds, &error);
    return false;
}

static bool in_range(efi_binder *b, const efi_node *node, const efi_path *path, efi_range range, double value)
{
    if (efi_range_holds(range, value))
        return true;
    efi_bind_report(
        b, EFI_DIAG_OUT_OF_RANGE, path, node,
        efi_diags_textf(b->diags, "\"%s\" is outside what is possible here", efi_bind_shown(b, node)),
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

/* ---- quantities -----------------------------------------------------------------------------------------
 */

/* Bushels by weight where the number belongs to no crop. */
static void report_bushels(efi_binder *b, const efi_node *node, const efi_path *path)
{
    ef_diag draft = efi_bind_draft(b, path, node);
    draft.message = efi_diags_textf(b->diags, "\"%s\" is in bushels, but belongs to no crop by which they go",
                                    draft.found ? draft.found : "");
    draft.allowed = "t, kg, lb, short_ton, cwt";
    efi_diags_add(b->diags, EFI_DIAG_TRADE_WEIGHT_MISSING, &draft);
}

static void report_trade_weight(efi_binder *b, const efi_node *node, const efi_path *path, efi_kind kind,
                                const efi_crop *crop)
{
    ef_diag draft = efi_bind_draft(b, path, node);
    draft.message = efi_diags_textf(b->diags, "\"%s\" is in bushels, but %s has no trade weight",
                                    draft.found ? draft.found : "", crop->name);
    draft.allowed = kind == EFI_KIND_MASS ? "t, kg, lb, short_ton, cwt, or a trade weight for the crop"
                                          : "a rate by weight, or a trade weight for the crop";
    draft.likely = efi_diags_textf(b->diags, "trade weight: 60 lb/bu (the legal weight, under crops.%s)",
                                   crop->name);
    draft.second = efi_tree_place(&b->scenario->tree, crop->origin.key);
    draft.second_words = "the crop is described here";
    efi_diags_add(b->diags, EFI_DIAG_TRADE_WEIGHT_MISSING, &draft);
}

/* All money in a scenario is of one currency; nothing converts between two. */
static bool same_currency(efi_binder *b, const efi_node *node, const efi_path *path,
                          const efi_quantity *quantity)
{
    ef_scenario *scenario = b->scenario;
    if (quantity->currency[0] == '\0' || strcmp(scenario->currency, quantity->currency) == 0)
        return true;
    if (scenario->currency[0] == '\0') {
        memcpy(scenario->currency, quantity->currency, sizeof scenario->currency);
        scenario->currency_at = node;
        return true;
    }
    ef_diag draft = efi_bind_draft(b, path, node);
    draft.message = efi_diags_textf(b->diags, "\"%s\" is in %s, other money is in %s",
                                    draft.found ? draft.found : "", quantity->currency, scenario->currency);
    draft.allowed = "one currency throughout";
    draft.second = efi_tree_place(&scenario->tree, scenario->currency_at);
    draft.second_words = "the currency is first named here";
    efi_diags_add(b->diags, EFI_DIAG_CURRENCY_MIXED, &draft);
    return false;
}

/* The value of one crop, or of none (NULL), from a quantity as read. A crop without trade weight is
 * complained about once. */
static efi_value value_for_crop(efi_binder *b, efi_range range, const efi_node *node, const efi_path *path,
                                efi_crop *crop, efi_quantity quantity)
{
    efi_value value = {.bad = true, .of = quantity.kind};
    if (efi_quantity_needs_trade_weight(&quantity)) {
        if (!crop) {
            report_bushels(b, node, path);
            return value;
        }
        if (!crop->trade_weight_tpbu.given) {
            if (!crop->trade_weight_tpbu.bad)
                report_trade_weight(b, node, path, quantity.kind, crop);
            crop->trade_weight_tpbu.bad = true;
            return value;
        }
        quantity = efi_quantity_weigh(quantity, crop->trade_weight_tpbu.value);
    }
    if (!in_range(b, node, path, range, quantity.value) || !same_currency(b, node, path, &quantity))
        return value;
    value = (efi_value){.value = quantity.value, .given = true, .of = quantity.kind};
    return value;
}

/* Reads a quantity as it stands, in its range. */
static bool read_quantity(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                          efi_quantity *quantity)
{
    return parse(b, node, path, field->quantities, quantity) &&
           in_range(b, node, path, field->range, quantity->value);
}

void efi_bind_quantity(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                       efi_value *value)
{
    efi_quantity quantity;
    const bool good = read_quantity(b, field, node, path, &quantity);
    if (good && !b->crop && quantity.kind == EFI_KIND_MASS && efi_quantity_needs_trade_weight(&quantity) &&
        (field->quantities & EFI_KIND_SET(EFI_KIND_VOLUME))) {
        quantity = efi_quantity_fill(quantity); /* of a store for all crops: by volume */
        quantity.kind = EFI_KIND_VOLUME;
    }
    if (good)
        *value = value_for_crop(b, field->range, node, path, b->crop, quantity);
    else
        value->bad = true;
}

/* One value for each crop. What crops share is read once. */
static void bind_by_crop(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                         const efi_value **slot)
{
    const int crops = b->scenario->crop_count;
    efi_value *values = efi_bind_get(b, (size_t)crops, sizeof *values);
    if (!values || !efi_bind_by_crop(b, node, path))
        return;
    const efi_node *last = NULL;
    efi_quantity quantity = {.kind = EFI_KIND_LIMIT};
    bool good = false;
    for (int i = 0; i < crops; i++) {
        const int crop = b->crop_order[i];
        const efi_node *one = b->by_crop[crop];
        if (!one)
            continue;
        const efi_path here = efi_path_by_crop(path, node, one);
        if (one != last)
            good = read_quantity(b, field, one, &here, &quantity);
        last = one;
        values[crop] = good ? value_for_crop(b, field->range, one, &here, &b->scenario->crops[crop], quantity)
                            : (efi_value){.bad = true};
    }
    *slot = values;
}

static void bind_stations(efi_binder *b, const efi_node *node, const efi_path *path, const int **slot)
{
    const int crops = b->scenario->crop_count;
    int *to = efi_bind_get(b, (size_t)crops, sizeof *to);
    if (!to || !efi_bind_by_crop(b, node, path))
        return;
    const efi_node *last = NULL;
    int last_to = EFI_UNREAD;
    for (int i = 0; i < crops; i++) {
        const int crop = b->crop_order[i];
        const efi_node *one = b->by_crop[crop];
        if (one && one != last) {
            const efi_path here = efi_path_by_crop(path, node, one);
            last = one;
            last_to = efi_bind_is_text(b, one, &here) ? efi_bind_find(b, EFI_NAMES_STATIONS, one, &here) : -1;
            if (last_to < 0)
                last_to = EFI_UNREAD;
        }
        to[crop] = one ? last_to : EFI_NOWHERE;
    }
    *slot = to;
}

/* ---- other values ---------------------------------------------------------------------------------------
 */

bool efi_bind_version(efi_binder *b, const efi_node *key)
{
    const efi_path path = efi_path_to(NULL, key);
    if (!efi_bind_is_text(b, key + 1, &path))
        return false;
    if (efi_node_is(key + 1, "1"))
        return true;
    efi_bind_report(b, EFI_DIAG_VERSION_UNKNOWN, &path, key + 1,
                    efi_diags_textf(b->diags, "version \"%s\" of the language is not known to this program",
                                    efi_bind_shown(b, key + 1)),
                    "1", NULL);
    return false;
}

static void bind_text(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                      const char **slot)
{
    if (!efi_bind_is_text(b, node, path))
        return;
    if (field->type == EFI_FIELD_TEXT || efi_bind_is_name(b, node, path))
        *slot = efi_bind_text(b, node);
}

/* The number of a thing by its name, EFI_UNREAD when there is none. */
static void bind_one(efi_binder *b, efi_names names, const efi_node *node, const efi_path *path, int *number)
{
    const int found = efi_bind_is_text(b, node, path) ? efi_bind_find(b, names, node, path) : -1;
    *number = found >= 0 ? found : EFI_UNREAD;
}

/* A line, a crew, a crop or a lot by its name. */
static void bind_name_of(efi_binder *b, efi_field_type type, const efi_node *node, const efi_path *path,
                         int *number)
{
    if (type == EFI_FIELD_CROP) {
        bind_one(b, EFI_NAMES_CROPS, node, path, number);
        b->crop = *number >= 0 ? &b->scenario->crops[*number] : &b->unread_crop;
    } else if (type == EFI_FIELD_LOT) {
        bind_one(b, EFI_NAMES_LOTS, node, path, number);
    } else if (efi_bind_is_text(b, node, path)) {
        *number = efi_bind_find(b, type == EFI_FIELD_LINE ? EFI_NAMES_LINES : EFI_NAMES_CREWS, node, path);
    }
}

/* What a list of names is of. */
static efi_names listed_names(efi_field_type type)
{
    if (type == EFI_FIELD_LINES)
        return EFI_NAMES_LINES;
    if (type == EFI_FIELD_CROPS)
        return EFI_NAMES_CROPS;
    return type == EFI_FIELD_MATERIALS ? EFI_NAMES_MATERIALS : EFI_NAMES_STATIONS;
}

/* 1 for a word that means yes, 0 for one that means no, -1 for any other. */
static int flag_meant(const char *word)
{
    static const char *const words[] = {"no", "yes", "false", "true", "off", "on", "n", "y", "0", "1"};
    for (int i = 0; i < (int)EF_COUNT(words); i++)
        if (efi_text_same_word(word, words[i]))
            return i % 2;
    return -1;
}

static void bind_flag(efi_binder *b, const efi_node *node, const efi_path *path, bool *flag)
{
    if (!efi_bind_is_text(b, node, path))
        return;
    *flag = efi_node_is(node, "yes");
    if (*flag || efi_node_is(node, "no"))
        return;
    ef_diag draft = efi_bind_draft(b, path, node);
    const int meant = draft.found ? flag_meant(draft.found) : -1;
    draft.message = efi_diags_textf(b->diags, "\"%s\" is neither yes nor no", draft.found ? draft.found : "");
    draft.allowed = "yes, no";
    draft.likely = meant < 0 ? NULL : meant ? "yes" : "no";
    efi_diags_add(b->diags, EFI_DIAG_VALUE_UNKNOWN, &draft);
    *flag = meant == 1;
}

static void bind_count(efi_binder *b, const efi_node *node, const efi_path *path, int *count)
{
    if (!efi_bind_is_text(b, node, path))
        return;
    int value = 0;
    bool good = node->length > 0 && node->length <= 4;
    for (uint32_t i = 0; good && i < node->length; i++) {
        good = efi_is_digit(node->is.text[i]);
        value = value * 10 + (node->is.text[i] - '0');
    }
    if (good && value >= 1 && value <= MOST_COUNT) {
        *count = value;
        return;
    }
    const char *wanted = efi_diags_textf(b->diags, "a whole number from 1 to %d", (int)MOST_COUNT);
    efi_bind_report(b, EFI_DIAG_COUNT_BAD, path, node,
                    efi_diags_textf(b->diags, "\"%s\" is not %s", efi_bind_shown(b, node), wanted), wanted,
                    NULL);
}

static int choice_count(const efi_field *field)
{
    int count = 0;
    while (field->choices[count])
        count++;
    return count;
}

const char *efi_bind_choices(efi_binder *b, const efi_field *field)
{
    efi_text list = {0};
    for (int i = 0; field->choices[i]; i++)
        efi_text_addf(&list, "%s%s", i ? ", " : "", field->choices[i]);
    return efi_bind_keep(b, &list);
}

/* The word of a choice that is nearest to `found`, or that other people use for it; NULL when there is none.
 */
static const char *choice_meant(const efi_field *field, const char *found)
{
    const char *nearest = efi_text_nearest(found, field->choices, choice_count(field));
    for (const efi_other_word *other = field->other_words; other && other->word && !nearest; other++)
        if (efi_text_same_word(found, other->word))
            nearest = other->ours;
    return nearest;
}

/* Reads one of the choices. Where what was meant is clear, that is taken, so that nothing follows from the
 * mistake. */
static void bind_choice(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                        int *choice)
{
    if (!efi_bind_is_text(b, node, path))
        return;
    for (int i = 0; field->choices[i]; i++) {
        if (efi_node_is(node, field->choices[i])) {
            *choice = i;
            return;
        }
    }
    ef_diag draft = efi_bind_draft(b, path, node);
    if (draft.found) {
        draft.message = efi_diags_textf(b->diags, "\"%s\" is not among the words that fit", draft.found);
        draft.allowed = efi_bind_choices(b, field);
        draft.likely = choice_meant(field, draft.found);
    }
    efi_diags_add(b->diags, EFI_DIAG_VALUE_UNKNOWN, &draft);
    for (int i = 0; draft.likely && field->choices[i]; i++)
        if (strcmp(field->choices[i], draft.likely) == 0)
            *choice = i;
}

static void report_empty(efi_binder *b, const efi_field *field, const efi_path *path)
{
    efi_text allowed = {0};
    if (field->type == EFI_FIELD_QUANTITY) {
        efi_text_add(&allowed, "a number and a unit: ");
        efi_kinds_add_units(&allowed, field->quantities);
    }
    efi_bind_report(b, EFI_DIAG_VALUE_EMPTY, path, path->key, "nothing stands after the colon",
                    field->type == EFI_FIELD_QUANTITY ? efi_bind_keep(b, &allowed) : NULL,
                    field->by_crop ? NULL : efi_diags_textf(b->diags, "%s: %s", field->key, field->example));
}

void efi_bind_value(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                    void *into)
{
    void *slot = (char *)into + field->slot;
    if (efi_node_is_empty(node)) {
        report_empty(b, field, path);
        node = &efi_node_unread;
    }
    switch (field->type) {
    case EFI_FIELD_TEXT:
    case EFI_FIELD_NAME:
        bind_text(b, field, node, path, slot);
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
            efi_bind_quantity(b, field, node, path, slot);
        break;
    case EFI_FIELD_STATION:
        bind_stations(b, node, path, slot);
        break;
    case EFI_FIELD_LINE:
    case EFI_FIELD_CREW:
    case EFI_FIELD_CROP:
    case EFI_FIELD_LOT:
        bind_name_of(b, field->type, node, path, slot);
        break;
    case EFI_FIELD_DATE:
    case EFI_FIELD_CLOCK:
    case EFI_FIELD_MOMENT:
    case EFI_FIELD_WEEKDAYS:
    case EFI_FIELD_INSTANT:
        efi_bind_when(b, field, node, path, slot);
        break;
    case EFI_FIELD_CLOCKS:
        efi_bind_clocks(b, field, node, path, slot);
        break;
    case EFI_FIELD_BY_DATE:
        efi_bind_by_date(b, field, node, path, slot);
        break;
    case EFI_FIELD_TEXTS:
        efi_bind_texts(b, field, node, path, into);
        break;
    case EFI_FIELD_STATIONS:
    case EFI_FIELD_LINES:
    case EFI_FIELD_CROPS:
    case EFI_FIELD_MATERIALS:
        efi_bind_list(b, listed_names(field->type), node, path, slot);
        break;
    case EFI_FIELD_RECEIPT:
        efi_bind_receipt(b, node, path, slot);
        break;
    case EFI_FIELD_TAKES:
        efi_bind_takes(b, node, path, into);
        break;
    case EFI_FIELD_TURNS:
        efi_bind_turns(b, node, path, slot);
        break;
    case EFI_FIELD_BLOCK:
    case EFI_FIELD_NAMED:
        break; /* bind.c */
    }
}
