/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which rule sets a changeover, looked up anew. */
#include "shared/verify/season.h"

#include <math.h>
#include <string.h>

/* The words by which a rule may tell a lot from another, by what it is about. "none" is a lot without. */
static const char *word_of(const ef_scenario *scenario, const efi_scenario_lot *lot, int when)
{
    static const struct {
        int when;
        int trait;
    } traits[] = {
        {EFI_CHANGE_VARIETY, EFI_LOT_VARIETY},     {EFI_CHANGE_CLASS, EFI_LOT_CLASS},
        {EFI_CHANGE_CLASS_DOWN, EFI_LOT_CLASS},    {EFI_CHANGE_CLASS_UP, EFI_LOT_CLASS},
        {EFI_CHANGE_TREATMENT, EFI_LOT_TREATMENT}, {EFI_CHANGE_ALLERGEN, EFI_LOT_ALLERGEN},
        {EFI_CHANGE_TRAIT, EFI_LOT_TRAIT},         {EFI_CHANGE_COLOUR, EFI_LOT_COLOUR},
        {EFI_CHANGE_PRODUCT, EFI_LOT_PRODUCT},
    };
    if (when == EFI_CHANGE_CROP)
        return scenario->crops[lot->crop].name;
    if (when == EFI_CHANGE_LOT)
        return lot->name;
    for (size_t i = 0; i < EF_COUNT(traits); i++)
        if (traits[i].when == when)
            return lot->trait[traits[i].trait] ? lot->trait[traits[i].trait] : "none";
    return NULL; /* anything will do */
}

static bool suits(const ef_scenario *scenario, const efi_scenario_lot *lot, int when, const char *wanted)
{
    if (!wanted)
        return true;
    if (!lot) /* nothing runs there */
        return false;
    const char *word = word_of(scenario, lot, when);
    if (word)
        return strcmp(word, wanted) == 0;
    if (strcmp(lot->name, wanted) == 0 || strcmp(scenario->crops[lot->crop].name, wanted) == 0)
        return true;
    for (int t = 0; t < EFI_LOT_TRAITS; t++)
        if (lot->trait[t] && strcmp(lot->trait[t], wanted) == 0)
            return true;
    return false;
}

static int rank_of(const efi_season *season, const efi_scenario_lot *lot)
{
    int rank = 0;
    while (rank < season->class_count &&
           !(lot->trait[EFI_LOT_CLASS] && strcmp(season->classes[rank], lot->trait[EFI_LOT_CLASS]) == 0))
        rank++;
    return rank;
}

static bool changes(const ef_scenario *scenario, const efi_scenario_lot *from, const efi_scenario_lot *to,
                    int when)
{
    if (when == EFI_CHANGE_FIRST || when == EFI_CHANGE_LAST)
        return false;
    if (when == EFI_CHANGE_ANY || when == EFI_CHANGE_LOT)
        return true;
    if (when == EFI_CHANGE_CLASS_DOWN)
        return rank_of(scenario->season, to) > rank_of(scenario->season, from);
    if (when == EFI_CHANGE_CLASS_UP)
        return rank_of(scenario->season, to) < rank_of(scenario->season, from);
    if (when == EFI_CHANGE_VARIETY && from->crop != to->crop)
        return true;
    const char *had = word_of(scenario, from, when);
    const char *has = word_of(scenario, to, when);
    return had && has && strcmp(had, has) != 0;
}

static bool is_for(const efi_changeover *rule, int line)
{
    bool found = rule->lines.count == 0;
    for (int i = 0; i < rule->lines.count; i++)
        found = found || rule->lines.items[i] == line;
    return found;
}

static bool applies(const ef_scenario *scenario, const efi_changeover *rule, int from, int to, int line)
{
    const efi_scenario_lot *before = from >= 0 ? &scenario->lots[from] : NULL;
    const efi_scenario_lot *after = to >= 0 ? &scenario->lots[to] : NULL;
    if (!is_for(rule, line))
        return false;
    if (!before)
        return rule->when == EFI_CHANGE_FIRST && suits(scenario, after, rule->when, rule->to);
    if (!after)
        return rule->when == EFI_CHANGE_LAST && suits(scenario, before, rule->when, rule->from);
    return changes(scenario, before, after, rule->when) && suits(scenario, before, rule->when, rule->from) &&
           suits(scenario, after, rule->when, rule->to);
}

static double given_or(efi_value value, double otherwise)
{
    return value.given ? value.value : otherwise;
}

static double price_of(const ef_scenario *scenario, int crop)
{
    for (int s = 0; s < scenario->station_count; s++)
        if (scenario->stations[s].product && scenario->stations[s].price &&
            scenario->stations[s].price[crop].given)
            return scenario->stations[s].price[crop].value;
    return given_or(scenario->crops[crop].price, 0.0);
}

/* When the last station of a rule is clean, with so many teams: stations in their order, each begun when the
 * team that ends first is free. Looked at station by station, counting who is still at work. */
static double until_all_are_clean(const efi_season *season, const efi_changeover *rule)
{
    double end_h[200]; /* as many as the language takes */
    double last_h = 0.0;
    const int count = rule->station_count < (int)EF_COUNT(end_h) ? rule->station_count : (int)EF_COUNT(end_h);
    for (int s = 0; s < count; s++) {
        double begin_h = s < season->teams ? 0.0 : INFINITY;
        for (int end = 0; end < s && s >= season->teams; end++) { /* may it begin at the end of that one? */
            int at_work = 0;
            for (int other = 0; other < s; other++)
                at_work += end_h[other] > end_h[end];
            if (at_work < season->teams && end_h[end] < begin_h)
                begin_h = end_h[end];
        }
        const double entry_h = given_or(rule->stations[s].bin_entry_h, 0.0);
        const double least_h = entry_h > 0.0 ? entry_h + given_or(season->least_clean_h, 0.0) : 0.0;
        end_h[s] = begin_h + fmax(given_or(rule->stations[s].takes_h, 0.0), least_h);
        last_h = end_h[s] > last_h ? end_h[s] : last_h;
    }
    return last_h;
}

efi_rule_check efi_season_check_rule(const ef_scenario *scenario, int from, int to, int line)
{
    const efi_season *season = scenario->season;
    const efi_changeover *found = NULL;
    for (int r = season->changeover_count - 1; r >= 0; r--) { /* the first comes last */
        const efi_changeover *rule = &season->changeovers[r];
        if (!applies(scenario, rule, from, to, line))
            continue;
        if (!found || rule->when == EFI_CHANGE_LOT || found->when != EFI_CHANGE_LOT)
            found = rule;
    }
    efi_rule_check check = {.rule = found};
    if (!found || found->never)
        return check;
    check.clean_h = given_or(found->takes_h, 0.0);
    if (!found->takes_h.given)
        check.clean_h = until_all_are_clean(season, found);
    const double entry_h = given_or(found->bin_entry_h, 0.0);
    if (check.clean_h > 0.0 || entry_h > 0.0)
        check.clean_h = fmax(check.clean_h, given_or(season->least_clean_h, 0.0) + entry_h);
    check.people = given_or(found->people, given_or(scenario->plant->people, 0.0));
    check.flush_t = given_or(found->flush_t, 0.0);
    check.cost = check.clean_h * check.people * given_or(scenario->plant->labour_price, 0.0) +
                 check.flush_t * price_of(scenario, scenario->lots[to >= 0 ? to : from].crop) +
                 given_or(found->cost, 0.0);
    return check;
}
