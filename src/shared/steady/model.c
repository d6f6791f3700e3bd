/* SPDX-License-Identifier: GPL-3.0-or-later
 * Builds the linear program of a balance in rates and changes of shares, and puts present shares into it; its
 * mathematics is in steady.h. */
#include "shared/steady/steady.h"

#include <math.h>

/* What stands in the row of a limit or demand, by the feed of a station. */
typedef enum row_kind {
    ROW_TOTAL,  /* t/h */
    ROW_VOLUME, /* m3/h */
    ROW_PURITY, /* wanted material above the least purity, t/h */
} row_kind;

static size_t cells(const efi_steady_model *model)
{
    return (size_t)model->line->station_count * (size_t)model->line->materials;
}

static const double *feed_in(const efi_steady_model *model, const double *feeds, int station)
{
    return feeds + (size_t)station * (size_t)model->line->materials;
}

/* ---- building ---- */

static ef_status add_columns(efi_steady_model *model)
{
    const efi_line *line = model->line;
    for (int i = 0; i < line->intake_count; i++)
        EF_TRY(efi_lp_add_column(model->lp, NULL, efi_lp_at_least(0.0), 0.0, false, &model->rate[i]));
    for (int k = 0; k < line->spout_count; k++) {
        model->change[k] = -1;
        if (line->stations[line->spouts[k].from].split < 0)
            continue;
        model->branches[model->branch_count++] = k;
        EF_TRY(efi_lp_add_column(model->lp, NULL, efi_lp_exactly(0.0), 0.0, false, &model->change[k]));
    }
    return EF_OK;
}

/* Rows still without rates and changes. */
static ef_status add_station_rows(efi_steady_model *model, int s)
{
    const efi_line_station *station = &model->line->stations[s];
    model->capacity_row[s] = model->least_row[s] = model->short_column[s] = model->purity_row[s] = -1;
    if (station->capacity.given)
        EF_TRY(efi_lp_add_row(model->lp, NULL, efi_lp_at_most(station->capacity.value), NULL, 0,
                              &model->capacity_row[s]));
    if (station->least_rate.given && station->least_rate.value > 0.0) {
        EF_TRY(efi_lp_add_column(model->lp, NULL, efi_lp_exactly(0.0), 0.0, false, &model->short_column[s]));
        EF_TRY(efi_lp_add_row(model->lp, NULL, efi_lp_at_least(station->least_rate.value), NULL, 0,
                              &model->least_row[s]));
    }
    if (station->least_purity.given && station->least_purity.value > 0.0)
        EF_TRY(efi_lp_add_row(model->lp, NULL, efi_lp_at_least(0.0), NULL, 0, &model->purity_row[s]));
    return EF_OK;
}

static ef_status add_rows(efi_steady_model *model)
{
    const efi_line *line = model->line;
    for (int s = 0; s < line->station_count; s++)
        EF_TRY(add_station_rows(model, s));
    model->power_row = -1;
    if (line->has_power_limit)
        EF_TRY(efi_lp_add_row(model->lp, NULL, efi_lp_at_most(line->power_limit_kw - line->idle_kw), NULL, 0,
                              &model->power_row));
    for (int i = 0; i < line->split_count; i++) {
        const efi_line_split *split = &line->splits[i];
        for (int k = 0; k < split->count; k++)
            model->entries[k] = (efi_lp_entry){model->change[split->first_spout + k], 1.0};
        EF_TRY(efi_lp_add_row(model->lp, NULL, efi_lp_exactly(0.0), model->entries, split->count, NULL));
    }
    return EF_OK;
}

static ef_status take_memory(efi_steady_model *model, efi_arena *arena)
{
    const efi_line *line = model->line;
    const size_t stations = (size_t)line->station_count;
    const size_t intakes = (size_t)line->intake_count;
    const size_t spouts = (size_t)line->spout_count;
    size_t branches = 0;
    for (int i = 0; i < line->split_count; i++)
        branches += (size_t)line->splits[i].count;
    model->rate = efi_arena_get(arena, intakes, sizeof *model->rate);
    model->change = efi_arena_get(arena, spouts, sizeof *model->change);
    model->capacity_row = efi_arena_get(arena, stations, sizeof *model->capacity_row);
    model->least_row = efi_arena_get(arena, stations, sizeof *model->least_row);
    model->short_column = efi_arena_get(arena, stations, sizeof *model->short_column);
    model->purity_row = efi_arena_get(arena, stations, sizeof *model->purity_row);
    model->rates = efi_arena_get(arena, intakes, sizeof *model->rates);
    model->feeds = efi_arena_get(arena, cells(model), sizeof *model->feeds);
    model->branches = efi_arena_get(arena, branches, sizeof *model->branches);
    model->of_rate = efi_arena_get(arena, intakes * cells(model), sizeof *model->of_rate);
    model->of_change = efi_arena_get(arena, branches * cells(model), sizeof *model->of_change);
    model->sources = efi_arena_get(arena, intakes + branches, sizeof *model->sources);
    model->entries = efi_arena_get(arena, intakes + branches + 1, sizeof *model->entries);
    model->lp = efi_lp_new();
    const bool all = model->rate && model->change && model->capacity_row && model->least_row &&
                     model->short_column && model->purity_row && model->rates && model->feeds &&
                     model->branches && model->of_rate && model->of_change && model->sources &&
                     model->entries && model->lp;
    return all ? EF_OK : EF_MEMORY;
}

