/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on single stations and their discharges. */
#include "model/rules.h"

/* Shares of one material may add up to this much over 1 before it counts as an error. */
#define SHARE_SUM_TOLERANCE 1e-9

/* A finding about the list of stations as a whole. */
static void report_list(efi_rules *rules, efi_diag_code code, const char *message, const char *likely)
{
    const efi_node *key = efi_node_find_key(rules->scenario->tree.root, "stations");
    if (!key || rules->scenario->station_count == 0)
        return;
    const efi_path path = efi_path_to(NULL, key);
    efi_bind_report(rules->binder, code, &path, key, message, NULL, likely);
}

/* Is there a station whose kind could not be read? Then it may be the one that seems to be missing. */
static bool kind_unknown(const ef_scenario *scenario)
{
    for (int s = 0; s < scenario->station_count; s++)
        if (scenario->stations[s].kind == EFI_STATION_UNKNOWN)
            return true;
    return false;
}

void efi_rule_intake_none(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++)
        if (rules->scenario->stations[s].kind == EFI_STATION_INTAKE)
            return;
    if (!kind_unknown(rules->scenario))
        report_list(rules, EFI_DIAG_INTAKE_NONE, "no station is of kind \"intake\", so nothing comes in",
                    "a station with \"kind: intake\"");
}

void efi_rule_crop_not_received(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int c = 0; c < scenario->crop_count && !kind_unknown(scenario); c++) {
        bool received = false;
        for (int s = 0; s < scenario->station_count && !received; s++)
            received = efi_station_receives(&scenario->stations[s], c);
        if (received)
            continue;
        const efi_crop *crop = &scenario->crops[c];
        ef_diag draft = efi_rule_draft(rules, "crops", crop->name, crop->origin, NULL);
        draft.message = efi_diags_textf(rules->diags, "no intake receives %s", crop->name);
        draft.likely = efi_diags_textf(rules->diags, "its name under \"receives\" of an intake");
        efi_diags_add(rules->diags, EFI_DIAG_CROP_NOT_RECEIVED, &draft);
    }
}

void efi_rule_outlet_none(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (station->kind == EFI_STATION_OUTLET &&
            (station->product || efi_rule_flag_unread(station->origin, "product")))
            return;
    }
    if (!kind_unknown(rules->scenario))
        report_list(rules, EFI_DIAG_OUTLET_NONE, "no outlet is for a product",
                    "\"product: yes\" under the outlet where the product leaves");
}

void efi_rule_way_twice(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (!efi_rule_has(station->origin, "to") || !efi_rule_has(station->origin, "discharges"))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "to");
        draft.message = "a single way on and discharges exclude each other";
        draft.likely = "take \"to\" out, or the discharges";
        efi_rule_second(rules, &draft, efi_node_find_key(station->origin.value, "discharges"),
                        "the discharges");
        efi_diags_add(rules->diags, EFI_DIAG_WAY_TWICE, &draft);
    }
}

void efi_rule_rest_twice(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_discharges *out = &rules->scenario->stations[s].discharges;
        int first = -1;
        for (int d = 0; d < out->count; d++) {
            if (out->items[d].rest && first >= 0) {
                ef_diag draft = efi_rule_discharge(rules, s, d, "takes");
                draft.message = efi_diags_textf(rules->diags, "\"%s\" already takes the rest",
                                                out->items[first].name);
                draft.allowed = "\"rest\" once; shares by material for the others";
                efi_rule_second(rules, &draft, out->items[first].origin.key,
                                "the discharge that takes the rest");
                efi_diags_add(rules->diags, EFI_DIAG_REST_TWICE, &draft);
            } else if (out->items[d].rest) {
                first = d;
            }
        }
    }
}

void efi_rule_rest_missing(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_discharges *out = &rules->scenario->stations[s].discharges;
        bool takes_rest = out->count == 0 || rules->scenario->stations[s].kind == EFI_STATION_SPLIT;
        bool unread = false;
        for (int d = 0; d < out->count; d++) {
            takes_rest = takes_rest || out->items[d].rest;
            unread = unread || (!out->items[d].rest && !out->items[d].share);
        }
        if (takes_rest || unread)
            continue;
        ef_diag draft = efi_rule_station(rules, s, "discharges");
        draft.message = "no discharge takes what the others leave";
        draft.likely = efi_diags_textf(rules->diags, "\"takes: rest\" for the main one, say \"%s\"",
                                       out->items[out->count - 1].name);
        efi_diags_add(rules->diags, EFI_DIAG_REST_MISSING, &draft);
    }
}

