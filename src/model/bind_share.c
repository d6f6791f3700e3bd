/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shares by material: what a receipt holds, what a discharge takes. */
#include "base/number.h"
#include "base/text.h"
#include "model/bind.h"

#include <math.h>
#include <stdint.h>

/* Shares typed in percent add up to 100 % within this much; what is left is put right by scaling. */
#define RECEIPT_SUM_TOLERANCE 1e-6

static void report_rest_twice(efi_binder *b, const efi_path *path, const efi_node *first,
                              const efi_node *again)
{
    ef_diag draft = efi_bind_draft(b, path, again);
    draft.message = "two of them take the rest";
    draft.allowed = "\"rest\" once; a share for each of the others";
    draft.second = efi_tree_place(&b->scenario->tree, first);
    draft.second_words = "the rest is taken here already";
    efi_diags_add(b->diags, EFI_DIAG_REST_TWICE, &draft);
}

static void report_sum(efi_binder *b, const efi_node *node, const efi_path *path, double sum, bool rest)
{
    efi_text text = {0};
    efi_text_add(&text, "the shares add up to ");
    efi_number_add_significant(&text, sum * 100.0, 6);
    efi_text_add(&text, rest ? " % before the rest" : " %");
    ef_diag draft = efi_bind_draft(b, path, node);
    draft.message = efi_diags_textf(b->diags, "%s", efi_text_get(&text));
    draft.allowed = rest ? "at most 100 %" : "100 %, or one material that is \"rest\"";
    efi_diags_add(b->diags, EFI_DIAG_RECEIPT_SUM, &draft);
    efi_text_free(&text);
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
            if (rest)
                report_rest_twice(b, &here, rest, key + 1);
            rest = key + 1;
            rest_material = material;
            good = good && material >= 0;
        } else if (material < 0 || !efi_bind_share(b, key + 1, &here, &share[material])) {
            good = false;
        } else {
            sum += share[material];
        }
    }
    if (!good)
        return;
    if (rest ? sum > 1.0 + RECEIPT_SUM_TOLERANCE : !(fabs(sum - 1.0) <= RECEIPT_SUM_TOLERANCE)) {
        report_sum(b, node, path, sum, rest != NULL);
        return;
    }
    if (rest)
        share[rest_material] = sum < 1.0 ? 1.0 - sum : 0.0;
    else
        for (int material = 0; material < b->scenario->material_count; material++)
            share[material] /= sum;
    *receipt = share;
}

/* The share of one material for every crop. */
static void take_material(efi_binder *b, const efi_node *node, const efi_path *path, double *share,
                          int material)
{
    const int materials = b->scenario->material_count;
    const efi_node **by_crop = efi_bind_by_crop(b, node, path);
    if (!by_crop)
        return;
    const efi_node *last = NULL;
    double last_share = 0.0;
    for (int crop = 0; crop < b->scenario->crop_count; crop++) {
        if (!by_crop[crop])
            continue;
        if (by_crop[crop] != last) {
            last = by_crop[crop];
            last_share = 0.0;
            (void)efi_bind_share(b, last, path, &last_share);
        }
        share[(size_t)crop * (size_t)materials + (size_t)material] = last_share;
    }
}

void efi_bind_takes(efi_binder *b, const efi_node *node, const efi_path *path, efi_discharge *discharge)
{
    if (efi_node_is(node, EFI_WORD_REST)) {
        discharge->rest = true;
        return;
    }
    if (node->kind == EFI_NODE_TEXT && !efi_node_is_empty(node)) {
        efi_bind_report(
            b, EFI_DIAG_VALUE_SHAPE, path, node, "a single value stands where shares by material belong",
            "rest, or a share for each material that it takes, say {chaff: 90 %, broken: 30 %}",
            efi_diags_textf(b->diags, "{other materials: %.*s}", (int)node->length, node->is.text));
        return;
    }
    if (!efi_bind_is_map(b, node, path, "materials"))
        return;
    const int crops = b->scenario->crop_count;
    const int materials = b->scenario->material_count;
    if (!efi_bind_cells(b, (size_t)crops * (size_t)materials, node))
        return;
    double *share = efi_bind_get(b, (size_t)crops * (size_t)materials, sizeof *share);
    if (!share)
        return;
    const efi_node *others = efi_node_find_key(node, EFI_WORD_OTHER_MATERIALS);
    for (int material = 0; others && material < materials; material++) {
        const efi_path here = efi_path_to(path, others);
        /* complain about one value once, not once for each material */
        const int before = ef_diags_count(b->diags);
        take_material(b, others + 1, &here, share, material);
        if (ef_diags_count(b->diags) != before)
            break;
    }
    for (int i = 0; i < (int)node->length; i++) {
        const efi_node *key = efi_node_key(node, i);
        if (key == others)
            continue;
        const efi_path here = efi_path_to(path, key);
        const int material = efi_bind_find(b, EFI_NAMES_MATERIALS, key, &here);
        if (material >= 0)
            take_material(b, key + 1, &here, share, material);
    }
    discharge->share = share;
}
