/* SPDX-License-Identifier: GPL-3.0-or-later
 * Builds the linear program of a balance; its mathematics is in steady.h. */
#include "shared/steady/steady.h"
#include "base/text.h"

/* What the builder works with; scratch arrays live in the arena. */
typedef struct builder {
    efi_steady_model *model;
    efi_arena *arena;
    efi_text name;
    int *first;            /* shape [station + 2] */
    int *into;             /* shape [spout]: spouts ordered by target */
    efi_lp_entry *entries; /* shape [spout + intake + materials x station + 1] */
    int *carried;          /* shape [spout][material]: column of f in the relaxation */
} builder;

static size_t cell(const efi_steady_model *model, int station, int material)
{
    return (size_t)station * (size_t)model->line->materials + (size_t)material;
}

static bool present(const efi_steady_model *model, int material)
{
    return model->line->receipt[material] > 0.0;
}

static bool is_branch(const efi_line *line, int spout)
{
    return line->stations[line->spouts[spout].from].split >= 0;
}

static const char *station_name(const efi_steady_model *model, int station)
{
    return model->line->stations[station].of->name;
}

static ef_status add_column(builder *b, const char *what, const char *of, const char *where,
                            efi_lp_bounds bounds, int *column)
{
    b->name.length = 0;
    efi_text_addf(&b->name, "%s %s %s", what, of, where);
    return efi_lp_add_column(b->model->lp, efi_text_get(&b->name), bounds, 0.0, false, column);
}

static ef_status add_row(builder *b, const char *what, const char *of, efi_lp_bounds bounds, int count,
                         int *row)
{
    b->name.length = 0;
    efi_text_addf(&b->name, "%s %s", what, of);
    return efi_lp_add_row(b->model->lp, efi_text_get(&b->name), bounds, b->entries, count, row);
}

