/* SPDX-License-Identifier: GPL-3.0-or-later
 * Builds the linear program of a balance; its mathematics is in balance.h. */
#include "answers/balance/balance.h"
#include "base/text.h"

/* An error of the solver up to this is rounding, on the scale of EFI_LP_PRIMAL_TOLERANCE. */
#define ROUNDING 1e-12

static size_t cell(const efi_balance_lp *model, int station, int material)
{
    return (size_t)station * (size_t)model->line->materials + (size_t)material;
}

static const char *name_of(const efi_balance_lp *model, int station)
{
    return model->line->stations[station].of->name;
}

static ef_status add_columns(efi_balance_lp *model, efi_text *name)
{
    const efi_line *line = model->line;
    for (int i = 0; i < line->intake_count; i++) {
        name->length = 0;
        efi_text_addf(name, "rate of %s", name_of(model, line->intakes[i]));
        EF_TRY(efi_lp_add_column(model->lp, efi_text_get(name), efi_lp_at_least(0.0), 1.0, false,
                                 &model->rate[i]));
    }
    for (int s = 0; s < line->station_count; s++) {
        for (int m = 0; m < line->materials; m++) {
            model->feed[cell(model, s, m)] = -1;
            if (!(line->receipt[m] > 0.0))
                continue;
            name->length = 0;
            efi_text_addf(name, "%s into %s", line->scenario->materials[m].name, name_of(model, s));
            EF_TRY(efi_lp_add_column(model->lp, efi_text_get(name), efi_lp_at_least(0.0), 0.0, false,
                                     &model->feed[cell(model, s, m)]));
        }
    }
    return EF_OK;
}

/* Entries of the flow row of a station and material; returns how many. */
static int flow_entries(const efi_balance_lp *model, const int *into, int count, int s, int m,
                        efi_lp_entry *entries)
{
    const efi_line *line = model->line;
    int n = 0;
    entries[n++] = (efi_lp_entry){model->feed[cell(model, s, m)], 1.0};
    for (int i = 0; i < count; i++) {
        const efi_line_spout *spout = &line->spouts[into[i]];
        if (spout->share[m] > 0.0)
            entries[n++] = (efi_lp_entry){model->feed[cell(model, spout->from, m)], -spout->share[m]};
    }
    for (int i = 0; i < line->intake_count; i++)
        if (line->intakes[i] == s)
            entries[n++] = (efi_lp_entry){model->rate[i], -line->receipt[m]};
    return n;
}

/* Spouts ordered by the station they lead to: into[first[s]] .. into[first[s+1] - 1]. */
static void sort_by_target(const efi_line *line, int *first, int *into)
{
    for (int k = 0; k < line->spout_count; k++)
        first[line->spouts[k].to + 2]++;
    for (int s = 2; s < line->station_count + 2; s++)
        first[s] += first[s - 1];
    for (int k = 0; k < line->spout_count; k++)
        into[first[line->spouts[k].to + 1]++] = k;
}

static ef_status add_flow_rows(efi_balance_lp *model, efi_arena *arena, efi_text *name)
{
    const efi_line *line = model->line;
    int *first = efi_arena_get(arena, (size_t)line->station_count + 2, sizeof *first);
    int *into = efi_arena_get(arena, (size_t)line->spout_count, sizeof *into);
    efi_lp_entry *entries = efi_arena_get(arena, (size_t)line->spout_count + (size_t)line->intake_count + 1,
                                          sizeof *entries);
    if (!first || !into || !entries)
        return EF_MEMORY;
    sort_by_target(line, first, into);
    for (int s = 0; s < line->station_count; s++) {
        for (int m = 0; m < line->materials; m++) {
            if (model->feed[cell(model, s, m)] < 0)
                continue;
            const int n = flow_entries(model, into + first[s], first[s + 1] - first[s], s, m, entries);
            name->length = 0;
            efi_text_addf(name, "flow of %s into %s", line->scenario->materials[m].name, name_of(model, s));
            EF_TRY(efi_lp_add_row(model->lp, efi_text_get(name), efi_lp_exactly(0.0), entries, n, NULL));
        }
    }
    return EF_OK;
}

