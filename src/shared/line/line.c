/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/line/line.h"
#include "model/ways.h"

#include <string.h>

/* What is left of the power limit counts as nothing up to this share of it. */
#define LEAST_POWER_SHARE 1e-9

/* Depth-first order from the intakes: reverse order of leaving puts a station after those that feed it; a
 * spout to a station that is still open closes a loop. */
typedef struct walk {
    const efi_ways *ways;
    char *state; /* shape [scenario station]: NEW, OPEN, DONE */
    int *stack;  /* shape [scenario station] */
    int *next;   /* shape [scenario station]: next way out to follow */
    int *order;  /* shape [scenario station]: stations in order of leaving */
    int left;
    bool *closes; /* shape [way] */
} walk;

enum {
    NEW,
    OPEN,
    DONE
};

static void walk_from(walk *w, int start)
{
    int depth = 0;
    w->stack[depth++] = start;
    w->state[start] = OPEN;
    w->next[start] = w->ways->first_out[start];
    while (depth > 0) {
        const int s = w->stack[depth - 1];
        if (w->next[s] == w->ways->first_out[s + 1]) {
            w->state[s] = DONE;
            w->order[w->left++] = s;
            depth--;
            continue;
        }
        const int way = w->next[s]++;
        const int to = w->ways->way[way].to;
        if (w->state[to] == OPEN) {
            w->closes[way] = true;
        } else if (w->state[to] == NEW) {
            w->state[to] = OPEN;
            w->next[to] = w->ways->first_out[to];
            w->stack[depth++] = to;
        }
    }
}

static ef_status walk_line(walk *w, efi_arena *arena, const ef_scenario *scenario, int crop,
                           const efi_ways *ways)
{
    const size_t stations = (size_t)scenario->station_count;
    w->ways = ways;
    w->state = efi_arena_get(arena, stations, sizeof *w->state);
    w->stack = efi_arena_get(arena, stations, sizeof *w->stack);
    w->next = efi_arena_get(arena, stations, sizeof *w->next);
    w->order = efi_arena_get(arena, stations, sizeof *w->order);
    w->closes = efi_arena_get(arena, (size_t)ways->count, sizeof *w->closes);
    if (!w->state || !w->stack || !w->next || !w->order || !w->closes)
        return EF_MEMORY;
    /* the last intake first, so that reversing puts the first one first */
    for (int s = scenario->station_count - 1; s >= 0; s--)
        if (efi_station_receives(&scenario->stations[s], crop) && w->state[s] == NEW)
            walk_from(w, s);
    return EF_OK;
}

static efi_value times(const efi_value *by_crop, int crop, double count)
{
    efi_value value = {0};
    if (by_crop && by_crop[crop].given) {
        value = by_crop[crop];
        value.value *= count;
    }
    return value;
}

static double number_of(const efi_value *by_crop, int crop)
{
    return by_crop && by_crop[crop].given ? by_crop[crop].value : 0.0;
}

/* Share of the capacity lost to what a value has over a limit, so much for each percentage point. */
static double lost(efi_value value, efi_value above, efi_value per_point)
{
    if (!value.given || !per_point.given)
        return 0.0;
    const double over = value.value - (above.given ? above.value : 0.0);
    return over > 0.0 ? over * 100.0 * per_point.value : 0.0;
}

/* 1 - moisture's loss - trash's loss, both linear in percentage points (common practice; the slopes are the
 * user's). */
static double derating_of(const efi_line *line, const efi_derating *derating)
{
    if (!derating)
        return 1.0;
    efi_value trash = {.given = true, .of = EFI_KIND_SHARE};
    for (int m = 0; m < line->materials; m++)
        trash.value += line->scenario->materials[m].wanted ? 0.0 : line->receipt[m];
    const double left = 1.0 - lost(line->of->moisture, derating->moisture_above, derating->per_moisture) -
                        lost(trash, derating->trash_above, derating->per_trash);
    return left > EFI_LEAST_DERATING ? left : EFI_LEAST_DERATING;
}

