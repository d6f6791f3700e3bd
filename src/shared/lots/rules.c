/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/lots/rules.h"

#include <string.h>

enum {
    MOST_TEAMS = 64
};

static bool same_text(const char *a, const char *b)
{
    return a && b ? strcmp(a, b) == 0 : a == b;
}

/* ---- what changes ---------------------------------------------------------------------------------------
 */

/* 0 for the highest class; one that is not listed is the lowest. */
static int class_rank(const efi_season *season, const char *class)
{
    for (int i = 0; class && i < season->class_count; i++)
        if (strcmp(season->classes[i], class) == 0)
            return i;
    return season->class_count;
}

static bool trait_changes(const efi_scenario_lot *from, const efi_scenario_lot *to, efi_lot_trait trait)
{
    return !same_text(from->trait[trait], to->trait[trait]);
}

/* Between two lots. */
static bool is_change(const efi_season *season, efi_change when, const efi_scenario_lot *from,
                      const efi_scenario_lot *to)
{
    const int down = class_rank(season, to->trait[EFI_LOT_CLASS]) -
                     class_rank(season, from->trait[EFI_LOT_CLASS]);
    switch (when) {
    case EFI_CHANGE_ANY:
    case EFI_CHANGE_LOT:
        return true;
    case EFI_CHANGE_CROP:
        return from->crop != to->crop;
    case EFI_CHANGE_VARIETY:
        return from->crop != to->crop || trait_changes(from, to, EFI_LOT_VARIETY);
    case EFI_CHANGE_CLASS:
        return trait_changes(from, to, EFI_LOT_CLASS);
    case EFI_CHANGE_CLASS_DOWN:
        return down > 0;
    case EFI_CHANGE_CLASS_UP:
        return down < 0;
    case EFI_CHANGE_TREATMENT:
        return trait_changes(from, to, EFI_LOT_TREATMENT);
    case EFI_CHANGE_ALLERGEN:
        return trait_changes(from, to, EFI_LOT_ALLERGEN);
    case EFI_CHANGE_TRAIT:
        return trait_changes(from, to, EFI_LOT_TRAIT);
    case EFI_CHANGE_COLOUR:
        return trait_changes(from, to, EFI_LOT_COLOUR);
    case EFI_CHANGE_PRODUCT:
        return trait_changes(from, to, EFI_LOT_PRODUCT);
    case EFI_CHANGE_FIRST:
    case EFI_CHANGE_LAST:
    case EFI_CHANGES:
        break;
    }
    return false;
}

/* ---- who is meant ---------------------------------------------------------------------------------------
 */

static bool has_any(const ef_scenario *scenario, const efi_scenario_lot *lot, const char *word)
{
    bool found = strcmp(lot->name, word) == 0 || strcmp(scenario->crops[lot->crop].name, word) == 0;
    for (int t = 0; t < EFI_LOT_TRAITS; t++)
        found = found || same_text(lot->trait[t], word);
    return found;
}

/* Is the lot what a rule says of it? */
static bool is_meant(const ef_scenario *scenario, efi_change when, const char *word,
                     const efi_scenario_lot *lot)
{
    const efi_lot_trait trait = efi_change_trait(when);
    if (!word)
        return true;
    if (when == EFI_CHANGE_LOT)
        return strcmp(lot->name, word) == 0;
    if (when == EFI_CHANGE_CROP)
        return strcmp(scenario->crops[lot->crop].name, word) == 0;
    if (trait == EFI_LOT_TRAITS)
        return has_any(scenario, lot, word);
    return lot->trait[trait] ? strcmp(lot->trait[trait], word) == 0 : strcmp(word, "none") == 0;
}

static bool holds_for(const efi_changeover *rule, int line)
{
    for (int i = 0; i < rule->lines.count; i++)
        if (rule->lines.items[i] == line)
            return true;
    return rule->lines.count == 0;
}