/* Where a discharge gives its share of a material: at the value, or at `takes`. */
static const efi_node *share_node(const efi_discharge *discharge, const char *material)
{
    const efi_node *takes = efi_node_find_key(discharge->origin.value, "takes");
    const efi_node *value = takes ? efi_node_find(takes + 1, material) : NULL;
    if (takes && !value)
        value = efi_node_find(takes + 1, EFI_WORD_OTHER_MATERIALS);
    return value && value->kind == EFI_NODE_TEXT ? value : takes;
}

static void report_over(efi_rules *rules, int s, int d, int cell, double sum)
{
    const ef_scenario *scenario = rules->scenario;
    const char *material = scenario->materials[cell % scenario->material_count].name;
    const char *crop = scenario->crops[cell / scenario->material_count].name;
    ef_diag draft = efi_rule_discharge(rules, s, d, "takes");
    const efi_node *at = share_node(&scenario->stations[s].discharges.items[d], material);
    if (at && !efi_tree_point(&scenario->tree, at, &draft))
        rules->binder->failed = true;
    draft.message = efi_diags_textf(rules->diags, "the discharges together take %s %% of %s of %s",
                                    efi_bind_percent(rules->binder, sum), material, crop);
    draft.allowed = "at most 100 % of each material";
    efi_diags_add(rules->diags, EFI_DIAG_SHARES_OVER, &draft);
}

/* Reports the first crop and material of a station whose shares are over 1, at the discharge that brings them
 * there. */
static void check_shares(efi_rules *rules, int s)
{
    const efi_discharges *out = &rules->scenario->stations[s].discharges;
    const int cells = rules->scenario->crop_count * rules->scenario->material_count;
    int taking[EFI_MOST_DISCHARGES];
    int count = 0;
    for (int d = 0; d < out->count; d++)
        if (!out->items[d].rest && out->items[d].share)
            taking[count++] = d;
    bool over = count < 2; /* one alone is at most 1 */
    for (int cell = 0; cell < cells && !over; cell++) {
        double sum = 0.0;
        int first_over = -1;
        for (int i = 0; i < count; i++) {
            sum += out->items[taking[i]].share[cell];
            if (first_over < 0 && sum > 1.0 + SHARE_SUM_TOLERANCE)
                first_over = taking[i];
        }
        over = first_over >= 0;
        if (over)
            report_over(rules, s, first_over, cell, sum);
    }
}

void efi_rule_shares_over(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++)
        if (rules->scenario->stations[s].discharges.count > 1 &&
            rules->scenario->stations[s].kind != EFI_STATION_SPLIT)
            check_shares(rules, s);
}

/* Returns whether something was wrong. */
static bool check_least_feed(efi_rules *rules, int s, int crop)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_station *station = &scenario->stations[s];
    if (!station->least_feed || !station->capacity)
        return false;
    const efi_value least = station->least_feed[crop];
    const efi_value most = station->capacity[crop];
    const efi_value density = scenario->crops[crop].density_tpm3;
    if (!least.given || !most.given || (most.of == EFI_KIND_VOLUME_RATE && !density.given))
        return false;
    const double most_tph = most.of == EFI_KIND_VOLUME_RATE ? most.value * density.value : most.value;
    if (least.value <= most_tph)
        return false;
    ef_diag draft = efi_rule_station(rules, s, "least feed");
    draft.message = efi_diags_textf(rules->diags,
                                    "the least feed of %.4g t/h is above the capacity of %.4g t/h for %s",
                                    least.value, most_tph, scenario->crops[crop].name);
    draft.allowed = "at most the capacity";
    efi_rule_second(rules, &draft, efi_node_find_key(station->origin.value, "capacity"), "the capacity");
    efi_diags_add(rules->diags, EFI_DIAG_LEAST_FEED_OVER, &draft);
    return true;
}

void efi_rule_least_feed_over(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++)
        for (int crop = 0; crop < rules->scenario->crop_count; crop++)
            if (check_least_feed(rules, s, crop))
                break;
}

void efi_rule_separates_nothing(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        const efi_station_kind kind = (efi_station_kind)station->kind;
        if (!efi_station_separates(kind) || station->discharges.count != 1 ||
            efi_rule_has(station->origin, "turns") ||
            efi_rule_only_counted(rules, EFI_DIAG_SEPARATES_NOTHING))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "to");
        draft.message = efi_diags_textf(rules->diags, "this %s has a single way on, so it takes nothing out",
                                        efi_station_word(kind));
        draft.likely = "discharges, with the share that each takes";
        efi_diags_add(rules->diags, EFI_DIAG_SEPARATES_NOTHING, &draft);
    }
}
