/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from lots and season as given: defaults that depend on other keys. */
#include "model/bind.h"

#include <string.h>

enum {
    USUAL_DAYS = 366
};

bool efi_trait_is(const char *trait, const char *word)
{
    return strcmp(trait ? trait : EFI_TRAIT_NONE, word) == 0;
}

double efi_clean_hours(const efi_season *season, double clean_h, efi_value bin_entry_h)
{
    const double entry_h = bin_entry_h.given ? bin_entry_h.value : 0.0;
    const double least_h = entry_h + (season->least_clean_h.given ? season->least_clean_h.value : 0.0);
    return (clean_h > 0.0 || entry_h > 0.0) && clean_h < least_h ? least_h : clean_h;
}

static const efi_by_date *earlier(const efi_by_date *a, const efi_by_date *b)
{
    if (!b->moment.given)
        return a;
    return !a || b->moment.value < a->moment.value ? b : a;
}

/* The first day that a lot names; NULL when none does. */
static const efi_by_date *first_named(const ef_scenario *scenario)
{
    const efi_by_date *first = NULL;
    for (int l = 0; l < scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &scenario->lots[l];
        first = earlier(first, &lot->arrives);
        first = earlier(first, &lot->starts);
    }
    for (int l = 0; l < scenario->lot_count && !first; l++)
        first = earlier(first, &scenario->lots[l].due);
    return first;
}

static void finish_span(const ef_scenario *scenario, efi_season *season)
{
    if (!season->from.given && !season->from.bad) {
        const efi_by_date *first = scenario->calendar->is_given ? NULL : first_named(scenario);
        season->from = scenario->calendar->start;
        if (first)
            season->from = (efi_when){.value = efi_moment_day(first->moment.value), .given = true};
    }
    if (!season->to.given && !season->to.bad && season->from.given)
        season->to = (efi_when){.value = season->from.value + USUAL_DAYS - 1, .given = true};
}

static void finish_lot(const ef_scenario *scenario, efi_scenario_lot *lot)
{
    if (lot->crop == EFI_NOWHERE && scenario->crop_count == 1)
        lot->crop = 0;
    if (lot->line < 0 && efi_node_find(lot->origin.value, "line"))
        lot->line = EFI_UNREAD;
    if (lot->line == EFI_NOWHERE && lot->state != EFI_LOT_WAITING && scenario->line_count <= 1)
        lot->line = 0;
    if (!lot->left_t.given && !lot->left_t.bad) {
        lot->left_t = lot->amount_t;
        if (lot->state == EFI_LOT_DONE)
            lot->left_t.value = 0.0;
    }
    for (int t = 0; t < EFI_LOT_TRAITS; t++)
        if (lot->trait[t] && strcmp(lot->trait[t], EFI_TRAIT_NONE) == 0)
            lot->trait[t] = NULL;
    if (!lot->moisture.given && !lot->moisture.bad && lot->crop >= 0)
        lot->moisture = scenario->crops[lot->crop].moisture;
}

/* Finds the stations that a rule names; reports those that there are not. */
static void find_stations(efi_binder *b, efi_changeover *rule, const efi_path *rules)
{
    const efi_path in_rule = efi_path_to(rules, rule->origin.key);
    const efi_node *key = efi_node_find_key(rule->origin.value, "stations");
    const efi_path in_stations = efi_path_to(&in_rule, key ? key : rule->origin.key);
    for (int s = 0; s < rule->station_count; s++) {
        efi_station_cleaning *one = &rule->stations[s];
        const efi_path here = efi_path_to(&in_stations, one->origin.key);
        const int found = efi_bind_find(b, EFI_NAMES_STATIONS, one->origin.key, &here);
        one->station = found >= 0 ? found : EFI_UNREAD;
    }
}

static void finish_rules(efi_binder *b, efi_season *season)
{
    const efi_node *at = efi_node_find_key(b->scenario->tree.root, "season");
    const efi_node *inside = at ? efi_node_find_key(at + 1, "changeovers") : NULL;
    if (!inside)
        return;
    const efi_path in_season = efi_path_to(NULL, at);
    const efi_path rules = efi_path_to(&in_season, inside);
    for (int c = 0; c < season->changeover_count; c++) {
        efi_changeover *rule = &season->changeovers[c];
        if (!rule->people.given && !rule->people.bad)
            rule->people = b->scenario->plant->people;
        find_stations(b, rule, &rules);
    }
}

void efi_season_finish(efi_binder *b)
{
    ef_scenario *scenario = b->scenario;
    if (scenario->season) {
        scenario->season->is_given = true;
    } else {
        scenario->season = efi_bind_get(b, 1, sizeof *scenario->season);
        if (scenario->season)
            efi_season_usual(scenario->season);
    }
    efi_season *season = scenario->season;
    if (!season || !scenario->calendar || !scenario->plant)
        return;
    finish_span(scenario, season);
    for (int l = 0; l < scenario->lot_count; l++)
        finish_lot(scenario, &scenario->lots[l]);
    finish_rules(b, season);
}