static bool matches(const ef_scenario *scenario, const efi_changeover *rule, const efi_scenario_lot *from,
                    const efi_scenario_lot *to, int line)
{
    const efi_change when = (efi_change)rule->when;
    if (!holds_for(rule, line))
        return false;
    if (!from)
        return when == EFI_CHANGE_FIRST && is_meant(scenario, when, rule->to, to);
    if (!to)
        return when == EFI_CHANGE_LAST && is_meant(scenario, when, rule->from, from);
    return is_change(scenario->season, when, from, to) && is_meant(scenario, when, rule->from, from) &&
           is_meant(scenario, when, rule->to, to);
}

static const efi_changeover *find_rule(const ef_scenario *scenario, const efi_scenario_lot *from,
                                       const efi_scenario_lot *to, int line)
{
    const efi_season *season = scenario->season;
    for (int pass = 0; pass < 2; pass++) {
        for (int r = 0; r < season->changeover_count; r++) {
            const efi_changeover *rule = &season->changeovers[r];
            const bool by_name = rule->when == EFI_CHANGE_LOT;
            if (by_name == (pass == 0) && matches(scenario, rule, from, to, line))
                return rule;
        }
    }
    return NULL;
}

/* ---- what it takes --------------------------------------------------------------------------------------
 */

static double value_or(efi_value value, double otherwise)
{
    return value.given ? value.value : otherwise;
}

/* Money per t of finished seed of a crop, else of its receipt; 0 without either. */
static double seed_price(const ef_scenario *scenario, int crop)
{
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        if (station->product && station->price && station->price[crop].given)
            return station->price[crop].value;
    }
    return value_or(scenario->crops[crop].price, 0.0);
}

/* What a rule says of a station; where it is entered no less than that takes. (The least of a cleaning where
 * nobody enters holds for all of them together.) */
static double hours_of_station(const efi_season *season, const efi_station_cleaning *cleaning)
{
    const double takes_h = value_or(cleaning->takes_h, 0.0);
    const bool entered = value_or(cleaning->bin_entry_h, 0.0) > 0.0;
    return entered ? efi_clean_hours(season, takes_h, cleaning->bin_entry_h) : takes_h;
}

/* Hours until all stations of a rule are clean: each team takes the next of the list as soon as it is free.
 */
static double hours_of_stations(const efi_season *season, const efi_changeover *rule)
{
    double free_h[MOST_TEAMS] = {0.0};
    const int teams = season->teams < 1 ? 1 : season->teams > MOST_TEAMS ? MOST_TEAMS : season->teams;
    double last_h = 0.0;
    for (int s = 0; s < rule->station_count; s++) {
        int first = 0;
        for (int t = 1; t < teams; t++)
            first = free_h[t] < free_h[first] ? t : first;
        free_h[first] += hours_of_station(season, &rule->stations[s]);
        last_h = free_h[first] > last_h ? free_h[first] : last_h;
    }
    return last_h;
}

/* As the rule says for the whole line; where it only says what each station takes, until all are clean. */
static double hours_of(const efi_season *season, const efi_changeover *rule)
{
    const double clean_h = rule->takes_h.given ? rule->takes_h.value : hours_of_stations(season, rule);
    return efi_clean_hours(season, clean_h, rule->bin_entry_h);
}

efi_clean_down efi_season_clean_down(const ef_scenario *scenario, const efi_scenario_lot *from,
                                     const efi_scenario_lot *to, int line)
{
    const efi_plant *plant = scenario->plant;
    const efi_changeover *rule = find_rule(scenario, from, to, line);
    if (!rule)
        return (efi_clean_down){0};
    efi_clean_down clean = {.rule = rule, .never = rule->never};
    if (rule->never)
        return clean;
    clean.clean_h = hours_of(scenario->season, rule);
    clean.flush_t = value_or(rule->flush_t, 0.0);
    clean.people = value_or(rule->people, value_or(plant->people, 0.0));
    clean.cost = clean.clean_h * clean.people * value_or(plant->labour_price, 0.0) +
                 clean.flush_t * seed_price(scenario, (to ? to : from)->crop) + value_or(rule->cost, 0.0);
    return clean;
}

bool efi_season_rules_by_line(const ef_scenario *scenario)
{
    for (int r = 0; r < scenario->season->changeover_count; r++)
        if (scenario->season->changeovers[r].lines.count > 0)
            return true;
    return false;
}
