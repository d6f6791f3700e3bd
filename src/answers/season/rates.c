/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/season/rates.h"

#include "shared/line/line.h"

#include <evenfeed/balance.h>
#include <evenfeed/shift.h>
#include <math.h>
#include <string.h>

enum {
    USUAL_RUNS = 400
};

/* ---- who passes what ------------------------------------------------------------------------------------
 */

/* The line of a station by its name; -1: shared, or no such station. */
static int line_of(const ef_scenario *scenario, const char *station)
{
    const int found = efi_index_find(&scenario->station_index, station, strlen(station));
    return found >= 0 ? scenario->stations[found].line : -1;
}

static ef_status find_passed(const ef_scenario *scenario, int crop, efi_crop_rate *rate, int lines)
{
    efi_arena *arena = efi_arena_new();
    efi_line line;
    const ef_status status = arena ? efi_line_build(&line, arena, scenario, crop) : EF_MEMORY;
    for (int s = 0; status == EF_OK && s < line.station_count; s++) {
        const efi_station *station = line.stations[s].of;
        if (scenario->line_count == 0)
            rate->passes[0] = true;
        else if (station->line >= 0 && station->line < lines)
            rate->passes[station->line] = true;
    }
    efi_arena_free(arena);
    return status;
}

/* ---- the steady balance ---------------------------------------------------------------------------------
 */

static void share_out(const ef_scenario *scenario, const ef_balance_crop *balance, efi_crop_rate *rate,
                      int lines)
{
    double sum = 0.0;
    if (scenario->line_count == 0) {
        rate->line_share[0] = 1.0;
        return;
    }
    for (int s = 0; s < balance->station_count; s++) {
        const ef_balance_station *station = &balance->stations[s];
        const int mine = line_of(scenario, station->name);
        if (mine >= 0 && strcmp(station->kind, efi_station_word(EFI_STATION_INTAKE)) == 0)
            rate->line_share[mine] += station->feed.total_tph;
    }
    for (int s = 0; s < balance->spout_count; s++) {
        const ef_balance_spout *spout = &balance->spouts[s];
        const int to = line_of(scenario, spout->to);
        if (to >= 0 && !spout->closes_loop && line_of(scenario, spout->from) != to)
            rate->line_share[to] += spout->flow.total_tph;
    }
    for (int line = 0; line < lines; line++)
        sum += rate->line_share[line];
    for (int line = 0; line < lines && sum > 0.0; line++)
        rate->line_share[line] /= sum;
}

/* How each station is loaded. */
static void keep_loads(const ef_scenario *scenario, const ef_balance_crop *balance, efi_crop_rate *rate)
{
    rate->balance_tph = balance->intake.total_tph;
    for (int s = 0; s < balance->station_count; s++) {
        const ef_balance_station *station = &balance->stations[s];
        const int mine = efi_index_find(&scenario->station_index, station->name, strlen(station->name));
        if (mine < 0)
            continue;
        rate->load[mine] = station->has_capacity ? station->load : 0.0;
        rate->m3ph[mine] = station->has_density ? station->feed_m3ph : 0.0;
    }
}

static ef_status find_balance(const ef_scenario *scenario, int crop, efi_crop_rate *rate, int lines)
{
    ef_balance_settings settings = ef_balance_defaults();
    ef_balance *balance = NULL;
    settings.crop = crop;
    const ef_status status = ef_balance_solve(scenario, &settings, &balance);
    if (status != EF_OK)
        rate->product_share = 1.0;
    if (status == EF_NO_ANSWER)
        ef_balance_free(balance);
    if (status != EF_OK)
        return status == EF_NO_ANSWER ? EF_OK : status;
    const ef_balance_crop *found = &balance->crops[0];
    rate->product_share = found->yield;
    if (found->intake.total_tph > 0.0) {
        rate->plant_tph = found->intake.total_tph;
        rate->source = EF_SEASON_RATE_BALANCE;
        share_out(scenario, found, rate, lines);
        keep_loads(scenario, found, rate);
    }
    ef_balance_free(balance);
    return EF_OK;
}

/* ---- simulated shifts -----------------------------------------------------------------------------------
 */

static ef_status keep_factors(const ef_shift *shift, efi_crop_rate *rate, efi_arena *arena)
{
    const int count = shift->runs * shift->period_count;
    double sum_t = 0.0;
    double squares = 0.0;
    rate->factor = efi_arena_get(arena, (size_t)count, sizeof *rate->factor);
    if (!rate->factor)
        return EF_MEMORY;
    for (int i = 0; i < count; i++)
        sum_t += shift->intake_t[i];
    if (!(sum_t > 0.0))
        return EF_OK;
    for (int i = 0; i < count; i++) {
        rate->factor[i] = shift->intake_t[i] * count / sum_t;
        squares += (rate->factor[i] - 1.0) * (rate->factor[i] - 1.0);
    }
    rate->factors = count;
    rate->shift_h = shift->groups[0].work_h;
    rate->spread = sqrt(squares / count);
    return EF_OK;
}

