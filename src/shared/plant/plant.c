/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/plant/plant_inside.h"

#include <math.h>
#include <string.h>

/* A bin is half full at the start unless the scenario says otherwise: common practice. */
#define USUAL_START_LEVEL 0.5

typedef efi_plant_builder builder;

static const double *feed_of(const builder *b, int s)
{
    return b->feed_tph + (size_t)s * (size_t)b->line->materials;
}

/* ---- stations -------------------------------------------------------------------------------------------
 */

/* A number for the random streams of a station that stays its own when others come and go: FNV-1a of its
 * name, 40 bits. Source: Fowler, Noll and Vo, draft-eastlake-fnv (64-bit parameters), folded to 40 bits. */
uint64_t efi_plant_key(const char *name)
{
    uint64_t hash = 0xcbf29ce484222325u;
    for (const char *c = name; *c; c++)
        hash = (hash ^ (unsigned char)*c) * 0x100000001b3u;
    return (hash >> 40 ^ hash) & 0xffffffffffu;
}

/* Live volume of a bin, 0 where none is said. */
static double live_of(const builder *b, int s)
{
    if (b->options->live_m3)
        return b->options->live_m3[s];
    const efi_value said = efi_station_live_m3(b->line->stations[s].of, b->line->crop);
    return said.given ? said.value : 0.0;
}

static efi_network_kind kind_of(const builder *b, int s)
{
    switch (b->line->stations[s].class) {
    case EFI_CLASS_INTAKE:
        return EFI_NETWORK_INTAKE;
    case EFI_CLASS_MACHINE:
        return EFI_NETWORK_MACHINE;
    case EFI_CLASS_CONVEYOR:
        return EFI_NETWORK_CONVEYOR;
    case EFI_CLASS_BIN:
        return live_of(b, s) > 0.0 ? EFI_NETWORK_BIN : EFI_NETWORK_CONVEYOR;
    case EFI_CLASS_SPLIT:
        return EFI_NETWORK_SPLIT;
    case EFI_CLASS_OUTLET:
        return EFI_NETWORK_OUTLET;
    }
    return EFI_NETWORK_CONVEYOR;
}

/* Tonnes for each m3 of what a station takes; 0 without density. */
static double density_of(const builder *b, int s)
{
    const double volume = b->line->has_density ? efi_line_volume(b->line, feed_of(b, s)) : 0.0;
    return volume > 0.0 ? efi_line_total(b->line, feed_of(b, s)) / volume : 0.0;
}

/* Capacity of one machine, t/h. */
static double capacity_of(const builder *b, int s)
{
    const efi_line_station *station = &b->line->stations[s];
    if (station->of->steady_band.given) {
        const double share = b->options->set_share ? b->options->set_share[s] : 1.0;
        return efi_line_total(b->line, feed_of(b, s)) * share / station->of->count;
    }
    if (!station->nominal.given)
        return INFINITY;
    const double each = station->nominal.value * station->derating / station->of->count;
    return station->nominal.of == EFI_KIND_VOLUME_RATE ? each * density_of(b, s) : each;
}

static efi_network_bin bin_of(const efi_station *of, double full_t, double usual_level)
{
    return (efi_network_bin){.full_t = full_t,
                             .start_t = full_t *
                                        (of->start_level.given ? of->start_level.value : usual_level),
                             .restart_t = full_t * (of->restart_level.given ? of->restart_level.value : 0.0),
                             .refill_t = full_t * (of->refill_level.given ? of->refill_level.value : 1.0)};
}

/* The sizes of load that a crop comes in; their shares are of those that bring it. */
static ef_status add_sizes(const builder *b, const efi_receipts *receipts, efi_network_loads *loads)
{
    efi_load_size *sizes = efi_arena_get(b->arena, (size_t)receipts->sort_count, sizeof *sizes);
    if (!sizes)
        return EF_MEMORY;
    double sum = 0.0;
    double mean_t = 0.0;
    for (int i = 0; i < receipts->sort_count; i++) {
        const efi_load_sort *sort = &receipts->sorts[i];
        const efi_value load = sort->load_t[b->line->crop];
        if (!load.given || !(sort->share.value > 0.0))
            continue;
        sizes[loads->sizes++] = (efi_load_size){load.value, sort->share.value};
        sum += sort->share.value;
        mean_t += sort->share.value * load.value;
    }
    for (int i = 0; i < loads->sizes; i++)
        sizes[i].share /= sum;
    loads->size = sizes;
    loads->is_used = loads->sizes > 0;
    if (loads->is_used)
        loads->load_t = (efi_distribution){.kind = EFI_FIXED, .a = mean_t / sum};
    return EF_OK;
}