ef_status efi_steady_build(efi_steady_model *model, efi_arena *arena, efi_line *line, ef_balance_aim aim)
{
    *model = (efi_steady_model){.line = line, .aim = aim};
    EF_TRY(take_memory(model, arena));
    efi_lp_set_sense(model->lp, EFI_LP_MAXIMISE);
    EF_TRY(add_columns(model));
    EF_TRY(add_rows(model));
    return efi_steady_reshare(model);
}

/* ---- the aim ---- */

double efi_steady_idle_cost(const efi_line *line)
{
    const efi_value energy_price = line->scenario->plant->energy_price;
    return energy_price.given ? energy_price.value * line->idle_kw : 0.0;
}

double efi_steady_worth_of_rate(const efi_line *line, ef_balance_aim aim)
{
    if (aim != EF_BALANCE_VALUE)
        return 1.0;
    return line->of->price.given ? -line->of->price.value : 0.0;
}

double efi_steady_worth_of_feed(const efi_line *line, int station, ef_balance_aim aim)
{
    if (aim != EF_BALANCE_VALUE)
        return 0.0;
    const efi_value energy_price = line->scenario->plant->energy_price;
    const efi_line_station *of = &line->stations[station];
    return of->price - of->energy_kwhpt * (energy_price.given ? energy_price.value : 0.0);
}

double efi_steady_penalty(const efi_line *line)
{
    double most = 0.0;
    for (int s = 0; s < line->station_count; s++)
        most += 1.0 + fabs(line->stations[s].price);
    return 1000.0 * most;
}

/* What feeds add to the aim of themselves. */
static double worth_of_feeds(const efi_steady_model *model, const double *feeds)
{
    double worth = 0.0;
    for (int s = 0; s < model->line->station_count; s++) {
        const double each = efi_steady_worth_of_feed(model->line, s, model->aim);
        worth += each != 0.0 ? each * efi_line_total(model->line, feed_in(model, feeds, s)) : 0.0;
    }
    return worth;
}

/* ---- present shares ---- */

static double wanted_above(const efi_line *line, int station, const double *feed, double least)
{
    const efi_station *outlet = line->stations[station].of;
    double above = 0.0;
    for (int m = 0; m < line->materials; m++)
        above += ((efi_station_wants(line->scenario, outlet, m) ? 1.0 : 0.0) - least) * feed[m];
    return above;
}

static double in_row(const efi_steady_model *model, row_kind kind, int station, double least,
                     const double *feeds)
{
    const double *feed = feed_in(model, feeds, station);
    switch (kind) {
    case ROW_TOTAL:
        return efi_line_total(model->line, feed);
    case ROW_VOLUME:
        return efi_line_volume(model->line, feed);
    case ROW_PURITY:
        return wanted_above(model->line, station, feed, least);
    }
    EF_NEVER(kind);
    return 0.0;
}

/* Sets a row by what each column adds to it, which the caller has put into the entries. */
static ef_status set_row(const efi_steady_model *model, int row, int columns, int short_column)
{
    int count = columns;
    if (short_column >= 0)
        model->entries[count++] = (efi_lp_entry){short_column, 1.0};
    return efi_lp_set_row(model->lp, row, model->entries, count);
}

/* The number of columns that count: rates, and changes where they are loose. */
static int columns_of(const efi_steady_model *model, bool loose)
{
    return model->line->intake_count + (loose ? model->branch_count : 0);
}

/* The feeds that one unit of a column causes; its number in the program in `column`. */
static const double *feeds_of(const efi_steady_model *model, int number, int *column)
{
    const int intakes = model->line->intake_count;
    if (number < intakes) {
        *column = model->rate[number];
        return model->of_rate + (size_t)number * cells(model);
    }
    *column = model->change[model->branches[number - intakes]];
    return model->of_change + (size_t)(number - intakes) * cells(model);
}

static ef_status set_station_row(const efi_steady_model *model, int row, row_kind kind, int station,
                                 double least, bool loose)
{
    const int columns = columns_of(model, loose);
    for (int n = 0; n < columns; n++) {
        const double *feeds = feeds_of(model, n, &model->entries[n].column);
        model->entries[n].value = in_row(model, kind, station, least, feeds);
    }
    return set_row(model, row, columns,
                   kind == ROW_TOTAL && row == model->least_row[station] ? model->short_column[station] : -1);
}

