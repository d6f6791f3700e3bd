/* SPDX-License-Identifier: GPL-3.0-or-later
 * One network for all crops of a list, and what each lot brings with it. */
#include "shared/lots/list.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* A station that takes whatever comes, for some lots, and has a capacity for others, has this many times the
 * greatest rate of the list. */
#define AMPLE 1000.0

typedef struct joint_spout {
    efi_network_spout spout;
    const efi_discharge *discharge;
    double *share; /* shape [crop_count]: of each crop that has it, else 0 */
} joint_spout;

typedef struct builder {
    efi_lot_list *list;
    efi_arena *arena;
    int *joint_of;   /* shape [stations of the scenario]: station of the network, -1 */
    int *first_crop; /* shape [stations of the network]: the crop of the list that describes it */
    int *own;        /* shape [crop_count][stations of the scenario]: in that crop's network, -1 */
    joint_spout *spouts;
    int spout_count;
    double ample_tph;
} builder;

static int *own_of(const builder *b, int crop, int scenario_station)
{
    return &b->own[(size_t)crop * (size_t)b->list->scenario->station_count + (size_t)scenario_station];
}

static int scenario_station(const efi_running *running, int n)
{
    return running->line.stations[running->plant.line_station[n]].station;
}

/* ---- stations -------------------------------------------------------------------------------------------
 */

static ef_status take_memory(builder *b)
{
    const efi_lot_list *list = b->list;
    const size_t stations = (size_t)list->scenario->station_count;
    size_t spouts = 0;
    for (int c = 0; c < list->crop_count; c++)
        spouts += (size_t)list->running[c].plant.network.spouts;
    efi_plant_network *plant = &b->list->plant;
    b->joint_of = efi_arena_get(b->arena, stations, sizeof *b->joint_of);
    b->first_crop = efi_arena_get(b->arena, stations, sizeof *b->first_crop);
    b->own = efi_arena_get(b->arena, stations * (size_t)list->crop_count, sizeof *b->own);
    b->spouts = efi_arena_get(b->arena, spouts, sizeof *b->spouts);
    plant->stations = efi_arena_get(b->arena, stations, sizeof *plant->stations);
    plant->spouts = efi_arena_get(b->arena, spouts, sizeof *plant->spouts);
    plant->line_station = efi_arena_get(b->arena, stations, sizeof *plant->line_station);
    plant->t_per_m3 = efi_arena_get(b->arena, stations, sizeof *plant->t_per_m3);
    plant->own_modes = efi_arena_get(b->arena, stations, sizeof *plant->own_modes);
    plant->mode_name = efi_arena_get(b->arena, stations, sizeof *plant->mode_name);
    plant->recorded = efi_arena_get(b->arena, stations, sizeof *plant->recorded);
    b->list->line.stations = efi_arena_get(b->arena, stations, sizeof *b->list->line.stations);
    const bool all = b->joint_of && b->first_crop && b->own && b->spouts && plant->stations &&
                     plant->spouts && plant->line_station && plant->t_per_m3 && plant->own_modes &&
                     plant->mode_name && plant->recorded && b->list->line.stations;
    return all ? EF_OK : EF_MEMORY;
}

/* The calendar's times of the whole plant are the first crop's very lists, whichever crop passes the station.
 */
static ef_status share_times(const builder *b, int crop, efi_network_station *station)
{
    const efi_plant_network *first = &b->list->running[0].plant;
    const efi_plant_network *own = &b->list->running[crop].plant;
    if (crop == 0 || station->modes == 0)
        return EF_OK;
    efi_stop_mode *modes = efi_arena_get(b->arena, (size_t)station->modes, sizeof *modes);
    if (!modes)
        return EF_MEMORY;
    memcpy(modes, station->mode, (size_t)station->modes * sizeof *modes);
    for (int m = 0; m < station->modes; m++)
        for (int k = 0; k < EFI_PLANT_TIMES; k++)
            if (own->commons[k] > 0 && modes[m].list == own->common[k])
                modes[m].list = first->common[k];
    station->mode = modes;
    return EF_OK;
}