static ef_status add_columns(builder *b)
{
    efi_steady_model *model = b->model;
    const efi_line *line = model->line;
    for (int i = 0; i < line->intake_count; i++)
        EF_TRY(add_column(b, "rate", "of", station_name(model, line->intakes[i]), efi_lp_at_least(0.0),
                          &model->rate[i]));
    for (int s = 0; s < line->station_count; s++) {
        for (int m = 0; m < line->materials; m++) {
            model->feed[cell(model, s, m)] = -1;
            if (present(model, m))
                EF_TRY(add_column(b, line->scenario->materials[m].name, "into", station_name(model, s),
                                  efi_lp_at_least(0.0), &model->feed[cell(model, s, m)]));
        }
    }
    for (int k = 0; k < line->spout_count; k++) {
        model->change[k] = -1;
        if (!is_branch(line, k))
            continue;
        const char *name = line->spouts[k].discharge->name;
        const char *from = station_name(model, line->spouts[k].from);
        if (model->form == EFI_STEADY_EXACT)
            EF_TRY(add_column(b, name, "change at", from, efi_lp_exactly(0.0), &model->change[k]));
        for (int m = 0; model->form == EFI_STEADY_RELAXED && m < line->materials; m++)
            if (present(model, m))
                EF_TRY(add_column(b, line->scenario->materials[m].name, name, from, efi_lp_at_least(0.0),
                                  &b->carried[(size_t)k * (size_t)line->materials + (size_t)m]));
    }
    return EF_OK;
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

/* Entries of the flow row of a station and material; returns how many. */
static int flow_entries(const builder *b, int s, int m)
{
    const efi_steady_model *model = b->model;
    const efi_line *line = model->line;
    int n = 0;
    b->entries[n++] = (efi_lp_entry){model->feed[cell(model, s, m)], 1.0};
    for (int i = b->first[s]; i < b->first[s + 1]; i++) {
        const int k = b->into[i];
        const efi_line_spout *spout = &line->spouts[k];
        if (model->form == EFI_STEADY_RELAXED && is_branch(line, k))
            b->entries[n++] = (efi_lp_entry){b->carried[(size_t)k * (size_t)line->materials + (size_t)m],
                                             -1.0};
        else if (spout->share[m] > 0.0)
            b->entries[n++] = (efi_lp_entry){model->feed[cell(model, spout->from, m)], -spout->share[m]};
    }
    for (int i = 0; i < line->intake_count; i++)
        if (line->intakes[i] == s)
            b->entries[n++] = (efi_lp_entry){model->rate[i], -line->receipt[m]};
    return n;
}

static ef_status add_flow_rows(builder *b)
{
    efi_steady_model *model = b->model;
    const efi_line *line = model->line;
    sort_by_target(line, b->first, b->into);
    for (int s = 0; s < line->station_count; s++) {
        for (int m = 0; m < line->materials; m++) {
            model->flow_row[cell(model, s, m)] = -1;
            if (!present(model, m))
                continue;
            const int n = flow_entries(b, s, m);
            b->name.length = 0;
            efi_text_addf(&b->name, "flow of %s into %s", line->scenario->materials[m].name,
                          station_name(model, s));
            EF_TRY(efi_lp_add_row(model->lp, efi_text_get(&b->name), efi_lp_exactly(0.0), b->entries, n,
                                  &model->flow_row[cell(model, s, m)]));
        }
    }
    return EF_OK;
}

/* Entries that add up the feed of a station with a factor for each material (NULL: 1) and a common one. */
static int feed_entries(const builder *b, int s, const double *of_material, double factor, int from)
{
    const efi_steady_model *model = b->model;
    int n = from;
    for (int m = 0; m < model->line->materials; m++) {
        const int column = model->feed[cell(model, s, m)];
        if (column >= 0)
            b->entries[n++] = (efi_lp_entry){column, factor * (of_material ? of_material[m] : 1.0)};
    }
    return n;
}

static int purity_entries(const builder *b, int s, double least)
{
    const efi_steady_model *model = b->model;
    int n = 0;
    for (int m = 0; m < model->line->materials; m++) {
        const int column = model->feed[cell(model, s, m)];
        const double wanted = model->line->scenario->materials[m].wanted ? 1.0 : 0.0;
        if (column >= 0)
            b->entries[n++] = (efi_lp_entry){column, wanted - least};
    }
    return n;
}

static ef_status add_station_rows(builder *b, int s)
{
    efi_steady_model *model = b->model;
    const efi_line *line = model->line;
    const efi_line_station *station = &line->stations[s];
    model->capacity_row[s] = model->least_row[s] = model->short_column[s] = model->purity_row[s] = -1;
    if (station->capacity.given) {
        const bool by_volume = station->capacity.of == EFI_KIND_VOLUME_RATE;
        const int n = feed_entries(b, s, by_volume ? line->m3_per_t : NULL, 1.0, 0);
        EF_TRY(add_row(b, "capacity of", station->of->name, efi_lp_at_most(station->capacity.value), n,
                       &model->capacity_row[s]));
    }
    if (station->least_rate.given && station->least_rate.value > 0.0) {
        int n = feed_entries(b, s, NULL, 1.0, 0);
        EF_TRY(add_column(b, "shortfall", "of", station->of->name, efi_lp_exactly(0.0),
                          &model->short_column[s]));
        b->entries[n++] = (efi_lp_entry){model->short_column[s], 1.0};
        EF_TRY(add_row(b, "least rate of", station->of->name, efi_lp_at_least(station->least_rate.value), n,
                       &model->least_row[s]));
    }
    if (station->least_purity.given && station->least_purity.value > 0.0) {
        const int n = purity_entries(b, s, station->least_purity.value - EFI_STEADY_PURITY_SLACK);
        EF_TRY(
            add_row(b, "least purity of", station->of->name, efi_lp_at_least(0.0), n, &model->purity_row[s]));
    }
    return EF_OK;
}

static ef_status add_power_row(builder *b)
{
    efi_steady_model *model = b->model;
    const efi_line *line = model->line;
    model->power_row = -1;
    if (!line->has_power_limit)
        return EF_OK;
    int n = 0;
    for (int s = 0; s < line->station_count; s++)
        if (line->stations[s].energy_kwhpt > 0.0)
            n = feed_entries(b, s, NULL, line->stations[s].energy_kwhpt, n);
    return add_row(b, "power", "of all", efi_lp_at_most(line->power_limit_kw - line->idle_kw), n,
                   &model->power_row);
}

/* Changes of one split add up to nothing; in the relaxation its branches carry all that comes in, within
 * their shares. */
static ef_status add_split_rows(builder *b, const efi_line_split *split)
{
    efi_steady_model *model = b->model;
    const efi_line *line = model->line;
    const char *name = station_name(model, split->station);
    const size_t materials = (size_t)line->materials;
    if (model->form == EFI_STEADY_EXACT) {
        for (int k = 0; k < split->count; k++)
            b->entries[k] = (efi_lp_entry){model->change[split->first_spout + k], 1.0};
        return add_row(b, "shares of", name, efi_lp_exactly(0.0), split->count, NULL);
    }
    for (int m = 0; m < line->materials; m++) {
        if (!present(model, m))
            continue;
        b->entries[0] = (efi_lp_entry){model->feed[cell(model, split->station, m)], -1.0};
        for (int k = 0; k < split->count; k++)
            b->entries[k + 1] = (efi_lp_entry){
                b->carried[(size_t)(split->first_spout + k) * materials + (size_t)m], 1.0};
        EF_TRY(add_row(b, "parts of", name, efi_lp_exactly(0.0), split->count + 1, NULL));
    }
    for (int k = split->first_spout; k < split->first_spout + split->count; k++) {
        const double bounds[2] = {efi_line_branch_least(line, k), efi_line_branch_most(line, k)};
        for (int side = 0; side < 2; side++) {
            int n = feed_entries(b, split->station, NULL, -bounds[side], 0);
            for (size_t m = 0; m < materials; m++)
                if (present(model, (int)m))
                    b->entries[n++] = (efi_lp_entry){b->carried[(size_t)k * materials + m], 1.0};
            EF_TRY(add_row(b, side ? "most share of" : "least share of", line->spouts[k].discharge->name,
                           side ? efi_lp_at_most(0.0) : efi_lp_at_least(0.0), n, NULL));
        }
    }
    return EF_OK;
}

static ef_status add_rows(builder *b)
{
    const efi_line *line = b->model->line;
    EF_TRY(add_flow_rows(b));
    for (int s = 0; s < line->station_count; s++)
        EF_TRY(add_station_rows(b, s));
    EF_TRY(add_power_row(b));
    for (int i = 0; i < line->split_count; i++)
        EF_TRY(add_split_rows(b, &line->splits[i]));
    return EF_OK;
}

static ef_status take_memory(builder *b)
{
    efi_steady_model *model = b->model;
    const efi_line *line = model->line;
    const size_t stations = (size_t)line->station_count;
    const size_t cells = stations * (size_t)line->materials;
    const size_t spouts = (size_t)line->spout_count;
    model->rate = efi_arena_get(b->arena, (size_t)line->intake_count, sizeof *model->rate);
    model->feed = efi_arena_get(b->arena, cells, sizeof *model->feed);
    model->flow_row = efi_arena_get(b->arena, cells, sizeof *model->flow_row);
    model->change = efi_arena_get(b->arena, spouts, sizeof *model->change);
    model->capacity_row = efi_arena_get(b->arena, stations, sizeof *model->capacity_row);
    model->least_row = efi_arena_get(b->arena, stations, sizeof *model->least_row);
    model->short_column = efi_arena_get(b->arena, stations, sizeof *model->short_column);
    model->purity_row = efi_arena_get(b->arena, stations, sizeof *model->purity_row);
    model->rates = efi_arena_get(b->arena, (size_t)line->intake_count, sizeof *model->rates);
    model->feeds = efi_arena_get(b->arena, cells, sizeof *model->feeds);
    b->first = efi_arena_get(b->arena, stations + 2, sizeof *b->first);
    b->into = efi_arena_get(b->arena, spouts, sizeof *b->into);
    b->entries = efi_arena_get(b->arena,
                               spouts + cells + (size_t)line->intake_count + (size_t)line->materials + 1,
                               sizeof *b->entries);
    b->carried = efi_arena_get(b->arena, spouts * (size_t)line->materials, sizeof *b->carried);
    model->lp = efi_lp_new();
    const bool all = model->rate && model->feed && model->flow_row && model->change && model->capacity_row &&
                     model->least_row && model->short_column && model->purity_row && model->rates &&
                     model->feeds && b->first && b->into && b->entries && b->carried && model->lp;
    return all ? EF_OK : EF_MEMORY;
}

ef_status efi_steady_build(efi_steady_model *model, efi_arena *arena, efi_line *line, efi_steady_form form,
                           ef_balance_aim aim)
{
    *model = (efi_steady_model){.line = line, .form = form, .aim = aim};
    builder b = {.model = model, .arena = arena};
    ef_status status = take_memory(&b);
    if (status == EF_OK) {
        efi_lp_set_sense(model->lp, EFI_LP_MAXIMISE);
        status = add_columns(&b);
    }
    if (status == EF_OK)
        status = add_rows(&b);
    if (b.name.failed)
        status = EF_MEMORY;
    efi_text_free(&b.name);
    return status == EF_OK ? efi_steady_aim(model, -1) : status;
}

double efi_steady_idle_cost(const efi_line *line)
{
    const efi_value energy_price = line->scenario->plant->energy_price;
    return energy_price.given ? energy_price.value * line->idle_kw : 0.0;
}

/* What one t/h into a station is worth: the outlet's price, less the energy it takes. */
static double value_of_feed(const efi_line *line, int s)
{
    const efi_value energy_price = line->scenario->plant->energy_price;
    const efi_line_station *station = &line->stations[s];
    return station->price - station->energy_kwhpt * (energy_price.given ? energy_price.value : 0.0);
}

ef_status efi_steady_aim(efi_steady_model *model, int outlet)
{
    const efi_line *line = model->line;
    const bool by_value = outlet < 0 && model->aim == EF_BALANCE_VALUE;
    const double paid = line->of->price.given ? line->of->price.value : 0.0;
    for (int i = 0; i < line->intake_count; i++)
        EF_TRY(efi_lp_set_objective(model->lp, model->rate[i], outlet >= 0 ? 0.0 : by_value ? -paid : 1.0));
    for (int s = 0; s < line->station_count; s++) {
        const double worth = s == outlet ? 1.0 : by_value ? value_of_feed(line, s) : 0.0;
        for (int m = 0; m < line->materials; m++)
            if (model->feed[cell(model, s, m)] >= 0)
                EF_TRY(efi_lp_set_objective(model->lp, model->feed[cell(model, s, m)], worth));
    }
    return EF_OK;
}

/* More than a tonne of anything can bring: the sum of all prices and of the rates that one t/h can cause. */
static double penalty(const efi_steady_model *model)
{
    const efi_line *line = model->line;
    double most = 0.0;
    for (int s = 0; s < line->station_count; s++) {
        const double price = line->stations[s].price;
        most += 1.0 + (price > 0.0 ? price : -price);
    }
    return 1000.0 * most;
}

ef_status efi_steady_elastic(efi_steady_model *model, bool elastic)
{
    for (int s = 0; s < model->line->station_count; s++) {
        if (model->least_row[s] < 0)
            continue;
        EF_TRY(efi_lp_set_column_bounds(model->lp, model->short_column[s],
                                        elastic ? efi_lp_at_least(0.0) : efi_lp_exactly(0.0)));
        EF_TRY(efi_lp_set_objective(model->lp, model->short_column[s], elastic ? -penalty(model) : 0.0));
    }
    return EF_OK;
}
