/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on the plant as a whole: shift, power, people, lines. */
#include "model/rules.h"

#include <math.h>

/* No shift is longer than a day. */
#define MOST_SHIFT_H 24.0

/* Sums this close to a limit keep it. */
#define SUM_TOLERANCE 1e-9

void efi_rule_shift_long(efi_rules *rules)
{
    const efi_value shift = rules->scenario->plant->shift_h;
    if (!shift.given || shift.value <= MOST_SHIFT_H)
        return;
    ef_diag draft = efi_rule_plant(rules, "shift length");
    draft.message = efi_diags_textf(rules->diags, "a shift of %s h is longer than a day",
                                    efi_rule_number(rules, shift.value));
    draft.allowed = "at most 24 h";
    draft.likely = shift.value < 120.0
                       ? "12 h"
                       : efi_diags_textf(rules->diags, "%s min", efi_rule_number(rules, shift.value));
    efi_diags_add(rules->diags, EFI_DIAG_SHIFT_LONG, &draft);
}

void efi_rule_surge_rule_long(efi_rules *rules)
{
    const efi_plant *plant = rules->scenario->plant;
    if (!plant->surge_rule_h.given || !plant->shift_h.given ||
        plant->surge_rule_h.value <= plant->shift_h.value ||
        efi_rule_only_counted(rules, EFI_DIAG_SURGE_RULE_LONG))
        return;
    ef_diag draft = efi_rule_plant(rules, "surge rule");
    draft.message = efi_diags_textf(rules->diags, "the surge rule of %s h is longer than the shift of %s h",
                                    efi_rule_number(rules, plant->surge_rule_h.value),
                                    efi_rule_number(rules, plant->shift_h.value));
    draft.likely = "15 min";
    efi_diags_add(rules->diags, EFI_DIAG_SURGE_RULE_LONG, &draft);
}

/* What the stations that a crop passes draw or ask for together, whatever passes; NaN when one of them cannot
 * be read. */
typedef double demand(const efi_station *station);

static double idle_kw(const efi_station *station)
{
    if (station->idle_kw.bad)
        return NAN;
    return station->idle_kw.given ? station->idle_kw.value * station->count : 0.0;
}

static double people(const efi_station *station)
{
    if (station->people.bad)
        return NAN;
    return station->people.given ? station->people.value : 0.0;
}

static double demand_of(const efi_rules *rules, int crop, demand *of)
{
    double sum = 0.0;
    for (int s = 0; s < rules->scenario->station_count; s++)
        if (efi_rule_reached(rules, crop, s))
            sum += of(&rules->scenario->stations[s]);
    return sum;
}

/* The crop whose stations ask for most, and how much; -1 when none asks for more than the limit. */
static int most_demanding(const efi_rules *rules, efi_value limit, demand *of, double *most)
{
    int crop = -1;
    *most = limit.value * (1.0 + SUM_TOLERANCE);
    for (int c = 0; limit.given && c < rules->scenario->crop_count; c++) {
        const double sum = demand_of(rules, c, of);
        if (sum > *most) {
            *most = sum;
            crop = c;
        }
    }
    return crop;
}

void efi_rule_power_short(efi_rules *rules)
{
    const efi_value limit = rules->scenario->plant->power_limit_kw;
    double needed;
    const int crop = most_demanding(rules, limit, idle_kw, &needed);
    if (crop < 0 || efi_rule_only_counted(rules, EFI_DIAG_POWER_SHORT))
        return;
    ef_diag draft = efi_rule_plant(rules, "power limit");
    draft.message = efi_diags_textf(
        rules->diags, "the stations that %s passes draw %s kW even when idle, more than the %s kW there are",
        rules->scenario->crops[crop].name, efi_rule_number(rules, needed),
        efi_rule_number(rules, limit.value));
    draft.allowed = efi_diags_textf(rules->diags, "at least %s kW, and what each tonne takes on top",
                                    efi_rule_number(rules, needed));
    efi_diags_add(rules->diags, EFI_DIAG_POWER_SHORT, &draft);
}

