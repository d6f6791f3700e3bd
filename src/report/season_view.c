/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season for people and files: names, moments, amounts. */
#include "report/season_view.h"
#include "base/number.h"
#include "base/tongue.h"
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
    static const char *const words[] = {[EF_SEASON_RATE_NONE] = EFI_TR("cannot run"),
                                        [EF_SEASON_RATE_LOT] = EFI_TR("given for the lot"),
                                        [EF_SEASON_RATE_SEASON] = EFI_TR("given for the season"),
                                        [EF_SEASON_RATE_SIMULATED] = EFI_TR("simulated shifts"),
                                        [EF_SEASON_RATE_BALANCE] = EFI_TR("steady balance")};
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

const char *efi_season_state_said(ef_season_state state)
{
    switch (state) {
    case EF_SEASON_WAITING:
        return efi_tr_in("lot", "waiting");
    case EF_SEASON_FROZEN:
        return efi_tr_in("lot", "frozen");
    case EF_SEASON_RUNNING:
        return efi_tr_in("lot", "running");
    case EF_SEASON_DONE:
        return efi_tr_in("lot", "done");
    }
    return "";
}

const char *efi_season_line_said(const ef_season *season, int line)
{
    const char *name = season->lines[line].name;
    return season->line_count == 1 && strcmp(name, "line") == 0 ? efi_tr("line") : name;
}

const char *efi_season_cleaning_caution(void)
{
    return efi_tr(
        "Isolate and lock out first. Entering a bin or leg is confined-space entry: permit, air test "
        "and watch by local rules.");
}

efi_piece efi_season_short_day(int64_t moment)
{
    const int64_t day = efi_moment_day(moment);
    const efi_civil civil = efi_civil_of(day);
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    /* weekday, month, day */
    efi_text_addf(&text, efi_tr_in("date", "%s %02d-%02d"), efi_piece_weekday_brief(efi_day_weekday(day)),
                  civil.month, civil.day);
    return piece;
}

efi_piece efi_season_near(int64_t moment, int64_t beside)
{
    const int64_t days = efi_moment_day(moment) - efi_moment_day(beside);
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    if (days < 0 || days > 6)
        return efi_piece_when(moment);
    if (days > 0)
        efi_text_addf(&text, "%s ", efi_piece_weekday_brief(efi_day_weekday(efi_moment_day(moment))));
    efi_text_add(&text, efi_piece_clock(efi_moment_clock(moment)).words);
    return piece;
}

efi_piece efi_season_due(int64_t moment)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    if (moment == EF_SEASON_NONE)
        return piece;
    const bool whole_day = efi_moment_clock(moment) == 0;
    efi_text_add(&text, efi_season_short_day(whole_day ? moment - 1 : moment).words);
    if (!whole_day)
        efi_text_addf(&text, " %s", efi_piece_clock(efi_moment_clock(moment)).words);
    return piece;
}

double efi_season_trade_weight(const ef_season *season, const char *crop)
{
    for (int l = 0; l < season->lot_count; l++)
        if (strcmp(season->lots[l].crop, crop) == 0)
            return season->lots[l].trade_weight_tpbu;
    return 0.0;
}

efi_piece efi_season_amount(const efi_season_view *v, const ef_season_lot *lot, double amount_t)
{
    if (v->units != EF_UNITS_US || !(lot->trade_weight_tpbu > 0.0))
        return efi_piece_quantity(&v->t, amount_t);
    const efi_display bushels = efi_display_choose(EFI_KIND_MASS, v->units, v->largest_t,
                                                   lot->trade_weight_tpbu, NULL);
    return efi_piece_quantity(&bushels, amount_t);
}

efi_piece efi_season_mass(const efi_season_view *v, double amount_t)
{
    return efi_piece_alone(EFI_KIND_MASS, v->units, amount_t, 0.0, NULL);
}

efi_piece efi_season_sum(const efi_season_view *v, double money)
{
    return efi_piece_quantity(&v->money, money);
}

efi_piece efi_season_days(double days)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    if (days < 1.0)
        return efi_piece_duration(days * 24.0);
    efi_number_say_fixed(&text, days, 1);
    efi_text_add(&text, " d");
    return piece;
}
