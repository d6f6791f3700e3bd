/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season for people and files: names, moments, amounts. */
#include "report/season_view.h"
#include "base/date.h"
#include "base/number.h"
#include "model/season.h"

#include <math.h>
#include <string.h>

/* Amounts of lots have tenths, however large the largest lot. */
#define TENTHS_UP_TO 99.0

efi_season_view efi_season_view_of(const ef_season *season, ef_units units)
{
    efi_season_view v = {.season = season, .units = units};
    double money = fmax(season->cost.total, season->has_ours ? season->ours.total : 0.0);
    for (int i = 0; i < season->lot_count; i++)
        v.largest_t = fmax(v.largest_t, season->lots[i].amount_t);
    v.t = efi_display_choose(EFI_KIND_MASS, units, fmin(v.largest_t, TENTHS_UP_TO), 0.0, NULL);
    v.money = efi_display_choose(EFI_KIND_MONEY, units, money, 0.0, season->currency);
    return v;
}

/* ---- words ----------------------------------------------------------------------------------------------
 */

const char *efi_season_state_word(ef_season_state state)
{
    return efi_lot_state_word((efi_lot_state)state);
}

const char *efi_season_holds_word(ef_season_holds holds)
{
    static const char *const words[] = {
        [EF_SEASON_HELD_BY_NOTHING] = "nothing",   [EF_SEASON_HELD_BY_ARRIVAL] = "arrival",
        [EF_SEASON_HELD_BY_LINE] = "line",         [EF_SEASON_HELD_BY_FIRST_PASS] = "first pass",
        [EF_SEASON_HELD_BY_CALENDAR] = "calendar", [EF_SEASON_HELD_BY_STATE] = "state"};
    return words[holds];
}

const char *efi_season_rate_word(ef_season_rate_source source)
{
    static const char *const words[] = {[EF_SEASON_RATE_NONE] = "cannot run",
                                        [EF_SEASON_RATE_LOT] = "given for the lot",
                                        [EF_SEASON_RATE_SEASON] = "given for the season",
                                        [EF_SEASON_RATE_SIMULATED] = "simulated shifts",
                                        [EF_SEASON_RATE_BALANCE] = "steady balance"};
    return words[source];
}

const char *efi_season_time_word(ef_season_time state)
{
    static const char *const words[] = {
        [EF_SEASON_CLOSED] = "closed",           [EF_SEASON_SHIFT] = "shift",
        [EF_SEASON_OVERTIME_TIME] = "overtime",  [EF_SEASON_BREAK] = "break",
        [EF_SEASON_MAINTENANCE] = "maintenance", [EF_SEASON_DAILY_CLEAN] = "daily cleaning"};
    return words[state];
}

void efi_season_add_moment(efi_text *out, int64_t moment)
{
    if (moment != EF_SEASON_NONE)
        efi_moment_add(out, moment);
}

void efi_season_add_stores(efi_text *out, const ef_season *season, const int *stores, const char *between)
{
    for (int i = 0; i < EF_SEASON_MOST_STORES && stores[i] >= 0; i++) {
        efi_text_add(out, i ? between : "");
        efi_text_add(out, season->stores[stores[i]].name);
    }
}

void efi_season_add_kind(efi_text *out, const ef_season_lot *lot)
{
    const char *const parts[] = {lot->crop, lot->variety, lot->seed_class};
    bool any = false;
    for (size_t i = 0; i < EF_COUNT(parts); i++) {
        if (*parts[i] == '\0')
            continue;
        efi_text_add(out, any ? " " : "");
        efi_text_add(out, parts[i]);
        any = true;
    }
}

bool efi_season_is_cleaned(const ef_season_run *run)
{
    return run->clean_to > run->clean_from;
}

bool efi_season_is_last_cleaned(const ef_season_line *line)
{
    return line->last_clean_to > line->last_clean_from;
}

/* ---- for people -----------------------------------------------------------------------------------------
 */

static const char *weekday(int64_t day)
{
    static const char *const names[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    return names[efi_day_weekday(day)];
}

void efi_season_add_day(efi_text *out, int64_t moment)
{
    const int64_t day = efi_moment_day(moment);
    efi_text_addf(out, "%s ", weekday(day));
    efi_date_add(out, day);
}

void efi_season_add_short_day(efi_text *out, int64_t moment)
{
    const int64_t day = efi_moment_day(moment);
    const efi_civil civil = efi_civil_of(day);
    efi_text_addf(out, "%s %02d-%02d", weekday(day), civil.month, civil.day);
}

/* The time of the day to the minute: seconds are of no use to people. */
static void add_clock(efi_text *out, int64_t moment)
{
    efi_clock_add(out, efi_moment_clock(moment) / 60 * 60);
}

void efi_season_add_when(efi_text *out, int64_t moment)
{
    efi_season_add_day(out, moment);
    efi_text_add(out, " ");
    add_clock(out, moment);
}

void efi_season_add_near(efi_text *out, int64_t moment, int64_t beside)
{
    const int64_t days = efi_moment_day(moment) - efi_moment_day(beside);
    if (days < 0 || days > 6) {
        efi_season_add_when(out, moment);
        return;
    }
    if (days > 0)
        efi_text_addf(out, "%s ", weekday(efi_moment_day(moment)));
    add_clock(out, moment);
}

void efi_season_add_due(efi_text *out, int64_t moment)
{
    if (moment == EF_SEASON_NONE)
        return;
    const bool whole_day = efi_moment_clock(moment) == 0;
    efi_season_add_short_day(out, whole_day ? moment - 1 : moment);
    if (whole_day)
        return;
    efi_text_add(out, " ");
    add_clock(out, moment);
}

double efi_season_trade_weight(const ef_season *season, const char *crop)
{
    for (int l = 0; l < season->lot_count; l++)
        if (strcmp(season->lots[l].crop, crop) == 0)
            return season->lots[l].trade_weight_tpbu;
    return 0.0;
}

void efi_season_add_amount(efi_text *out, const efi_season_view *v, const ef_season_lot *lot, double amount_t)
{
    if (v->units == EF_UNITS_US && lot->trade_weight_tpbu > 0.0) {
        const efi_display bushels = efi_display_choose(EFI_KIND_MASS, v->units, v->largest_t,
                                                       lot->trade_weight_tpbu, NULL);
        efi_display_add(out, &bushels, amount_t);
    } else {
        efi_display_add(out, &v->t, amount_t);
    }
}

void efi_season_add_money(efi_text *out, const efi_season_view *v, double money)
{
    efi_display_add(out, &v->money, money);
}

void efi_season_add_lots(efi_text *out, int count)
{
    efi_text_addf(out, "%d lot%s", count, count == 1 ? "" : "s");
}

void efi_season_add_days(efi_text *out, double days)
{
    if (days < 1.0) {
        efi_display_add_duration(out, days * 24.0);
        return;
    }
    efi_number_add_fixed(out, days, 1);
    efi_text_add(out, " d");
}