void efi_rule_people_short(efi_rules *rules)
{
    const efi_value limit = rules->scenario->plant->people;
    double needed;
    const int crop = most_demanding(rules, limit, people, &needed);
    if (crop < 0 || efi_rule_only_counted(rules, EFI_DIAG_PEOPLE_SHORT))
        return;
    ef_diag draft = efi_rule_plant(rules, "people");
    draft.message = efi_diags_textf(rules->diags,
                                    "the stations that %s passes take %s people, more than the %s of a shift",
                                    rules->scenario->crops[crop].name, efi_rule_number(rules, needed),
                                    efi_rule_number(rules, limit.value));
    draft.likely = "a half for stations that one person minds two of";
    efi_diags_add(rules->diags, EFI_DIAG_PEOPLE_SHORT, &draft);
}

/* Does any station say, well or badly, what it draws? */
static bool power_said(const efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_origin origin = rules->scenario->stations[s].origin;
        if (efi_rule_has(origin, "idle power") || efi_rule_has(origin, "energy"))
            return true;
    }
    return false;
}

static void check_power_use(efi_rules *rules, efi_diag_code code, efi_value value, const char *key)
{
    if (!value.given || power_said(rules) || efi_rule_only_counted(rules, code))
        return;
    ef_diag draft = efi_rule_plant(rules, key);
    draft.message = efi_diags_textf(rules->diags,
                                    "the %s has no effect, for no station says what power it draws", key);
    draft.likely = "\"idle power\" or \"energy\" at the stations";
    efi_diags_add(rules->diags, code, &draft);
}

void efi_rule_power_unused(efi_rules *rules)
{
    check_power_use(rules, EFI_DIAG_POWER_UNUSED, rules->scenario->plant->power_limit_kw, "power limit");
}

void efi_rule_energy_price_unused(efi_rules *rules)
{
    check_power_use(rules, EFI_DIAG_ENERGY_PRICE_UNUSED, rules->scenario->plant->energy_price,
                    "energy price");
}

/* Does anything say, well or badly, how many people work? */
static bool people_said(const ef_scenario *scenario)
{
    bool said = scenario->plant->people.given || scenario->plant->people.bad;
    for (int s = 0; s < scenario->station_count; s++)
        said = said || efi_rule_has(scenario->stations[s].origin, "people");
    const efi_calendar *calendar = scenario->calendar;
    for (int i = 0; i < calendar->shift_count; i++)
        said = said || calendar->shifts[i].people.given || calendar->shifts[i].people.bad;
    for (int i = 0; i < calendar->overtime_count; i++)
        said = said || calendar->overtimes[i].people.given || calendar->overtimes[i].people.bad;
    for (int r = 0; r < scenario->season->changeover_count; r++)
        said = said || efi_rule_has(scenario->season->changeovers[r].origin, "people");
    return said;
}

void efi_rule_labour_price_unused(efi_rules *rules)
{
    if (!rules->scenario->plant->labour_price.given || people_said(rules->scenario) ||
        efi_rule_only_counted(rules, EFI_DIAG_LABOUR_PRICE_UNUSED))
        return;
    ef_diag draft = efi_rule_plant(rules, "labour price");
    draft.message = "the labour price has no effect, for nothing says how many people work";
    draft.likely = "\"people\" of the plant, of its shifts, or of its stations";
    efi_diags_add(rules->diags, EFI_DIAG_LABOUR_PRICE_UNUSED, &draft);
}

void efi_rule_line_unused(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int line = 0; line < scenario->line_count; line++) {
        int s = 0;
        while (s < scenario->station_count && scenario->stations[s].line != line)
            s++;
        if (s < scenario->station_count || efi_rule_only_counted(rules, EFI_DIAG_LINE_UNUSED))
            continue;
        const efi_line_name *of = &scenario->lines[line];
        ef_diag draft = efi_rule_draft(rules, "lines", of->name, of->origin, NULL);
        draft.message = efi_diags_textf(rules->diags, "no station belongs to line \"%s\"", of->name);
        draft.likely = efi_diags_textf(rules->diags, "\"line: %s\" at its stations, or take it out",
                                       of->name);
        efi_diags_add(rules->diags, EFI_DIAG_LINE_UNUSED, &draft);
    }
}
