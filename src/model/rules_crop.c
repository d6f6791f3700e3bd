/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on materials, crops and names. */
#include "base/letter.h"
#include "base/text.h"
#include "model/rules.h"

#include <stdlib.h>
#include <string.h>

void efi_rule_wanted_none(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int m = 0; m < scenario->material_count; m++)
        if (scenario->materials[m].wanted || efi_rule_flag_unread(scenario->materials[m].origin, "wanted"))
            return;
    const efi_node *key = efi_node_find_key(scenario->tree.root, "materials");
    if (!key || scenario->material_count == 0)
        return;
    const efi_path path = efi_path_to(NULL, key);
    efi_bind_report(rules->binder, EFI_DIAG_WANTED_NONE, &path, key,
                    "no material is wanted, so there is no product",
                    "\"wanted: yes\" under at least one material",
                    efi_diags_textf(rules->diags, "%s: {wanted: yes}", scenario->materials[0].name));
}

void efi_rule_density_twice(efi_rules *rules)
{
    for (int c = 0; c < rules->scenario->crop_count; c++) {
        const efi_crop *crop = &rules->scenario->crops[c];
        if (!efi_rule_has(crop->origin, "density") || !efi_rule_has(crop->origin, "test weight"))
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", crop->name, crop->origin, "test weight");
        draft.message = "density and test weight say the same thing; one of them is enough";
        draft.likely = "keep the one that was measured";
        efi_rule_second(rules, &draft, efi_node_find_key(crop->origin.value, "density"),
                        "the density is given here");
        efi_diags_add(rules->diags, EFI_DIAG_DENSITY_TWICE, &draft);
    }
}

void efi_rule_receipt_unwanted(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int c = 0; c < scenario->crop_count; c++) {
        const efi_crop *crop = &scenario->crops[c];
        bool wanted = false;
        for (int m = 0; m < scenario->material_count; m++)
            wanted = wanted || (scenario->materials[m].wanted && efi_crop_passes(scenario, c, m));
        if (!crop->receipt || wanted)
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", crop->name, crop->origin, "receipt");
        draft.message = efi_diags_textf(rules->diags, "the receipt of %s holds nothing wanted", crop->name);
        draft.allowed = "a share of at least one wanted material";
        efi_diags_add(rules->diags, EFI_DIAG_RECEIPT_UNWANTED, &draft);
    }
}

void efi_rule_material_unused(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int m = 0; m < scenario->material_count; m++) {
        bool used = scenario->crop_count == 0;
        for (int c = 0; c < scenario->crop_count && !used; c++)
            used = !scenario->crops[c].receipt || efi_crop_passes(scenario, c, m);
        if (used)
            continue;
        const efi_material *material = &scenario->materials[m];
        ef_diag draft = efi_rule_draft(rules, "materials", material->name, material->origin, NULL);
        draft.message = efi_diags_textf(rules->diags, "no crop brings \"%s\"", material->name);
        draft.likely = "add it to a receipt, or take it out";
        efi_diags_add(rules->diags, EFI_DIAG_MATERIAL_UNUSED, &draft);
    }
}

/* ---- names that look the same ---------------------------------------------------------------------------
 */

typedef struct spelling {
    const char *plain; /* lower case, without blanks, hyphens and underscores */
    const char *name;
    efi_origin origin;
    int item; /* of a trait: the lot */
} spelling;

/* NULL without memory. */
static const char *plain_spelling(efi_arena *arena, const char *name)
{
    char *plain = efi_arena_text(arena, name, strlen(name));
    char *out = plain;
    for (const char *in = plain; in && *in; in++) {
        if (*in != '-' && *in != '_' && *in != ' ')
            *out++ = efi_lower(*in);
    }
    if (out)
        *out = '\0';
    return plain;
}

static int by_spelling(const void *left, const void *right)
{
    const spelling *a = left;
    const spelling *b = right;
    const int order = strcmp(a->plain, b->plain);
    return order ? order : (a->origin.key > b->origin.key) - (a->origin.key < b->origin.key);
}

static void report_alike(efi_rules *rules, const char *list, const spelling *one, const spelling *other)
{
    if (efi_rule_only_counted(rules, EFI_DIAG_NAMES_ALIKE))
        return;
    ef_diag draft = efi_rule_draft(rules, list, one->name, one->origin, NULL);
    draft.message = efi_diags_textf(rules->diags, "\"%s\" is easily taken for \"%s\"", one->name,
                                    other->name);
    draft.likely = "names that also differ when read aloud";
    efi_rule_second(rules, &draft, other->origin.key, "the other one");
    efi_diags_add(rules->diags, EFI_DIAG_NAMES_ALIKE, &draft);
}