/* Loads of a crop; none where the receipts bring none of it. */
static ef_status add_loads(const builder *b, const efi_receipts *receipts, efi_network_loads *loads)
{
    const efi_value load = receipts->load_t ? receipts->load_t[b->line->crop] : (efi_value){0};
    if (b->options->without_receipts)
        return EF_OK;
    *loads = (efi_network_loads){.is_used = load.given,
                                 .gap_h = efi_plant_distribution((efi_form)receipts->form,
                                                                 receipts->every_h.value,
                                                                 receipts->shape.value),
                                 .load_t = {.kind = EFI_FIXED, .a = load.value},
                                 .is_instant = receipts->instant,
                                 .queue_limit = receipts->queue};
    if (receipts->sort_count > 0)
        EF_TRY(add_sizes(b, receipts, loads));
    return loads->is_used ? efi_plant_lay_receipts(b, receipts, loads) : EF_OK;
}

/* A machine that works batch by batch; wet or trashy receipts slow it down in all it does. */
static void add_batch(const builder *b, const efi_line_station *from, efi_network_station *station)
{
    const efi_batch *batch = from->of->batch;
    const efi_value charge = batch->charge_t[b->line->crop];
    if (!charge.given)
        return;
    station->capacity_tph = batch->fill_tph.value * from->derating;
    station->batch = (efi_network_batch){.is_used = true,
                                         .charge_t = charge.value,
                                         .work_h = batch->work_h.value / from->derating,
                                         .discharge_tph = batch->discharge_tph.value * from->derating};
}

static ef_status add_station(const builder *b, int s)
{
    efi_plant_network *plant = b->plant;
    const efi_line_station *from = &b->line->stations[s];
    const efi_station *of = from->of;
    const int n = plant->network.stations++;
    plant->of_line[s] = n;
    plant->line_station[n] = s;
    plant->t_per_m3[n] = density_of(b, s);
    efi_network_station *station = &plant->stations[n];
    *station = (efi_network_station){.name = of->name,
                                     .kind = kind_of(b, s),
                                     .key = efi_plant_key(of->name),
                                     .capacity_tph = capacity_of(b, s),
                                     .machines = of->count,
                                     .split = of->split_rule == EFI_SPLIT_FIRST ? EFI_NETWORK_FIRST
                                                                                : EFI_NETWORK_BY_SHARES};
    if (station->kind == EFI_NETWORK_BIN)
        station->bin = bin_of(of, live_of(b, s) * plant->t_per_m3[n],
                              b->options->start_empty ? 0.0 : USUAL_START_LEVEL);
    if (of->steady_band.given)
        station->steady = (efi_network_steady){.is_steady = true,
                                               .band_share = of->steady_band.value,
                                               .warm_up_h = of->warm_up_h.given ? of->warm_up_h.value : 0.0};
    if (of->receipts && station->kind == EFI_NETWORK_INTAKE)
        EF_TRY(add_loads(b, of->receipts, &station->loads));
    if (of->travel_h.given && station->kind == EFI_NETWORK_CONVEYOR)
        station->delay_h = of->travel_h.value;
    if (of->batch && station->kind == EFI_NETWORK_MACHINE && !b->options->batches_as_rates)
        add_batch(b, from, station);
    return efi_plant_add_stops(b, n);
}

/* ---- spouts ---------------------------------------------------------------------------------------------
 */

static double flow_of(const builder *b, int spout, double *room)
{
    const efi_line_spout *of = &b->line->spouts[spout];
    const double *leaving = efi_line_leaving(b->line, of->from, feed_of(b, of->from), room);
    double flow = 0.0;
    for (int m = 0; m < b->line->materials; m++)
        flow += of->share[m] * leaving[m];
    return flow;
}

static ef_status add_spouts(const builder *b)
{
    efi_plant_network *plant = b->plant;
    const efi_line *line = b->line;
    double *room = efi_arena_get(b->arena, (size_t)line->materials, sizeof *room);
    if (!room)
        return EF_MEMORY;
    for (int k = 0; k < line->spout_count; k++) {
        const efi_line_spout *of = &line->spouts[k];
        const double flow = flow_of(b, k, room);
        const double feed = efi_line_total(line, feed_of(b, of->from));
        const bool ordered = line->stations[of->from].of->kind == EFI_STATION_SPLIT &&
                             line->stations[of->from].of->split_rule == EFI_SPLIT_FIRST;
        if (plant->of_line[of->from] < 0 || plant->of_line[of->to] < 0 || (!(flow > 0.0) && !ordered))
            continue;
        plant->line_spout[plant->network.spouts] = k;
        plant->spouts[plant->network.spouts++] = (efi_network_spout){.from = plant->of_line[of->from],
                                                                     .to = plant->of_line[of->to],
                                                                     .share = flow / feed,
                                                                     .is_return = of->closes_loop};
    }
    return EF_OK;
}