static ef_status add_station(builder *b, int crop, int n)
{
    efi_lot_list *list = b->list;
    const efi_running *running = &list->running[crop];
    efi_plant_network *plant = &list->plant;
    const int s = scenario_station(running, n);
    *own_of(b, crop, s) = n;
    if (b->joint_of[s] >= 0)
        return EF_OK;
    const int j = plant->network.stations++;
    b->joint_of[s] = j;
    b->first_crop[j] = crop;
    plant->stations[j] = running->plant.stations[n];
    plant->line_station[j] = j;
    plant->t_per_m3[j] = running->plant.t_per_m3[n];
    plant->own_modes[j] = running->plant.own_modes[n];
    plant->mode_name[j] = running->plant.mode_name[n];
    memcpy(plant->recorded[j], running->plant.recorded[n], sizeof plant->recorded[j]);
    list->line.stations[list->line.station_count++] = running->line.stations[running->plant.line_station[n]];
    return share_times(b, crop, &plant->stations[j]);
}

static ef_status add_stations(builder *b)
{
    efi_lot_list *list = b->list;
    const efi_plant_network *first = &list->running[0].plant;
    efi_plant_network *plant = &list->plant;
    for (int s = 0; s < list->scenario->station_count; s++)
        b->joint_of[s] = -1;
    for (int c = 0; c < list->crop_count; c++) {
        for (int s = 0; s < list->scenario->station_count; s++)
            *own_of(b, c, s) = -1;
        for (int n = 0; n < list->running[c].plant.network.stations; n++)
            EF_TRY(add_station(b, c, n));
        b->ample_tph = fmax(b->ample_tph, AMPLE * list->running[c].rate_tph);
    }
    plant->network.crews = first->network.crews;
    plant->network.crew = first->network.crew;
    plant->anybody = first->anybody;
    plant->from_s = first->from_s;
    memcpy(plant->common, first->common, sizeof plant->common);
    memcpy(plant->commons, first->commons, sizeof plant->commons);
    return EF_OK;
}

/* The station of the network as a crop of the list has it; NULL where it does not pass it. */
static const efi_network_station *station_of(const builder *b, int crop, int j)
{
    const int n = *own_of(b, crop, b->list->line.stations[j].station);
    return n < 0 ? NULL : &b->list->running[crop].plant.stations[n];
}

/* What differs from crop to crop: a bin for one of them is a bin, empty at the start; what has a capacity for
 * one has one for all; the least feed is the least of all. */
static void settle_station(builder *b, int j)
{
    efi_network_station *station = &b->list->plant.stations[j];
    bool is_limited = station->kind == EFI_NETWORK_INTAKE;
    for (int c = 0; c < b->list->crop_count; c++) {
        const efi_network_station *own = station_of(b, c, j);
        if (!own)
            continue;
        if (own->kind == EFI_NETWORK_BIN && station->kind != EFI_NETWORK_BIN) {
            station->kind = EFI_NETWORK_BIN;
            station->bin = own->bin;
        }
        is_limited = is_limited || own->capacity_tph < INFINITY;
        if (own->steady.is_steady)
            station->steady.least_tph = fmin(station->steady.least_tph, own->steady.least_tph);
    }
    station->bin.start_t = station->bin.empty_t;
    if (is_limited && !(station->capacity_tph < INFINITY))
        station->capacity_tph = b->ample_tph;
}

/* ---- spouts ---------------------------------------------------------------------------------------------
 */

/* The joint spout of a discharge, a new one where it is not there yet. */
static joint_spout *find_spout(builder *b, int from, int to, const efi_discharge *discharge)
{
    for (int e = 0; e < b->spout_count; e++)
        if (b->spouts[e].spout.from == from && b->spouts[e].spout.to == to &&
            b->spouts[e].discharge == discharge)
            return &b->spouts[e];
    double *share = efi_arena_get(b->arena, (size_t)b->list->crop_count, sizeof *share);
    if (!share)
        return NULL;
    int e = b->spout_count++; /* by station, then in the order of its discharges */
    for (; e > 0 && (b->spouts[e - 1].spout.from > from ||
                     (b->spouts[e - 1].spout.from == from && b->spouts[e - 1].discharge > discharge));
         e--)
        b->spouts[e] = b->spouts[e - 1];
    b->spouts[e] = (joint_spout){{.from = from, .to = to}, discharge, share};
    return &b->spouts[e];
}

