/* SPDX-License-Identifier: GPL-3.0-or-later
 * Builds the linear program of a balance with every flow written out; its mathematics is in steady.h. */
#include "shared/steady/steady.h"
#include "base/text.h"

/* What the builder works with; scratch arrays live in the arena. */
typedef struct builder {
    efi_steady_whole *whole;
    efi_arena *arena;
    efi_text name;
    int *first;            /* shape [station + 2] */
    int *into;             /* shape [spout]: spouts ordered by target */
    efi_lp_entry *entries; /* shape [spout + intake + materials x station + 1] */
    int *carried;          /* shape [spout][material]: column of f in the relaxation */
} builder;

static size_t cell(const efi_steady_whole *whole, int station, int material)
{
    return (size_t)station * (size_t)whole->line->materials + (size_t)material;
}

static bool present(const efi_steady_whole *whole, int material)
{
    return whole->line->passes[material];
}

static bool is_branch(const efi_line *line, int spout)
{
    return line->stations[line->spouts[spout].from].split >= 0;
}

static const char *station_name(const efi_steady_whole *whole, int station)
{
    return whole->line->stations[station].of->name;
}

static ef_status add_column(builder *b, const char *what, const char *of, const char *where,
                            efi_lp_bounds bounds, int *column)
{
    b->name.length = 0;
    efi_text_addf(&b->name, "%s %s %s", what, of, where);
    return efi_lp_add_column(b->whole->lp, efi_text_get(&b->name), bounds, 0.0, false, column);
}

static ef_status add_row(builder *b, const char *what, const char *of, efi_lp_bounds bounds, int count,
                         int *row)
{
    b->name.length = 0;
    efi_text_addf(&b->name, "%s %s", what, of);
    return efi_lp_add_row(b->whole->lp, efi_text_get(&b->name), bounds, b->entries, count, row);
}