static ef_status simulate(const ef_scenario *scenario, int crop, const ef_season_settings *settings,
                          efi_crop_rate *rate, efi_arena *arena)
{
    ef_shift_settings shifts = ef_shift_defaults();
    ef_shift *shift = NULL;
    char *reason = NULL;
    shifts.crop = crop;
    shifts.runs = settings->rate_runs > 0 ? settings->rate_runs : USUAL_RUNS;
    shifts.seed = settings->seed;
    shifts.threads = settings->threads;
    shifts.remedies = false;
    shifts.without_calendar = true;
    ef_status status = ef_shift_run(scenario, &shifts, &shift, &reason);
    efi_free(reason);
    if (status ==
        EF_NO_ANSWER) /* as it is described the line cannot be run through time: the balance stays */
        return EF_OK;
    if (status != EF_OK)
        return status;
    if (shift->planning_rate_tph > 0.0) {
        rate->plant_tph = shift->planning_rate_tph;
        rate->source = EF_SEASON_RATE_SIMULATED;
        status = keep_factors(shift, rate, arena);
    }
    ef_shift_free(shift);
    return status;
}

/* ---- all together ---------------------------------------------------------------------------------------
 */

static ef_status build_crop(efi_season_rates *rates, efi_arena *arena, int crop,
                            const ef_season_settings *settings)
{
    efi_crop_rate *rate = &rates->crop[crop];
    const size_t lines = (size_t)rates->lines;
    rate->line_share = efi_arena_get(arena, lines, sizeof *rate->line_share);
    rate->passes = efi_arena_get(arena, lines, sizeof *rate->passes);
    rate->load = efi_arena_get(arena, (size_t)rates->scenario->station_count, sizeof *rate->load);
    rate->m3ph = efi_arena_get(arena, (size_t)rates->scenario->station_count, sizeof *rate->m3ph);
    if (!rate->line_share || !rate->passes || !rate->load || !rate->m3ph)
        return EF_MEMORY;
    EF_TRY(find_passed(rates->scenario, crop, rate, rates->lines));
    EF_TRY(find_balance(rates->scenario, crop, rate, rates->lines));
    return rate->source == EF_SEASON_RATE_BALANCE ? simulate(rates->scenario, crop, settings, rate, arena)
                                                  : EF_OK;
}

ef_status efi_season_rates_build(efi_season_rates *rates, efi_arena *arena, const ef_scenario *scenario,
                                 const ef_season_settings *settings, int crop)
{
    *rates = (efi_season_rates){.scenario = scenario, .lines = efi_season_lines(scenario)};
    rates->crop = efi_arena_get(arena, (size_t)scenario->crop_count, sizeof *rates->crop);
    if (!rates->crop)
        return EF_MEMORY;
    for (int l = 0; l < scenario->lot_count; l++)
        if (scenario->lots[l].crop >= 0)
            rates->crop[scenario->lots[l].crop].is_wanted = true;
    if (crop >= 0)
        rates->crop[crop].is_wanted = true;
    for (int c = 0; c < scenario->crop_count; c++)
        if (rates->crop[c].is_wanted)
            EF_TRY(build_crop(rates, arena, c, settings));
    return EF_OK;
}

double efi_season_crop_rate(const efi_season_rates *rates, int crop, int line, ef_season_rate_source *source)
{
    const efi_crop_rate *rate = &rates->crop[crop];
    const efi_value *given = rates->scenario->season->rate_tph;
    *source = EF_SEASON_RATE_NONE;
    if (!rate->passes || !rate->passes[line])
        return 0.0;
    if (given && given[crop].given && given[crop].value > 0.0) {
        *source = EF_SEASON_RATE_SEASON;
        return given[crop].value;
    }
    const double rate_tph = rate->plant_tph * rate->line_share[line];
    *source = rate_tph > 0.0 ? rate->source : EF_SEASON_RATE_NONE;
    return rate_tph;
}

static bool is_listed(const efi_line_list *lines, int line)
{
    for (int i = 0; i < lines->count; i++)
        if (lines->items[i] == line)
            return true;
    return lines->count == 0;
}

double efi_season_rate(const efi_season_rates *rates, const efi_scenario_lot *lot, int line,
                       ef_season_rate_source *source)
{
    *source = EF_SEASON_RATE_NONE;
    if (lot->crop < 0 || !is_listed(&lot->lines, line))
        return 0.0;
    const double rate_tph = efi_season_crop_rate(rates, lot->crop, line, source);
    const efi_crop_rate *rate = &rates->crop[lot->crop];
    if (!rate->passes[line] || !lot->rate_tph.given)
        return rate_tph;
    *source = EF_SEASON_RATE_LOT;
    return lot->rate_tph.value;
}