static efi_line_station station_of(const efi_line *line, int s)
{
    const efi_station *of = &line->scenario->stations[s];
    efi_line_station station = {.station = s,
                                .of = of,
                                .class = efi_station_class((efi_station_kind)of->kind),
                                .nominal = times(of->capacity, line->crop, of->count),
                                .derating = derating_of(line, of->derating),
                                .peak_factor = of->peak_factor.given ? of->peak_factor.value : 1.0,
                                .least_feed = times(of->least_feed, line->crop, of->count),
                                .least_rate = times(of->least_rate, line->crop, 1.0),
                                .least_purity = times(of->least_purity, line->crop, 1.0),
                                .price = number_of(of->price, line->crop),
                                .idle_kw = of->idle_kw.given ? of->idle_kw.value * of->count : 0.0,
                                .energy_kwhpt = number_of(of->energy_kwhpt, line->crop),
                                .split = -1};
    const size_t materials = (size_t)line->materials;
    if (of->turns)
        station.turns = of->turns + (size_t)line->crop * materials * materials;
    station.capacity = station.nominal;
    station.capacity.value *= station.derating / station.peak_factor;
    return station;
}

static ef_status take_stations(efi_line *line, efi_arena *arena, const walk *w, int *position)
{
    const ef_scenario *scenario = line->scenario;
    line->station_count = w->left;
    line->stations = efi_arena_get(arena, (size_t)w->left, sizeof *line->stations);
    line->intakes = efi_arena_get(arena, (size_t)w->left, sizeof *line->intakes);
    if (!line->stations || !line->intakes)
        return EF_MEMORY;
    for (int i = 0; i < w->left; i++) {
        const int s = w->order[w->left - 1 - i];
        position[s] = i;
        line->stations[i] = station_of(line, s);
        line->idle_kw += line->stations[i].idle_kw;
        line->has_turns = line->has_turns || line->stations[i].turns;
        if (efi_station_receives(&scenario->stations[s], line->crop))
            line->intakes[line->intake_count++] = i;
    }
    return EF_OK;
}

static ef_status take_spouts(efi_line *line, efi_arena *arena, const walk *w, const int *position)
{
    const ef_scenario *scenario = line->scenario;
    const efi_ways *ways = w->ways;
    line->spouts = efi_arena_get(arena, (size_t)ways->count, sizeof *line->spouts);
    line->first_out = efi_arena_get(arena, (size_t)line->station_count + 1, sizeof *line->first_out);
    line->loops = efi_arena_get(arena, (size_t)ways->count, sizeof *line->loops);
    if (!line->spouts || !line->first_out || !line->loops)
        return EF_MEMORY;
    for (int i = 0; i < line->station_count; i++) {
        const int s = line->stations[i].station;
        line->first_out[i] = line->spout_count;
        for (int way = ways->first_out[s]; way < ways->first_out[s + 1]; way++) {
            const efi_discharge *discharge =
                &scenario->stations[s].discharges.items[ways->way[way].discharge];
            if (w->closes[way])
                line->loops[line->loop_count++] = line->spout_count;
            line->spouts[line->spout_count++] = (efi_line_spout){
                .from = i,
                .to = position[ways->way[way].to],
                .discharge = discharge,
                .share = discharge->share + (size_t)line->crop * (size_t)line->materials,
                .closes_loop = w->closes[way]};
        }
    }
    line->first_out[line->station_count] = line->spout_count;
    return EF_OK;
}

/* Splits whose shares are to be chosen get storage of their own for them, with a feasible start. */
static ef_status take_splits(efi_line *line, efi_arena *arena)
{
    line->splits = efi_arena_get(arena, (size_t)line->station_count, sizeof *line->splits);
    if (!line->splits)
        return EF_MEMORY;
    for (int s = 0; s < line->station_count; s++) {
        const efi_station *of = line->stations[s].of;
        if (of->kind != EFI_STATION_SPLIT || of->split_rule == EFI_SPLIT_FIXED)
            continue;
        line->stations[s].split = line->split_count;
        line->splits[line->split_count++] = (efi_line_split){.station = s,
                                                             .first_spout = line->first_out[s],
                                                             .count = line->first_out[s + 1] -
                                                                      line->first_out[s],
                                                             .rule = (efi_split_rule)of->split_rule};
    }
    if (line->split_count == 0)
        return EF_OK;
    const size_t materials = (size_t)line->materials;
    line->branch_share = efi_arena_get(arena, (size_t)line->spout_count * materials,
                                       sizeof *line->branch_share);
    if (!line->branch_share)
        return EF_MEMORY;
    for (int i = 0; i < line->split_count; i++) {
        for (int k = 0; k < line->splits[i].count; k++) {
            const int spout = line->splits[i].first_spout + k;
            const double start = line->spouts[spout].share[0];
            line->spouts[spout].share = line->branch_share + (size_t)spout * materials;
            efi_line_set_branch(line, spout, start);
        }
    }
    return EF_OK;
}

void efi_line_set_branch(efi_line *line, int spout, double share)
{
    for (int m = 0; m < line->materials; m++)
        line->branch_share[(size_t)spout * (size_t)line->materials + (size_t)m] = share;
}