/* The spout that takes the product while a steady-feed station warms up: its return, else its smallest
 * discharge. */
static int warm_spout(const efi_plant_network *plant, int station)
{
    int best = -1;
    for (int k = 0; k < plant->network.spouts; k++) {
        const efi_network_spout *spout = &plant->spouts[k];
        if (spout->from != station)
            continue;
        const bool better = best < 0 || (spout->is_return && !plant->spouts[best].is_return) ||
                            (spout->is_return == plant->spouts[best].is_return &&
                             spout->share < plant->spouts[best].share);
        best = better ? k : best;
    }
    return best;
}

/* Is a bin with a restart level right before the station, and nothing else? */
static bool waits_for_bin(const efi_plant_network *plant, int station)
{
    int before = 0;
    bool bin = true;
    for (int k = 0; k < plant->network.spouts; k++) {
        if (plant->spouts[k].to != station)
            continue;
        const efi_network_station *from = &plant->stations[plant->spouts[k].from];
        before++;
        bin = bin && from->kind == EFI_NETWORK_BIN && from->bin.restart_t > from->bin.empty_t;
    }
    return before == 1 && bin;
}

static void finish_steady(const builder *b)
{
    efi_plant_network *plant = b->plant;
    for (int n = 0; n < plant->network.stations; n++) {
        efi_network_station *station = &plant->stations[n];
        if (!station->steady.is_steady)
            continue;
        station->steady.warm_spout = warm_spout(plant, n);
        const efi_value least = b->line->stations[plant->line_station[n]].least_feed;
        const double rate_tph = station->capacity_tph * station->machines;
        if (least.given && waits_for_bin(plant, n))
            station->steady.least_tph = fmin(least.value, rate_tph);
    }
}

static ef_status take_memory(const builder *b)
{
    efi_plant_network *plant = b->plant;
    const size_t stations = (size_t)b->line->station_count;
    plant->stations = efi_arena_get(b->arena, stations, sizeof *plant->stations);
    plant->spouts = efi_arena_get(b->arena, (size_t)b->line->spout_count, sizeof *plant->spouts);
    plant->line_spout = efi_arena_get(b->arena, (size_t)b->line->spout_count, sizeof *plant->line_spout);
    plant->line_station = efi_arena_get(b->arena, stations, sizeof *plant->line_station);
    plant->of_line = efi_arena_get(b->arena, stations, sizeof *plant->of_line);
    plant->t_per_m3 = efi_arena_get(b->arena, stations, sizeof *plant->t_per_m3);
    plant->own_modes = efi_arena_get(b->arena, stations, sizeof *plant->own_modes);
    plant->mode_name = efi_arena_get(b->arena, stations, sizeof *plant->mode_name);
    plant->recorded = efi_arena_get(b->arena, stations, sizeof *plant->recorded);
    const bool all = plant->stations && plant->spouts && plant->line_spout && plant->line_station &&
                     plant->of_line && plant->t_per_m3 && plant->own_modes && plant->mode_name &&
                     plant->recorded;
    return all ? EF_OK : EF_MEMORY;
}

ef_status efi_plant_build(efi_plant_network *plant, efi_arena *arena, const efi_line *line,
                          const double *feed_tph, const efi_plant_options *options)
{
    static const efi_plant_options as_it_is = {0};
    memset(plant, 0, sizeof *plant);
    const builder b = {.plant = plant,
                       .arena = arena,
                       .line = line,
                       .feed_tph = feed_tph,
                       .options = options ? options : &as_it_is};
    plant->line = line;
    plant->from_s = b.options->from_s;
    EF_TRY(take_memory(&b));
    EF_TRY(efi_plant_read_calendar(&b));
    EF_TRY(efi_plant_add_crews(&b));
    for (int s = 0; s < line->station_count; s++) {
        plant->of_line[s] = -1;
        if (efi_line_total(line, feed_of(&b, s)) > 0.0)
            EF_TRY(add_station(&b, s));
    }
    EF_TRY(add_spouts(&b));
    finish_steady(&b);
    plant->network.station = plant->stations;
    plant->network.spout = plant->spouts;
    return EF_OK;
}