static ef_status add_spouts(builder *b)
{
    efi_lot_list *list = b->list;
    for (int c = 0; c < list->crop_count; c++) {
        const efi_running *running = &list->running[c];
        for (int k = 0; k < running->plant.network.spouts; k++) {
            const efi_network_spout *of = &running->plant.spouts[k];
            joint_spout *joint = find_spout(b, b->joint_of[scenario_station(running, of->from)],
                                            b->joint_of[scenario_station(running, of->to)],
                                            running->line.spouts[running->plant.line_spout[k]].discharge);
            if (!joint)
                return EF_MEMORY;
            joint->share[c] = of->share;
            joint->spout.is_return = joint->spout.is_return || of->is_return;
        }
    }
    return EF_OK;
}

/* The number of a spout of one crop in the network. */
static int joint_spout_of(const builder *b, int crop, int spout)
{
    const efi_running *running = &b->list->running[crop];
    const efi_network_spout *of = &running->plant.spouts[spout];
    const efi_discharge *discharge = running->line.spouts[running->plant.line_spout[spout]].discharge;
    for (int e = 0; e < b->spout_count; e++)
        if (b->spouts[e].discharge == discharge &&
            b->spouts[e].spout.to == b->joint_of[scenario_station(running, of->to)])
            return e;
    return 0;
}

/* The share of a spout for a crop; where it does not pass the station, as described. */
static double share_for(const builder *b, int e, int crop)
{
    const int from = b->spouts[e].spout.from;
    return b->spouts[e].share[station_of(b, crop, from) ? crop : b->first_crop[from]];
}

/* Splits into which the crops go by different ways divide by the shares of their balances. */
static void settle_splits(builder *b)
{
    const efi_lot_list *list = b->list;
    for (int e = 0; e < b->spout_count; e++) {
        efi_network_station *from = &list->plant.stations[b->spouts[e].spout.from];
        for (int c = 0; c < list->crop_count && from->kind == EFI_NETWORK_SPLIT; c++) {
            const int n = *own_of(b, c, list->line.stations[b->spouts[e].spout.from].station);
            bool has = n < 0;
            for (int k = 0; k < list->running[c].plant.network.spouts && !has; k++)
                has = joint_spout_of(b, c, k) == e;
            if (!has)
                from->split = EFI_NETWORK_BY_SHARES;
        }
    }
}

static void put_network(builder *b)
{
    efi_plant_network *plant = &b->list->plant;
    settle_splits(b);
    for (int e = 0; e < b->spout_count; e++) {
        plant->spouts[e] = b->spouts[e].spout;
        plant->spouts[e].share = share_for(b, e, b->first_crop[plant->spouts[e].from]);
    }
    plant->network.spouts = b->spout_count;
    for (int j = 0; j < plant->network.stations; j++) {
        settle_station(b, j);
        const int c = b->first_crop[j];
        if (plant->stations[j].steady.is_steady)
            plant->stations[j].steady.warm_spout = joint_spout_of(b, c,
                                                                  station_of(b, c, j)->steady.warm_spout);
    }
    plant->network.station = plant->stations;
    plant->network.spout = plant->spouts;
    plant->line = &b->list->line;
}

/* ---- lots -----------------------------------------------------------------------------------------------
 */