double efi_line_branch(const efi_line *line, int spout)
{
    return line->spouts[spout].share[0];
}

double efi_line_branch_least(const efi_line *line, int spout)
{
    const efi_value least = line->spouts[spout].discharge->least_share;
    return least.given ? least.value : 0.0;
}

double efi_line_branch_most(const efi_line *line, int spout)
{
    return efi_split_most(line->spouts[spout].discharge, line->crop);
}

/* Marks what a station makes of what passes already; returns whether something new is. */
static bool makes_more(const efi_line *line, const double *turns)
{
    const size_t materials = (size_t)line->materials;
    bool more = false;
    for (size_t m = 0; turns && m < materials; m++) {
        for (size_t k = 0; line->passes[m] && k < materials; k++) {
            if (line->passes[k] || !(turns[m * materials + k] > 0.0))
                continue;
            line->passes[k] = more = true;
        }
    }
    return more;
}

static ef_status take_materials(efi_line *line, efi_arena *arena)
{
    line->passes = efi_arena_get(arena, (size_t)line->materials, sizeof *line->passes);
    if (!line->passes)
        return EF_MEMORY;
    for (int m = 0; m < line->materials; m++)
        line->passes[m] = line->receipt[m] > 0.0;
    bool more = line->has_turns;
    while (more) {
        more = false;
        for (int s = 0; s < line->station_count; s++)
            more = makes_more(line, line->stations[s].turns) || more;
    }
    return EF_OK;
}

const double *efi_line_leaving(const efi_line *line, int station, const double *feed_tph, double *room)
{
    const double *turns = line->stations[station].turns;
    const size_t materials = (size_t)line->materials;
    if (!turns)
        return feed_tph;
    for (size_t k = 0; k < materials; k++) {
        room[k] = 0.0;
        for (size_t m = 0; m < materials; m++)
            room[k] += turns[m * materials + k] * feed_tph[m];
    }
    return room;
}

static ef_status take_densities(efi_line *line, efi_arena *arena)
{
    line->m3_per_t = efi_arena_get(arena, (size_t)line->materials, sizeof *line->m3_per_t);
    if (!line->m3_per_t)
        return EF_MEMORY;
    line->has_density = true;
    for (int m = 0; m < line->materials; m++) {
        const efi_value density = efi_scenario_density(line->scenario, line->crop, m);
        if (density.given)
            line->m3_per_t[m] = 1.0 / density.value;
        else if (line->passes[m])
            line->has_density = false;
    }
    return EF_OK;
}

ef_status efi_line_build(efi_line *line, efi_arena *arena, const ef_scenario *scenario, int crop)
{
    memset(line, 0, sizeof *line);
    line->scenario = scenario;
    line->crop = crop;
    line->of = &scenario->crops[crop];
    line->materials = scenario->material_count;
    line->receipt = line->of->receipt;
    efi_ways ways;
    walk w = {0};
    EF_TRY(efi_ways_build(&ways, arena, scenario, crop));
    EF_TRY(walk_line(&w, arena, scenario, crop, &ways));
    int *position = efi_arena_get(arena, (size_t)scenario->station_count, sizeof *position);
    if (!position)
        return EF_MEMORY;
    EF_TRY(take_stations(line, arena, &w, position));
    EF_TRY(take_spouts(line, arena, &w, position));
    EF_TRY(take_splits(line, arena));
    EF_TRY(take_materials(line, arena));
    line->has_power_limit = scenario->plant->power_limit_kw.given;
    line->power_limit_kw = scenario->plant->power_limit_kw.value;
    return take_densities(line, arena);
}

bool efi_line_lacks_power(const efi_line *line)
{
    return line->has_power_limit && !(line->power_limit_kw > line->idle_kw * (1.0 + LEAST_POWER_SHARE));
}

double efi_line_total(const efi_line *line, const double *feed_tph)
{
    double total = 0.0;
    for (int m = 0; m < line->materials; m++)
        total += feed_tph[m];
    return total;
}

double efi_line_volume(const efi_line *line, const double *feed_tph)
{
    double volume = 0.0;
    for (int m = 0; m < line->materials; m++)
        volume += feed_tph[m] * line->m3_per_t[m];
    return volume;
}

double efi_line_power(const efi_line *line, const double *feed_tph)
{
    double power = line->idle_kw;
    for (int s = 0; s < line->station_count; s++)
        power += line->stations[s].energy_kwhpt *
                 efi_line_total(line, feed_tph + (size_t)s * (size_t)line->materials);
    return power;
}