static ef_status add_columns(builder *b)
{
    efi_steady_whole *whole = b->whole;
    const efi_line *line = whole->line;
    for (int i = 0; i < line->intake_count; i++)
        EF_TRY(add_column(b, "rate", "of", station_name(whole, line->intakes[i]), efi_lp_at_least(0.0),
                          &whole->rate[i]));
    for (int s = 0; s < line->station_count; s++) {
        for (int m = 0; m < line->materials; m++) {
            whole->feed[cell(whole, s, m)] = -1;
            if (present(whole, m))
                EF_TRY(add_column(b, line->scenario->materials[m].name, "into", station_name(whole, s),
                                  efi_lp_at_least(0.0), &whole->feed[cell(whole, s, m)]));
        }
    }
    for (int k = 0; k < line->spout_count; k++) {
        if (!is_branch(line, k))
            continue;
        const char *name = line->spouts[k].discharge->name;
        const char *from = station_name(whole, line->spouts[k].from);
        for (int m = 0; whole->form == EFI_STEADY_RELAXED && m < line->materials; m++)
            if (present(whole, m))
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

/* What a spout brings of a material, out of what comes to its start. */
static int add_spout_entries(const builder *b, const efi_line_spout *spout, int m, int n)
{
    const efi_steady_whole *whole = b->whole;
    const int materials = whole->line->materials;
    const double *turns = whole->line->stations[spout->from].turns;
    for (int j = turns ? 0 : m; j < (turns ? materials : m + 1); j++) {
        const double share = turns ? turns[j * materials + m] : 1.0;
        if (share > 0.0 && present(whole, j))
            b->entries[n++] = (efi_lp_entry){whole->feed[cell(whole, spout->from, j)],
                                             -spout->share[m] * share};
    }
    return n;
}

/* Entries of the flow row of a station and material; returns how many. */
static int flow_entries(const builder *b, int s, int m)
{
    const efi_steady_whole *whole = b->whole;
    const efi_line *line = whole->line;
    int n = 0;
    b->entries[n++] = (efi_lp_entry){whole->feed[cell(whole, s, m)], 1.0};
    for (int i = b->first[s]; i < b->first[s + 1]; i++) {
        const int k = b->into[i];
        const efi_line_spout *spout = &line->spouts[k];
        if (whole->form == EFI_STEADY_RELAXED && is_branch(line, k))
            b->entries[n++] = (efi_lp_entry){b->carried[(size_t)k * (size_t)line->materials + (size_t)m],
                                             -1.0};
        else if (spout->share[m] > 0.0)
            n = add_spout_entries(b, spout, m, n);
    }
    for (int i = 0; i < line->intake_count; i++)
        if (line->intakes[i] == s)
            b->entries[n++] = (efi_lp_entry){whole->rate[i], -line->receipt[m]};
    return n;
}

static ef_status add_flow_rows(builder *b)
{
    efi_steady_whole *whole = b->whole;
    const efi_line *line = whole->line;
    sort_by_target(line, b->first, b->into);
    for (int s = 0; s < line->station_count; s++) {
        for (int m = 0; m < line->materials; m++) {
            if (!present(whole, m))
                continue;
            const int n = flow_entries(b, s, m);
            b->name.length = 0;
            efi_text_addf(&b->name, "flow of %s into %s", line->scenario->materials[m].name,
                          station_name(whole, s));
            EF_TRY(
                efi_lp_add_row(whole->lp, efi_text_get(&b->name), efi_lp_exactly(0.0), b->entries, n, NULL));
        }
    }
    return EF_OK;
}

/* Entries that add up the feed of a station with a factor for each material (NULL: 1) and a common one. */
static int feed_entries(const builder *b, int s, const double *of_material, double factor, int from)
{
    const efi_steady_whole *whole = b->whole;
    int n = from;
    for (int m = 0; m < whole->line->materials; m++) {
        const int column = whole->feed[cell(whole, s, m)];
        if (column >= 0)
            b->entries[n++] = (efi_lp_entry){column, factor * (of_material ? of_material[m] : 1.0)};
    }
    return n;
}

static int purity_entries(const builder *b, int s, double least)
{
    const efi_steady_whole *whole = b->whole;
    int n = 0;
    for (int m = 0; m < whole->line->materials; m++) {
        const int column = whole->feed[cell(whole, s, m)];
        const efi_line *line = whole->line;
        const double wanted = efi_station_wants(line->scenario, line->stations[s].of, m) ? 1.0 : 0.0;
        if (column >= 0)
            b->entries[n++] = (efi_lp_entry){column, wanted - least};
    }
    return n;
}

static ef_status add_station_rows(builder *b, int s)
{
    efi_steady_whole *whole = b->whole;
    const efi_line *line = whole->line;
    const efi_line_station *station = &line->stations[s];
    whole->capacity_row[s] = whole->least_row[s] = whole->short_column[s] = -1;
    if (station->capacity.given) {
        const bool by_volume = station->capacity.of == EFI_KIND_VOLUME_RATE;
        const int n = feed_entries(b, s, by_volume ? line->m3_per_t : NULL, 1.0, 0);
        EF_TRY(add_row(b, "capacity of", station->of->name, efi_lp_at_most(station->capacity.value), n,
                       &whole->capacity_row[s]));
    }
    if (station->least_rate.given && station->least_rate.value > 0.0) {
        int n = feed_entries(b, s, NULL, 1.0, 0);
        EF_TRY(add_column(b, "shortfall", "of", station->of->name, efi_lp_exactly(0.0),
                          &whole->short_column[s]));
        b->entries[n++] = (efi_lp_entry){whole->short_column[s], 1.0};
        EF_TRY(add_row(b, "least rate of", station->of->name, efi_lp_at_least(station->least_rate.value), n,
                       &whole->least_row[s]));
    }
    if (station->least_purity.given && station->least_purity.value > 0.0) {
        const int n = purity_entries(b, s, station->least_purity.value - EFI_STEADY_PURITY_SLACK);
        EF_TRY(add_row(b, "least purity of", station->of->name, efi_lp_at_least(0.0), n, NULL));
    }
    return EF_OK;
}

static ef_status add_power_row(builder *b)
{
    efi_steady_whole *whole = b->whole;
    const efi_line *line = whole->line;
    whole->power_row = -1;
    if (!line->has_power_limit)
        return EF_OK;
    int n = 0;
    for (int s = 0; s < line->station_count; s++)
        if (line->stations[s].energy_kwhpt > 0.0)
            n = feed_entries(b, s, NULL, line->stations[s].energy_kwhpt, n);
    return add_row(b, "power", "of all", efi_lp_at_most(line->power_limit_kw - line->idle_kw), n,
                   &whole->power_row);
}

/* In the relaxation the branches of a split carry all that comes in, within their shares. */
static ef_status add_split_rows(builder *b, const efi_line_split *split)
{
    efi_steady_whole *whole = b->whole;
    const efi_line *line = whole->line;
    const char *name = station_name(whole, split->station);
    const size_t materials = (size_t)line->materials;
    for (int m = 0; m < line->materials; m++) {
        if (!present(whole, m))
            continue;
        b->entries[0] = (efi_lp_entry){whole->feed[cell(whole, split->station, m)], -1.0};
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
                if (present(whole, (int)m))
                    b->entries[n++] = (efi_lp_entry){b->carried[(size_t)k * materials + m], 1.0};
            EF_TRY(add_row(b, side ? "most share of" : "least share of", line->spouts[k].discharge->name,
                           side ? efi_lp_at_most(0.0) : efi_lp_at_least(0.0), n, NULL));
        }
    }
    return EF_OK;
}

static ef_status add_rows(builder *b)
{
    const efi_line *line = b->whole->line;
    EF_TRY(add_flow_rows(b));
    for (int s = 0; s < line->station_count; s++)
        EF_TRY(add_station_rows(b, s));
    EF_TRY(add_power_row(b));
    for (int i = 0; b->whole->form == EFI_STEADY_RELAXED && i < line->split_count; i++)
        EF_TRY(add_split_rows(b, &line->splits[i]));
    return EF_OK;
}

static ef_status take_memory(builder *b)
{
    efi_steady_whole *whole = b->whole;
    const efi_line *line = whole->line;
    const size_t stations = (size_t)line->station_count;
    const size_t cells = stations * (size_t)line->materials;
    const size_t spouts = (size_t)line->spout_count;
    whole->rate = efi_arena_get(b->arena, (size_t)line->intake_count, sizeof *whole->rate);
    whole->feed = efi_arena_get(b->arena, cells, sizeof *whole->feed);
    whole->capacity_row = efi_arena_get(b->arena, stations, sizeof *whole->capacity_row);
    whole->least_row = efi_arena_get(b->arena, stations, sizeof *whole->least_row);
    whole->short_column = efi_arena_get(b->arena, stations, sizeof *whole->short_column);
    b->first = efi_arena_get(b->arena, stations + 2, sizeof *b->first);
    b->into = efi_arena_get(b->arena, spouts, sizeof *b->into);
    b->entries = efi_arena_get(b->arena,
                               (line->has_turns ? spouts * (size_t)line->materials : spouts) + cells +
                                   (size_t)line->intake_count + (size_t)line->materials + 1,
                               sizeof *b->entries);
    b->carried = efi_arena_get(b->arena, spouts * (size_t)line->materials, sizeof *b->carried);
    whole->lp = efi_lp_new();
    const bool all = whole->rate && whole->feed && whole->capacity_row && whole->least_row &&
                     whole->short_column && b->first && b->into && b->entries && b->carried && whole->lp;
    return all ? EF_OK : EF_MEMORY;
}

ef_status efi_steady_whole_build(efi_steady_whole *whole, efi_arena *arena, const efi_line *line,
                                 efi_steady_form form, ef_balance_aim aim)
{
    *whole = (efi_steady_whole){.line = line, .form = form, .aim = aim};
    builder b = {.whole = whole, .arena = arena};
    ef_status status = take_memory(&b);
    if (status == EF_OK) {
        efi_lp_set_sense(whole->lp, EFI_LP_MAXIMISE);
        status = add_columns(&b);
    }
    if (status == EF_OK)
        status = add_rows(&b);
    if (b.name.failed)
        status = EF_MEMORY;
    efi_text_free(&b.name);
    return status == EF_OK ? efi_steady_whole_aim(whole, -1) : status;
}

ef_status efi_steady_whole_aim(efi_steady_whole *whole, int outlet)
{
    const efi_line *line = whole->line;
    const double of_rate = outlet < 0 ? efi_steady_worth_of_rate(line, whole->aim) : 0.0;
    for (int i = 0; i < line->intake_count; i++)
        EF_TRY(efi_lp_set_objective(whole->lp, whole->rate[i], of_rate));
    for (int s = 0; s < line->station_count; s++) {
        const double of_outlet = s == outlet ? 1.0 : 0.0;
        const double worth = outlet < 0 ? efi_steady_worth_of_feed(line, s, whole->aim) : of_outlet;
        for (int m = 0; m < line->materials; m++)
            if (whole->feed[cell(whole, s, m)] >= 0)
                EF_TRY(efi_lp_set_objective(whole->lp, whole->feed[cell(whole, s, m)], worth));
    }
    return EF_OK;
}

ef_status efi_steady_whole_elastic(efi_steady_whole *whole, bool elastic)
{
    const double penalty = efi_steady_penalty(whole->line);
    for (int s = 0; s < whole->line->station_count; s++) {
        if (whole->least_row[s] < 0)
            continue;
        EF_TRY(efi_lp_set_column_bounds(whole->lp, whole->short_column[s],
                                        elastic ? efi_lp_at_least(0.0) : efi_lp_exactly(0.0)));
        EF_TRY(efi_lp_set_objective(whole->lp, whole->short_column[s], elastic ? -penalty : 0.0));
    }
    return EF_OK;
}