/* Capacities, shares and levels of a crop. */
static ef_status fill_crop(const builder *b, int crop, efi_lot *lot)
{
    const efi_plant_network *plant = &b->list->plant;
    const size_t stations = (size_t)plant->network.stations;
    double *capacity = efi_arena_get(b->arena, stations, sizeof *capacity);
    double *share = efi_arena_get(b->arena, (size_t)plant->network.spouts, sizeof *share);
    efi_network_bin *bin = efi_arena_get(b->arena, stations, sizeof *bin);
    if (!capacity || !share || !bin)
        return EF_MEMORY;
    for (int j = 0; j < plant->network.stations; j++) {
        const efi_network_station *own = station_of(b, crop, j);
        const double described = plant->stations[j].capacity_tph;
        capacity[j] = own ? own->capacity_tph : described;
        if (described < INFINITY && !(capacity[j] < INFINITY))
            capacity[j] = b->ample_tph;
        bin[j] = own && own->kind == EFI_NETWORK_BIN ? own->bin : plant->stations[j].bin;
        bin[j].start_t = bin[j].empty_t;
        if (own && own->kind != EFI_NETWORK_BIN) /* it holds none of this crop */
            bin[j] = (efi_network_bin){0};
    }
    for (int e = 0; e < plant->network.spouts; e++)
        share[e] = share_for(b, e, crop);
    lot->capacity_tph = capacity;
    lot->share = share;
    lot->bin = bin;
    return EF_OK;
}

/* Load of a station by a lot's crop. */
static double load_of(const builder *b, int crop, int j)
{
    const efi_network_station *own = station_of(b, crop, j);
    const efi_running *running = &b->list->running[crop];
    if (!own || !(own->capacity_tph < INFINITY) || !(own->capacity_tph > 0.0))
        return 0.0;
    const int n = *own_of(b, crop, b->list->line.stations[j].station);
    const int s = running->plant.line_station[n];
    return efi_line_total(&running->line,
                          running->model.feeds + (size_t)s * (size_t)running->line.materials) /
           (own->capacity_tph * own->machines);
}

/* Does some rule say how long a station takes? */
static bool is_named(const efi_season *season, int station)
{
    for (int r = 0; r < season->changeover_count; r++)
        for (int s = 0; s < season->changeovers[r].station_count; s++)
            if (season->changeovers[r].stations[s].station == station &&
                season->changeovers[r].stations[s].takes_h.given)
                return true;
    return false;
}

static double not_below(efi_value least, double hours)
{
    return hours > 0.0 && least.given && hours < least.value ? least.value : hours;
}

/* The stations that a rule has cleaned before a lot. */
static ef_status fill_stations(const builder *b, const efi_listed_lot *listed, efi_lot *lot)
{
    const efi_plant_network *plant = &b->list->plant;
    const efi_season *season = b->list->scenario->season;
    const efi_changeover *rule = listed->clean.rule;
    const int crop = efi_lot_list_crop(b->list, listed->of->crop);
    double *clean_h = efi_arena_get(b->arena, (size_t)plant->network.stations, sizeof *clean_h);
    if (!clean_h)
        return EF_MEMORY;
    lot->clean_h = clean_h;
    int worst = -1;
    for (int j = 0; rule && rule->station_count == 0 && j < plant->network.stations; j++)
        if (is_named(season, b->list->line.stations[j].station) &&
            (worst < 0 || load_of(b, crop, j) > load_of(b, crop, worst)))
            worst = j;
    if (worst >= 0)
        clean_h[worst] = listed->clean.clean_h;
    for (int s = 0; rule && s < rule->station_count; s++) {
        const int station = rule->stations[s].station;
        if (station >= 0 && b->joint_of[station] >= 0 && rule->stations[s].takes_h.given)
            clean_h[b->joint_of[station]] = not_below(season->least_clean_h, rule->stations[s].takes_h.value);
    }
    return EF_OK;
}

