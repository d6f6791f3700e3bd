/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on splits: which shares go with which rule, and whether they add up. */
#include "model/rules.h"

/* Shares typed in percent add up within this much. */
#define SHARE_SUM_TOLERANCE 1e-6

static bool is_split(const efi_rules *rules, int s, efi_split_rule rule)
{
    const efi_station *station = &rules->scenario->stations[s];
    return station->kind == EFI_STATION_SPLIT && station->split_rule == (int)rule;
}

static void check_key(efi_rules *rules, int s, int d, const char *key, efi_split_rule wanted)
{
    const efi_station *split = &rules->scenario->stations[s];
    if (split->split_rule == (int)wanted || !efi_rule_has(split->discharges.items[d].origin, key))
        return;
    ef_diag draft = efi_rule_discharge(rules, s, d, key);
    draft.message = efi_diags_textf(
        rules->diags, "\"%s\" goes with the rule \"%s\", but this split is \"%s\"", key,
        efi_split_word(wanted), efi_split_word((efi_split_rule)split->split_rule));
    draft.likely = efi_diags_textf(rules->diags, "rule: %s", efi_split_word(wanted));
    efi_diags_add(rules->diags, EFI_DIAG_KEY_UNFIT, &draft);
}

void efi_rule_split_keys(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        for (int d = 0; station->kind == EFI_STATION_SPLIT && d < station->discharges.count; d++) {
            check_key(rules, s, d, "share", EFI_SPLIT_FIXED);
            check_key(rules, s, d, "least share", EFI_SPLIT_FREE);
            check_key(rules, s, d, "most share", EFI_SPLIT_FREE);
        }
    }
}

void efi_rule_split_rest(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_discharges *out = &rules->scenario->stations[s].discharges;
        int first = -1;
        for (int d = 0; is_split(rules, s, EFI_SPLIT_FIXED) && d < out->count; d++) {
            if (efi_rule_has(out->items[d].origin, "share"))
                continue;
            if (first >= 0) {
                ef_diag draft = efi_rule_discharge(rules, s, d, NULL);
                draft.message = "a second branch without a share; only one can get the rest";
                draft.likely = "share: 50 %";
                efi_rule_second(rules, &draft, out->items[first].origin.key, "the branch that gets the rest");
                efi_diags_add(rules->diags, EFI_DIAG_REST_TWICE, &draft);
            } else {
                first = d;
            }
        }
    }
}

void efi_rule_branch_range(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_discharges *out = &rules->scenario->stations[s].discharges;
        for (int d = 0; is_split(rules, s, EFI_SPLIT_FREE) && d < out->count; d++) {
            const efi_discharge *branch = &out->items[d];
            if (!branch->least_share.given || !branch->most_share.given ||
                branch->least_share.value <= branch->most_share.value)
                continue;
            ef_diag draft = efi_rule_discharge(rules, s, d, "least share");
            draft.message = efi_diags_textf(rules->diags,
                                            "the least share of %s %% is above the most share of %s %%",
                                            efi_bind_percent(rules->binder, branch->least_share.value),
                                            efi_bind_percent(rules->binder, branch->most_share.value));
            efi_rule_second(rules, &draft, efi_node_find_key(branch->origin.value, "most share"),
                            "the most share");
            efi_diags_add(rules->diags, EFI_DIAG_BRANCH_RANGE, &draft);
        }
    }
}

static void report_sum(efi_rules *rules, efi_diag_code code, int s, int crop, double sum, const char *which,
                       const char *allowed)
{
    ef_diag draft = efi_rule_station(rules, s, "branches");
    draft.message = efi_diags_textf(rules->diags, "the values of \"%s\" add up to %s %% for %s", which,
                                    efi_bind_percent(rules->binder, sum), rules->scenario->crops[crop].name);
    draft.allowed = allowed;
    efi_diags_add(rules->diags, code, &draft);
}

/* Returns whether the shares of a split with fixed shares are wrong for a crop. */
static bool check_fixed(efi_rules *rules, int s, int crop)
{
    const efi_discharges *out = &rules->scenario->stations[s].discharges;
    double sum = 0.0;
    bool rest = false;
    for (int d = 0; d < out->count; d++) {
        const efi_discharge *branch = &out->items[d];
        if (!efi_rule_has(branch->origin, "share"))
            rest = true;
        else if (!branch->branch_share || branch->branch_share[crop].bad)
            return false;
        else if (branch->branch_share[crop].given)
            sum += branch->branch_share[crop].value;
    }
    if (rest ? sum <= 1.0 + SHARE_SUM_TOLERANCE
             : sum >= 1.0 - SHARE_SUM_TOLERANCE && sum <= 1.0 + SHARE_SUM_TOLERANCE)
        return false;
    report_sum(rules, EFI_DIAG_SPLIT_SUM, s, crop, sum, "share",
               rest ? "at most 100 %" : "100 %, or one branch without a share, which gets the rest");
    return true;
}