static void check_alike(efi_rules *rules, const char *list, spelling *spellings, int count)
{
    qsort(spellings, (size_t)count, sizeof *spellings, by_spelling);
    for (int i = 1; i < count; i++)
        if (strcmp(spellings[i].plain, spellings[i - 1].plain) == 0 &&
            strcmp(spellings[i].name, spellings[i - 1].name) != 0)
            report_alike(rules, list, &spellings[i], &spellings[i - 1]);
}

/* Fills `one` with a name and counts it; false without memory. */
static bool add_spelling(efi_arena *arena, spelling *spellings, int *count, const char *name,
                         efi_origin origin)
{
    spellings[*count] = (spelling){plain_spelling(arena, name), name, origin, 0};
    return spellings[(*count)++].plain != NULL;
}

/* By spelling, then by name, then in the order of the lots. */
static int by_spelling_and_name(const void *left, const void *right)
{
    const spelling *a = left;
    const spelling *b = right;
    int order = strcmp(a->plain, b->plain);
    if (order == 0)
        order = strcmp(a->name, b->name);
    return order ? order : (a->item > b->item) - (a->item < b->item);
}

static void report_traits(efi_rules *rules, const char *key, const spelling *one, const spelling *other)
{
    const bool later = one->item > other->item;
    const spelling *at = later ? one : other;
    const spelling *before = later ? other : one;
    if (efi_rule_only_counted(rules, EFI_DIAG_NAMES_ALIKE))
        return;
    ef_diag draft = efi_rule_lot(rules, at->item, key);
    draft.message = efi_diags_textf(rules->diags,
                                    "the %s \"%s\" is easily taken for \"%s\", and counts as another", key,
                                    at->name, before->name);
    draft.likely = before->name;
    efi_rule_second(rules, &draft, efi_rule_lot_value(rules, before->item, key), "the other one");
    efi_diags_add(rules->diags, EFI_DIAG_NAMES_ALIKE, &draft);
}

void efi_rule_traits_alike(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    efi_arena *arena = efi_arena_new();
    spelling *all = arena ? efi_arena_get(arena, (size_t)scenario->lot_count, sizeof *all) : NULL;
    bool good = all != NULL;
    for (int t = 0; good && t < EFI_LOT_TRAITS; t++) {
        int count = 0;
        if (t == EFI_LOT_CLASS && scenario->season->class_count > 0)
            continue; /* one that is not listed is an error */
        for (int l = 0; good && l < scenario->lot_count; l++) {
            const efi_scenario_lot *lot = &scenario->lots[l];
            if (!lot->trait[t])
                continue;
            good = add_spelling(arena, all, &count, lot->trait[t], lot->origin);
            all[count - 1].item = l;
        }
        if (!good)
            break;
        qsort(all, (size_t)count, sizeof *all, by_spelling_and_name);
        for (int i = 1, first = 0; i < count; i++) {
            if (strcmp(all[i].name, all[first].name) == 0)
                continue;
            if (strcmp(all[i].plain, all[first].plain) == 0)
                report_traits(rules, efi_trait_key((efi_lot_trait)t), &all[i], &all[first]);
            first = i;
        }
    }
    rules->binder->failed = rules->binder->failed || !good;
    efi_arena_free(arena);
}

void efi_rule_names_alike(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    const size_t most = (size_t)scenario->station_count + (size_t)scenario->material_count +
                        (size_t)scenario->crop_count;
    efi_arena *arena = efi_arena_new();
    spelling *spellings = arena ? efi_arena_get(arena, most, sizeof *spellings) : NULL;
    bool good = spellings != NULL;
    int count = 0;
    for (int m = 0; good && m < scenario->material_count; m++)
        good = add_spelling(arena, spellings, &count, scenario->materials[m].name,
                            scenario->materials[m].origin);
    if (good)
        check_alike(rules, "materials", spellings, count);
    count = 0;
    for (int c = 0; good && c < scenario->crop_count; c++)
        good = add_spelling(arena, spellings, &count, scenario->crops[c].name, scenario->crops[c].origin);
    if (good)
        check_alike(rules, "crops", spellings, count);
    count = 0;
    for (int s = 0; good && s < scenario->station_count; s++)
        good = add_spelling(arena, spellings, &count, scenario->stations[s].name,
                            scenario->stations[s].origin);
    if (good)
        check_alike(rules, "stations", spellings, count);
    rules->binder->failed = rules->binder->failed || !good;
    efi_arena_free(arena);
}