static ef_status fill_lots(const builder *b)
{
    efi_lot_list *list = b->list;
    efi_lot *crops = efi_arena_get(b->arena, (size_t)list->crop_count, sizeof *crops);
    list->engine_lots = efi_arena_get(b->arena, (size_t)list->count, sizeof *list->engine_lots);
    if (!crops || !list->engine_lots)
        return EF_MEMORY;
    for (int c = 0; c < list->crop_count; c++)
        EF_TRY(fill_crop(b, c, &crops[c]));
    for (int k = 0; k < list->count; k++) {
        const efi_listed_lot *listed = &list->lots[k];
        efi_lot *lot = &list->engine_lots[k];
        *lot = crops[efi_lot_list_crop(list, listed->of->crop)];
        lot->tonnes_t = listed->tonnes_t;
        if (list->is_line_clear)
            lot->line_clean_h = listed->clean.clean_h;
        else if (k > 0)
            EF_TRY(fill_stations(b, listed, lot));
    }
    return EF_OK;
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static ef_status explain(const efi_lot_list *list, const efi_trouble *trouble, char **reason)
{
    int intakes = 0;
    for (int j = 0; j < list->plant.network.stations; j++)
        intakes += list->plant.stations[j].kind == EFI_NETWORK_INTAKE;
    if (trouble->kind != EFI_TROUBLE_LOTS || intakes == 1) {
        efi_running_explain(&list->plant.network, trouble, reason);
        return EF_NO_ANSWER;
    }
    efi_text words = {0};
    efi_text_addf(&words, "a list of lots enters by one intake, and its crops use %d", intakes);
    if (reason && !words.failed)
        *reason = words.bytes;
    else
        efi_text_free(&words);
    return EF_NO_ANSWER;
}

static ef_status check(efi_lot_list *list, char **reason)
{
    efi_trouble trouble;
    efi_plant_network *plant = &list->plant;
    ef_status status = efi_network_check(&plant->network, &trouble);
    if (status == EF_SCENARIO && trouble.kind == EFI_TROUBLE_LOOP) { /* of two crops that go round it */
        EF_TRY(efi_network_mark_returns(&plant->network, plant->spouts));
        status = efi_network_check(&plant->network, &trouble);
    }
    if (status == EF_OK)
        status = efi_lots_check(&plant->network, list->engine_lots, list->count, &trouble);
    return status == EF_SCENARIO ? explain(list, &trouble, reason) : status;
}

ef_status efi_lot_list_lay(efi_lot_list *list, efi_arena *arena, const efi_plant_options *options,
                           char **reason)
{
    efi_plant_options all = *options;
    all.without_receipts = true;
    all.batches_as_rates = true;
    all.start_empty = true;
    builder b = {.list = list, .arena = arena};
    for (int c = 0; c < list->crop_count; c++)
        EF_TRY(efi_running_lay(&list->running[c], arena, &all));
    list->line = (efi_line){.scenario = list->scenario,
                            .crop = list->crops[0],
                            .of = &list->scenario->crops[list->crops[0]],
                            .materials = list->running[0].line.materials};
    memset(&list->plant, 0, sizeof list->plant);
    EF_TRY(take_memory(&b));
    EF_TRY(add_stations(&b));
    EF_TRY(add_spouts(&b));
    put_network(&b);
    EF_TRY(fill_lots(&b));
    return check(list, reason);
}

double efi_lot_list_part(const efi_lot_list *list, int crop, int station)
{
    const int of = list->line.stations[list->plant.line_station[station]].station;
    const efi_running *running = &list->running[crop];
    for (int s = 0; s < running->line.station_count; s++)
        if (running->line.stations[s].station == of)
            return running->part ? running->part[s] : 1.0;
    return 0.0;
}

bool efi_lot_list_shares(const efi_lot_list *list, int station, double *least, double *most)
{
    const efi_network_station *of = &list->plant.stations[station];
    *least = 1.0;
    *most = 0.0;
    for (int c = 0; c < list->crop_count; c++) {
        const double part = efi_lot_list_part(list, c, station);
        if (!(part > 0.0))
            continue;
        *least = fmin(*least, part);
        *most = fmax(*most, part);
    }
    return *least < 1.0 && (of->kind != EFI_NETWORK_OUTLET || of->capacity_tph < INFINITY);
}

ef_status efi_lot_list_engine(const efi_lot_list *list, bool has_past, efi_engine **engine,
                              efi_trouble *trouble)
{
    efi_engine_settings settings = efi_engine_defaults();
    settings.is_general = true;
    settings.has_past = has_past;
    settings.lots = list->count;
    settings.lot = list->engine_lots;
    settings.is_line_clear = list->is_line_clear;
    settings.clean_teams = list->is_line_clear ? 0 : list->scenario->season->teams;
    return efi_engine_build(&list->plant.network, &settings, engine, trouble);
}