/* What the branches of a split with free shares must and may get of a crop; false when that is not known. */
static bool free_range(const efi_discharges *out, int crop, double *least, double *most)
{
    *least = 0.0;
    *most = 0.0;
    for (int d = 0; d < out->count; d++) {
        const efi_discharge *branch = &out->items[d];
        if (branch->least_share.bad || branch->most_share.bad || !branch->to ||
            branch->to[crop] == EFI_UNREAD)
            return false;
        *least += branch->least_share.given ? branch->least_share.value : 0.0;
        *most += efi_split_most(branch, crop);
    }
    return out->count > 0;
}

static bool check_least(efi_rules *rules, int s, int crop)
{
    double least, most;
    if (!free_range(&rules->scenario->stations[s].discharges, crop, &least, &most) ||
        least <= 1.0 + SHARE_SUM_TOLERANCE)
        return false;
    report_sum(rules, EFI_DIAG_SPLIT_SUM, s, crop, least, "least share", "at most 100 %");
    return true;
}

static bool check_room(efi_rules *rules, int s, int crop)
{
    double least, most;
    if (!free_range(&rules->scenario->stations[s].discharges, crop, &least, &most) ||
        most >= 1.0 - SHARE_SUM_TOLERANCE)
        return false;
    report_sum(rules, EFI_DIAG_SPLIT_ROOM, s, crop, most, "most share",
               "100 % or more, so that all that comes in has a way on");
    return true;
}

typedef bool check_split(efi_rules *rules, int s, int crop);

/* Checks the splits of a rule for each crop that comes there, until one is wrong. */
static void check_splits(efi_rules *rules, efi_split_rule rule, check_split *check)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        bool wrong = !is_split(rules, s, rule) || rules->scenario->stations[s].discharges.count == 0;
        for (int crop = 0; crop < rules->scenario->crop_count && !wrong; crop++)
            wrong = efi_rule_reached(rules, crop, s) && check(rules, s, crop);
    }
}

void efi_rule_split_sum(efi_rules *rules)
{
    check_splits(rules, EFI_SPLIT_FIXED, check_fixed);
    check_splits(rules, EFI_SPLIT_FREE, check_least);
}

void efi_rule_split_room(efi_rules *rules)
{
    check_splits(rules, EFI_SPLIT_FREE, check_room);
}

void efi_rule_split_single(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (station->kind != EFI_STATION_SPLIT || station->discharges.count != 1 ||
            efi_rule_only_counted(rules, EFI_DIAG_SPLIT_SINGLE))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "branches");
        draft.message = efi_diags_textf(rules->diags,
                                        "this split has the branch \"%s\" alone, so it parts nothing",
                                        station->discharges.items[0].name);
        draft.likely = "a second branch, or the spout straight to where the branch leads";
        efi_diags_add(rules->diags, EFI_DIAG_SPLIT_SINGLE, &draft);
    }
}

/* Do two branches lead to the same station for every crop that both get? Writes that station. */
static bool lead_alike(const efi_rules *rules, const efi_discharge *one, const efi_discharge *other, int *to)
{
    *to = EFI_NOWHERE;
    for (int crop = 0; one->to && other->to && crop < rules->scenario->crop_count; crop++) {
        if (one->to[crop] < 0 || other->to[crop] < 0)
            continue;
        if (one->to[crop] != other->to[crop])
            return false;
        *to = one->to[crop];
    }
    return *to >= 0;
}

/* The first branch before `d` that leads to the same station; -1 when there is none. */
static int same_branch(const efi_rules *rules, const efi_discharges *out, int d, int *to)
{
    for (int earlier = 0; earlier < d; earlier++)
        if (lead_alike(rules, &out->items[earlier], &out->items[d], to))
            return earlier;
    return -1;
}

void efi_rule_split_same(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        const efi_discharges *out = &station->discharges;
        for (int d = 1; station->kind == EFI_STATION_SPLIT && d < out->count; d++) {
            int to;
            const int earlier = same_branch(rules, out, d, &to);
            if (earlier < 0 || efi_rule_only_counted(rules, EFI_DIAG_SPLIT_SAME))
                continue;
            ef_diag draft = efi_rule_discharge(rules, s, d, "to");
            draft.message = efi_diags_textf(rules->diags, "this branch leads to \"%s\", as \"%s\" does",
                                            rules->scenario->stations[to].name, out->items[earlier].name);
            draft.likely = "another station, or one branch for both";
            efi_rule_second(rules, &draft, out->items[earlier].origin.key, "the other branch");
            efi_diags_add(rules->diags, EFI_DIAG_SPLIT_SAME, &draft);
        }
    }
}