/* Entries that add up the feed of a station, by weight or by volume. */
static int feed_entries(const efi_balance_lp *model, int s, bool by_volume, efi_lp_entry *entries)
{
    const efi_line *line = model->line;
    int n = 0;
    for (int m = 0; m < line->materials; m++) {
        const int column = model->feed[cell(model, s, m)];
        if (column >= 0)
            entries[n++] = (efi_lp_entry){column, by_volume ? line->m3_per_t[m] : 1.0};
    }
    return n;
}

static ef_status add_limit_rows(efi_balance_lp *model, efi_arena *arena, efi_text *name)
{
    const efi_line *line = model->line;
    efi_lp_entry *entries = efi_arena_get(arena, (size_t)line->materials, sizeof *entries);
    if (!entries)
        return EF_MEMORY;
    for (int s = 0; s < line->station_count; s++) {
        const efi_line_station *station = &line->stations[s];
        model->capacity_row[s] = model->least_row[s] = -1;
        if (station->capacity.given) {
            const int n = feed_entries(model, s, station->capacity.of == EFI_KIND_VOLUME_RATE, entries);
            name->length = 0;
            efi_text_addf(name, "capacity of %s", name_of(model, s));
            EF_TRY(efi_lp_add_row(model->lp, efi_text_get(name), efi_lp_at_most(station->capacity.value),
                                  entries, n, &model->capacity_row[s]));
        }
        if (station->least_rate.given && station->least_rate.value > 0.0) {
            const int n = feed_entries(model, s, false, entries);
            name->length = 0;
            efi_text_addf(name, "least rate of %s", name_of(model, s));
            EF_TRY(efi_lp_add_row(model->lp, efi_text_get(name), efi_lp_at_least(station->least_rate.value),
                                  entries, n, &model->least_row[s]));
        }
    }
    return EF_OK;
}

ef_status efi_balance_lp_build(efi_balance_lp *model, efi_arena *arena, const efi_line *line)
{
    *model = (efi_balance_lp){.line = line};
    const size_t stations = (size_t)line->station_count;
    model->rate = efi_arena_get(arena, (size_t)line->intake_count, sizeof *model->rate);
    model->feed = efi_arena_get(arena, stations * (size_t)line->materials, sizeof *model->feed);
    model->capacity_row = efi_arena_get(arena, stations, sizeof *model->capacity_row);
    model->least_row = efi_arena_get(arena, stations, sizeof *model->least_row);
    model->lp = efi_lp_new();
    if (!model->rate || !model->feed || !model->capacity_row || !model->least_row || !model->lp)
        return EF_MEMORY;
    efi_lp_set_sense(model->lp, EFI_LP_MAXIMISE);
    efi_text name = {0};
    ef_status status = add_columns(model, &name);
    if (status == EF_OK)
        status = add_flow_rows(model, arena, &name);
    if (status == EF_OK)
        status = add_limit_rows(model, arena, &name);
    if (name.failed)
        status = EF_MEMORY;
    efi_text_free(&name);
    return status;
}

ef_status efi_balance_lp_solve(efi_balance_lp *model, efi_lp_result *result)
{
    EF_TRY(efi_lp_solve(model->lp, NULL, result));
    if (result->outcome != EFI_LP_OPTIMAL || result->primal_error <= ROUNDING)
        return EF_OK;
    return efi_lp_solve(model->lp, NULL, result);
}

ef_status efi_balance_lp_aim(efi_balance_lp *model, int outlet)
{
    const efi_line *line = model->line;
    for (int column = 0; column < efi_lp_columns(model->lp); column++)
        EF_TRY(efi_lp_set_objective(model->lp, column, 0.0));
    for (int i = 0; outlet < 0 && i < line->intake_count; i++)
        EF_TRY(efi_lp_set_objective(model->lp, model->rate[i], 1.0));
    for (int m = 0; outlet >= 0 && m < line->materials; m++)
        if (model->feed[cell(model, outlet, m)] >= 0)
            EF_TRY(efi_lp_set_objective(model->lp, model->feed[cell(model, outlet, m)], 1.0));
    return EF_OK;
}

void efi_balance_lp_rates(const efi_balance_lp *model, double *rate_tph)
{
    const double *values = efi_lp_values(model->lp);
    for (int i = 0; i < model->line->intake_count; i++)
        rate_tph[i] = values[model->rate[i]] > 0.0 ? values[model->rate[i]] : 0.0;
}
