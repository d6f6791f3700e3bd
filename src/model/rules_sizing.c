/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on what may be chosen about the volume of bins. */
#include "model/rules.h"

static const efi_bin_choice *choice_of(const efi_rules *rules, int s)
{
    return rules->scenario->stations[s].choice;
}

void efi_rule_sizing_range(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_bin_choice *choice = choice_of(rules, s);
        if (!choice || !choice->least_m3.given || !choice->most_m3.given ||
            choice->least_m3.value <= choice->most_m3.value)
            continue;
        ef_diag draft = efi_rule_within(rules, s, "sizing", "least");
        draft.message = efi_diags_textf(
            rules->diags, "the least volume, %s m3, is above the most volume, %s m3",
            efi_rule_number(rules, choice->least_m3.value), efi_rule_number(rules, choice->most_m3.value));
        draft.allowed = efi_diags_textf(rules->diags, "at most %s m3",
                                        efi_rule_number(rules, choice->most_m3.value));
        efi_diags_add(rules->diags, EFI_DIAG_SIZING_RANGE, &draft);
    }
}

/* Is a size read, and within least and most? Unread ones may be. */
static bool size_fits(const efi_bin_choice *choice, const efi_bin_size *size)
{
    if (!size->volume_m3.given)
        return true;
    return !(choice->least_m3.given && size->volume_m3.value < choice->least_m3.value) &&
           !(choice->most_m3.given && size->volume_m3.value > choice->most_m3.value);
}

void efi_rule_sizes_unfit(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_bin_choice *choice = choice_of(rules, s);
        bool fits = !choice || choice->sizes.count == 0 || choice->least_m3.bad || choice->most_m3.bad;
        for (int k = 0; !fits && k < choice->sizes.count; k++)
            fits = size_fits(choice, &choice->sizes.items[k]);
        if (fits)
            continue;
        ef_diag draft = efi_rule_within(rules, s, "sizing", "sizes");
        draft.message = "none of the standard sizes is within the least and the most volume of this bin";
        draft.likely = "a least or most volume that leaves one of them, or none at all";
        efi_diags_add(rules->diags, EFI_DIAG_SIZES_UNFIT, &draft);
    }
}

void efi_rule_keep_without_volume(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_bin_choice *choice = choice_of(rules, s);
        const efi_station *station = &rules->scenario->stations[s];
        if (!choice || !choice->keep || station->live_m3.given || station->live_m3.bad || station->steel)
            continue;
        ef_diag draft = efi_rule_within(rules, s, "sizing", "keep");
        draft.message = "this bin is to stay as it is, but nothing says how much it holds";
        draft.likely = "live volume: 4 m3";
        efi_diags_add(rules->diags, EFI_DIAG_KEEP_WITHOUT_VOLUME, &draft);
    }
}

void efi_rule_sizing_kept(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_bin_choice *choice = choice_of(rules, s);
        if (!choice || !choice->keep ||
            !(choice->cost.given || choice->fixed_cost.given || choice->least_m3.given ||
              choice->most_m3.given || choice->sizes.count > 0) ||
            efi_rule_only_counted(rules, EFI_DIAG_SIZING_KEPT))
            continue;
        ef_diag draft = efi_rule_within(rules, s, "sizing", "keep");
        draft.message = "this bin is to stay as it is, so what else stands here does nothing";
        draft.likely = "keep: no";
        efi_diags_add(rules->diags, EFI_DIAG_SIZING_KEPT, &draft);
    }
}

/* Does a bin say what it costs, well or badly? */
static bool says_cost(const efi_bin_choice *choice)
{
    if (!choice)
        return false;
    bool sizes = choice->sizes.count > 0;
    for (int k = 0; k < choice->sizes.count; k++)
        sizes = sizes && (choice->sizes.items[k].cost.given || choice->sizes.items[k].cost.bad);
    return sizes || choice->cost.given || choice->cost.bad;
}

void efi_rule_bin_cost_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    int said = -1;
    for (int s = 0; s < scenario->station_count; s++)
        if (said < 0 && says_cost(scenario->stations[s].choice))
            said = s;
    for (int s = 0; said >= 0 && s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        if (station->kind != EFI_STATION_BIN || (station->choice && station->choice->keep) ||
            says_cost(station->choice) || efi_rule_only_counted(rules, EFI_DIAG_BIN_COST_MISSING))
            continue;
        ef_diag draft = efi_rule_station(rules, s, station->choice ? "sizing" : NULL);
        draft.message =
            "nothing says what this bin costs, so it is taken to cost what the dearest of the others does";
        draft.likely = "sizing: {cost: 900 EUR/m3}, or sizing: {keep: yes}";
        efi_rule_second(rules, &draft, scenario->stations[said].origin.key, "a bin with a cost");
        efi_diags_add(rules->diags, EFI_DIAG_BIN_COST_MISSING, &draft);
    }
}