static ef_status set_power_row(const efi_steady_model *model, bool loose)
{
    const int columns = columns_of(model, loose);
    for (int n = 0; n < columns; n++) {
        const double *feeds = feeds_of(model, n, &model->entries[n].column);
        model->entries[n].value = efi_line_power(model->line, feeds) - model->line->idle_kw;
    }
    return set_row(model, model->power_row, columns, -1);
}

static ef_status set_aim(const efi_steady_model *model, bool loose)
{
    const double of_rate = efi_steady_worth_of_rate(model->line, model->aim);
    for (int n = 0; n < columns_of(model, loose); n++) {
        int column;
        const double *feeds = feeds_of(model, n, &column);
        const double own = n < model->line->intake_count ? of_rate : 0.0;
        EF_TRY(efi_lp_set_objective(model->lp, column, own + worth_of_feeds(model, feeds)));
    }
    return EF_OK;
}

/* Fills in all rows and the aim. A demand is asked for in full, or with what may be missing of it: nothing
 * where shares are proposed, a little where they are judged, so that proposed shares do not fall through by
 * rounding (the row of a purity is homogeneous: missed by a hair it allows no rate). */
static ef_status fill(const efi_steady_model *model, bool loose, bool in_full)
{
    const efi_line *line = model->line;
    const double purity_slack = in_full ? 0.0 : EFI_STEADY_PURITY_SLACK;
    const double rate_slack = in_full ? 0.0 : EFI_STEADY_RATE_SLACK;
    for (int s = 0; s < line->station_count; s++) {
        const efi_line_station *station = &line->stations[s];
        const bool by_volume = station->capacity.of == EFI_KIND_VOLUME_RATE;
        if (model->capacity_row[s] >= 0)
            EF_TRY(set_station_row(model, model->capacity_row[s], by_volume ? ROW_VOLUME : ROW_TOTAL, s, 0.0,
                                   loose));
        if (model->purity_row[s] >= 0)
            EF_TRY(set_station_row(model, model->purity_row[s], ROW_PURITY, s,
                                   station->least_purity.value - purity_slack, loose));
        if (model->least_row[s] < 0)
            continue;
        EF_TRY(set_station_row(model, model->least_row[s], ROW_TOTAL, s, 0.0, loose));
        if (line->split_count > 0)
            EF_TRY(efi_lp_set_row_bounds(model->lp, model->least_row[s],
                                         efi_lp_at_least(station->least_rate.value * (1.0 - rate_slack))));
    }
    if (model->power_row >= 0)
        EF_TRY(set_power_row(model, loose));
    return set_aim(model, loose);
}

ef_status efi_steady_reshare(efi_steady_model *model)
{
    const efi_line *line = model->line;
    for (int i = 0; i < line->intake_count; i++)
        model->sources[i] = (efi_line_source){line->intakes[i], line->receipt};
    EF_TRY(efi_line_responses(line, model->sources, line->intake_count, model->of_rate));
    for (int b = 0; b < model->branch_count; b++)
        EF_TRY(efi_lp_set_column_bounds(model->lp, model->change[model->branches[b]], efi_lp_exactly(0.0)));
    return fill(model, false, false);
}

ef_status efi_steady_loosen(efi_steady_model *model, double trust, bool in_full)
{
    const efi_line *line = model->line;
    for (int b = 0; b < model->branch_count; b++) {
        const int k = model->branches[b];
        const efi_line_spout *spout = &line->spouts[k];
        const double share = efi_line_branch(line, k);
        const double down = fmin(trust, share - efi_line_branch_least(line, k));
        const double up = fmin(trust, efi_line_branch_most(line, k) - share);
        model->sources[b] = (efi_line_source){spout->to, feed_in(model, model->feeds, spout->from)};
        EF_TRY(efi_lp_set_column_bounds(model->lp, model->change[k],
                                        efi_lp_between(-fmax(down, 0.0), fmax(up, 0.0))));
    }
    EF_TRY(efi_line_responses(line, model->sources, model->branch_count, model->of_change));
    return fill(model, true, in_full);
}

ef_status efi_steady_aim(efi_steady_model *model, int outlet)
{
    for (int n = 0; n < columns_of(model, true); n++) {
        int column;
        const double *feeds = feeds_of(model, n, &column);
        EF_TRY(efi_lp_set_objective(model->lp, column, in_row(model, ROW_TOTAL, outlet, 0.0, feeds)));
    }
    return EF_OK;
}

ef_status efi_steady_elastic(efi_steady_model *model, bool elastic)
{
    const double penalty = efi_steady_penalty(model->line);
    for (int s = 0; s < model->line->station_count; s++) {
        if (model->least_row[s] < 0)
            continue;
        EF_TRY(efi_lp_set_column_bounds(model->lp, model->short_column[s],
                                        elastic ? efi_lp_at_least(0.0) : efi_lp_exactly(0.0)));
        EF_TRY(efi_lp_set_objective(model->lp, model->short_column[s], elastic ? -penalty : 0.0));
    }
    return EF_OK;
}
