/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shares by material: what a receipt holds, what a discharge takes. */
#include "model/bind.h"

#include <math.h>
#include <stdint.h>

/* Shares typed in percent add up to 100 % within this much; what is left is put right by scaling. */
#define RECEIPT_SUM_TOLERANCE 1e-6

static void report_rest_twice(efi_binder *b, const efi_path *path, const efi_node *first,
                              const efi_node *again)
{
    ef_diag draft = efi_bind_draft(b, path, again);
    draft.message = "a second material takes the rest";
    draft.allowed = "\"rest\" once; a share for each of the others";
    draft.second = efi_tree_place(&b->scenario->tree, first);
    draft.second_words = "the rest is taken here already";
    efi_diags_add(b->diags, EFI_DIAG_REST_TWICE, &draft);
}

static void report_sum(efi_binder *b, const efi_path *path, double sum, bool rest)
{
    ef_diag draft = efi_bind_draft(b, path, path->key);
    draft.message = efi_diags_textf(b->diags, "the shares add up to %s %%%s", efi_bind_percent(b, sum),
                                    rest ? " before the rest" : "");
    draft.allowed = rest ? "at most 100 %" : "100 %, or one material that is \"rest\"";
    efi_diags_add(b->diags, EFI_DIAG_RECEIPT_SUM, &draft);
}

void efi_bind_receipt(efi_binder *b, const efi_node *node, const efi_path *path, const double **receipt)
{
    if (!efi_bind_is_map(b, node, path, "materials"))
        return;
    double *share = efi_bind_get(b, (size_t)b->scenario->material_count, sizeof *share);
    if (!share)
        return;
    const efi_node *rest = NULL;
    int rest_material = -1;
    double sum = 0.0;
    bool good = true;
    for (int i = 0; i < (int)node->length; i++) {
        const efi_node *key = efi_node_key(node, i);
        const efi_path here = efi_path_to(path, key);
        const int material = efi_bind_find(b, EFI_NAMES_MATERIALS, key, &here);
        if (efi_node_is(key + 1, EFI_WORD_REST)) {
            good = good && material >= 0 && !rest;
            if (rest)
                report_rest_twice(b, &here, rest, key + 1);
            rest = key + 1;
            rest_material = material;
        } else if (material < 0 || !efi_bind_share(b, key + 1, &here, &share[material])) {
            good = false;
        } else {
            sum += share[material];
        }
    }
    if (!good || node->unsound)
        return;
    if (rest ? sum > 1.0 + RECEIPT_SUM_TOLERANCE : !(fabs(sum - 1.0) <= RECEIPT_SUM_TOLERANCE)) {
        report_sum(b, path, sum, rest != NULL);
        return;
    }
    if (rest)
        share[rest_material] = sum < 1.0 ? 1.0 - sum : 0.0;
    else
        for (int material = 0; material < b->scenario->material_count; material++)
            share[material] /= sum;
    *receipt = share;
}

bool efi_bind_material_share(efi_binder *b, const efi_node *node, const efi_path *path, double *share,
                             int material)
{
    const size_t materials = (size_t)b->scenario->material_count;
    if (!efi_bind_by_crop(b, node, path))
        return false;
    const efi_node *last = NULL;
    double last_share = 0.0;
    bool good = true;
    for (int i = 0; i < b->scenario->crop_count; i++) {
        const int crop = b->crop_order[i];
        const efi_node *one = b->by_crop[crop];
        if (one && one != last) {
            const efi_path here = efi_path_by_crop(path, node, one);
            last = one;
            last_share = 0.0;
            good = efi_bind_share(b, one, &here, &last_share) && good;
        }
        share[(size_t)crop * materials + (size_t)material] = one ? last_share : 0.0;
    }
    return good;
}

/* The share of the first material becomes that of all of them. */
static void spread_first(const ef_scenario *scenario, double *share)
{
    const size_t materials = (size_t)scenario->material_count;
    for (size_t crop = 0; crop < (size_t)scenario->crop_count; crop++)
        for (size_t material = 1; material < materials; material++)
            share[crop * materials + material] = share[crop * materials];
}

/* The shares by material of a map; false when some of them cannot be read. */
static bool take_map(efi_binder *b, const efi_node *map, const efi_path *path, double *share)
{
    const efi_node *others = efi_node_find_key(map, EFI_WORD_OTHER_MATERIALS);
    bool good = !map->unsound;
    if (others && b->scenario->material_count > 0) {
        const efi_path here = efi_path_to(path, others);
        good = efi_bind_material_share(b, others + 1, &here, share, 0) && good;
        spread_first(b->scenario, share);
    }
    for (int i = 0; i < (int)map->length; i++) {
        const efi_node *key = efi_node_key(map, i);
        const efi_path here = efi_path_to(path, key);
        if (efi_node_is(key, EFI_WORD_OTHER_MATERIALS))
            continue;
        const int material = efi_bind_find(b, EFI_NAMES_MATERIALS, key, &here);
        good = material >= 0 && efi_bind_material_share(b, key + 1, &here, share, material) && good;
    }
    return good;
}

void efi_bind_takes(efi_binder *b, const efi_node *node, const efi_path *path, efi_discharge *discharge)
{
    if (efi_node_is(node, EFI_WORD_REST)) {
        discharge->rest = true;
        return;
    }
    if (node->kind == EFI_NODE_TEXT && !node->unsound) {
        efi_bind_report(b, EFI_DIAG_VALUE_SHAPE, path, node,
                        "a single value stands where shares by material belong",
                        "rest, or a share for each material that it takes, say {chaff: 90 %, broken: 30 %}",
                        efi_diags_textf(b->diags, "{other materials: %s}", efi_bind_shown(b, node)));
        return;
    }
    if (!efi_bind_is_map(b, node, path, "materials"))
        return;
    const size_t cells = (size_t)b->scenario->crop_count * (size_t)b->scenario->material_count;
    if (!efi_bind_cells(b, cells, node))
        return;
    double *share = efi_bind_get(b, cells, sizeof *share);
    if (share && take_map(b, node, path, share))
        discharge->share = share;
}
