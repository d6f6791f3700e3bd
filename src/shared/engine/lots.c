/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

static bool is_bin(const efi_engine *engine, int i)
{
    return engine->run_bin[i] >= 0;
}

static efi_run_layers *layers_of(const efi_engine *engine, int i)
{
    return &engine->layers[engine->run_bin[i]];
}

/* The lot that comes, or would come, down a spout from station i. */
static int lot_given(const efi_engine *engine, int i)
{
    if (engine->run_belt[i] >= 0)
        return efi_belt_lot(engine, engine->run_belt[i]);
    if (!is_bin(engine, i))
        return engine->lot[i].lot;
    const efi_run_layers *layers = layers_of(engine, i);
    return layers->lot[layers->first];
}

static double clean_h(const efi_engine *engine, int i, int lot)
{
    if (lot >= engine->settings.lots || !engine->settings.lot[lot].clean_h)
        return 0.0;
    return engine->settings.lot[lot].clean_h[i];
}

/* ---- layers ------------------------------------------------------------------------------------ */

static void settle_layers(efi_engine *engine, int b)
{
    efi_run_layers *layers = &engine->layers[b];
    const efi_run_bin *bin = &engine->bin[b];
    const double hours = engine->now_h - layers->since_h;
    layers->since_h = engine->now_h;
    layers->amount_t[(layers->first + layers->count - 1) % EFI_LAYERS] += bin->flow->inflow_tph * hours;
    layers->amount_t[layers->first] -= bin->flow->outflow_tph * hours;
}

static void drop_layer(efi_engine *engine, int b)
{
    efi_run_layers *layers = &engine->layers[b];
    efi_event_note(engine, EFI_EVENT_LOT_ENDED, engine->bin[b].station, layers->lot[layers->first], 0);
    layers->first = (layers->first + 1) % EFI_LAYERS;
    layers->count--;
}

static void add_layer(efi_engine *engine, int i, int lot)
{
    efi_run_layers *layers = layers_of(engine, i);
    const int at = (layers->first + layers->count) % EFI_LAYERS;
    layers->lot[at] = lot;
    layers->amount_t[at] = 0.0;
    layers->count++;
}

void efi_lots_settle(efi_engine *engine)
{
    for (int b = 0; b < engine->bins; b++)
        settle_layers(engine, b);
    engine->lot_left_t -= engine->lot_rate_tph * (engine->now_h - engine->lot_since_h);
    engine->lot_since_h = engine->now_h;
}

/* ---- opening and cleaning ---------------------------------------------------------------------- */

static void refresh_station(efi_engine *engine, int i)
{
    if (is_bin(engine, i))
        return;
    engine->station[i].is_changed = true;
    engine->rates.capacity_tph[i] = efi_station_present_tph(engine, i);
}

static const efi_network_bin *levels_of(const efi_engine *engine, int i, int lot)
{
    const efi_network_bin *own = lot < engine->settings.lots ? engine->settings.lot[lot].bin : NULL;
    return own ? &own[i] : &engine->network->station[i].bin;
}

/* Levels of an empty bin for its lot. */
static void fit_bin(efi_engine *engine, int i)
{
    efi_run_bin *bin = &engine->bin[engine->run_bin[i]];
    const efi_network_bin *levels = levels_of(engine, i, engine->lot[i].lot);
    efi_bin_settle(bin, engine->now_h);
    bin->full_t = levels->full_t;
    bin->restart_t = levels->restart_t;
    bin->refill_t = levels->refill_t;
    bin->is_changed = true;
    efi_bin_place(engine, bin);
}

/* Capacities, levels and shares of a station for its lot. */
static void fit_station(efi_engine *engine, int i)
{
    const int lot = engine->lot[i].lot;
    if (lot >= engine->settings.lots)
        return;
    const efi_lot *described = &engine->settings.lot[lot];
    efi_run_station *station = &engine->station[i];
    if (is_bin(engine, i)) {
        fit_bin(engine, i);
    } else {
        efi_station_settle(station, engine->now_h);
        station->machine_tph = described->capacity_tph ? described->capacity_tph[i]
                                                       : engine->network->station[i].capacity_tph;
        station->set_tph = station->machine_tph * station->machines;
        if (station->is_steady)
            station->band_tph = engine->network->station[i].steady.band_share * station->set_tph;
    }
    efi_rates_set_base(&engine->rates, i,
                       described->share ? described->share : engine->rates.described_share);
}

static void open_station(efi_engine *engine, int i)
{
    efi_run_lot *lot = &engine->lot[i];
    lot->phase = EFI_LOT_OPEN;
    fit_station(engine, i);
    refresh_station(engine, i);
    if (lot->lot < engine->settings.lots)
        efi_event_note(engine, EFI_EVENT_LOT_BEGINS, i, lot->lot, 0);
}

/* ---- clean-downs ------------------------------------------------------------------------------- */

/* Is no work done at a station, for a break or a closed time? Bins and splits have none of their own. */
static bool is_at_rest(const efi_engine *engine, int i)
{
    const efi_network_kind kind = engine->network->station[i].kind;
    const bool has_times = kind != EFI_NETWORK_BIN && kind != EFI_NETWORK_SPLIT;
    return engine->station[has_times ? i : engine->intake].rests > 0;
}

/* Starts or holds up the clean-down in hand at a station. */
static void put_cleaning(efi_engine *engine, int i)
{
    efi_run_lot *lot = &engine->lot[i];
    double *slot_h = &engine->slot_h[engine->first_clean + i];
    if (lot->phase != EFI_LOT_CLEANED || lot->clean_waits)
        return;
    if (is_at_rest(engine, i)) {
        if (*slot_h < INFINITY)
            lot->clean_left_h = *slot_h > engine->now_h ? *slot_h - engine->now_h : 0.0;
        *slot_h = INFINITY;
    } else if (!(*slot_h < INFINITY)) {
        *slot_h = engine->now_h + lot->clean_left_h;
    }
}

void efi_lots_hold(efi_engine *engine, int i)
{
    put_cleaning(engine, i);
    for (int k = 0; i == engine->intake && k < engine->network->stations; k++)
        put_cleaning(engine, k);
}

static void begin_cleaning(efi_engine *engine, int i)
{
    engine->lot[i].clean_waits = false;
    engine->clean_busy++;
    efi_event_note(engine, EFI_EVENT_CLEANING, i, engine->lot[i].lot, 0);
    put_cleaning(engine, i);
    refresh_station(engine, i);
}

/* The station has ended its lot and is to be cleaned, as soon as there is a team for it. */
static void call_cleaning(efi_engine *engine, int i, double hours)
{
    efi_run_lot *lot = &engine->lot[i];
    lot->phase = EFI_LOT_CLEANED;
    lot->clean_left_h = efi_grid_round(hours);
    lot->clean_waits = true;
    lot->clean_ticket = engine->clean_tickets++;
    if (engine->settings.clean_teams == 0 || engine->clean_busy < engine->settings.clean_teams)
        begin_cleaning(engine, i);
    refresh_station(engine, i);
}

/* A team has done with a station and goes to the next. */
static void end_cleaning(efi_engine *engine, int i)
{
    int next = -1;
    engine->clean_busy--;
    efi_event_note(engine, EFI_EVENT_CLEANED, i, engine->lot[i].lot, 0);
    for (int k = 0; k < engine->network->stations; k++)
        if (engine->lot[k].phase == EFI_LOT_CLEANED && engine->lot[k].clean_waits &&
            (next < 0 || engine->lot[k].clean_ticket < engine->lot[next].clean_ticket))
            next = k;
    if (next >= 0)
        begin_cleaning(engine, next);
}

/* Begins the clean-down of the whole line before the lot that waits at the intake; false: there is none. */
static bool clean_line(efi_engine *engine)
{
    const int next = engine->lot[engine->intake].lot;
    const double hours = next > 0 ? engine->settings.lot[next].line_clean_h : 0.0;
    if (!(hours > 0.0) || engine->line_cleaned == next)
        return false;
    engine->line_cleaned = next;
    engine->cleans_line = true;
    efi_event_note(engine, EFI_EVENT_CLEANING, engine->intake, next, 0);
    for (int i = 0; i < engine->network->stations; i++) {
        efi_run_lot *lot = &engine->lot[i];
        if (lot->is_indifferent)
            continue;
        lot->phase = EFI_LOT_CLEANED;
        lot->clean_left_h = efi_grid_round(hours);
        put_cleaning(engine, i);
        refresh_station(engine, i);
    }
    return true;
}

/* A station of it is clean; the intake last of all, as it were. */
static void end_line_clean(efi_engine *engine, int i)
{
    engine->lot[i].phase = i == engine->intake ? EFI_LOT_WAITED : EFI_LOT_OPEN;
    refresh_station(engine, i);
    for (int k = 0; k < engine->network->stations; k++)
        if (engine->lot[k].phase == EFI_LOT_CLEANED)
            return;
    engine->cleans_line = false;
    efi_event_note(engine, EFI_EVENT_CLEANED, engine->intake, engine->lot[engine->intake].lot, 0);
}

/* Ends the station's lot; its clean-down begins, or it is open for the next at once. */
static void end_lot(efi_engine *engine, int i)
{
    efi_run_lot *lot = &engine->lot[i];
    if (is_bin(engine, i)) {
        add_layer(engine, i, lot->lot + 1);
        drop_layer(engine, engine->run_bin[i]);
    } else {
        efi_event_note(engine, EFI_EVENT_LOT_ENDED, i, lot->lot, 0);
    }
    lot->lot++;
    const double hours = clean_h(engine, i, lot->lot);
    if (hours > 0.0) {
        call_cleaning(engine, i, hours);
    } else if (i == engine->intake) {
        lot->phase = EFI_LOT_WAITED;
        refresh_station(engine, i);
    } else {
        open_station(engine, i);
    }
}

void efi_lots_apply(efi_engine *engine, int k)
{
    engine->slot_h[engine->first_clean + k] = INFINITY;
    if (engine->first_clean + k < engine->first_layer) {
        if (engine->cleans_line) {
            end_line_clean(engine, k);
            return;
        }
        end_cleaning(engine, k);
        if (k == engine->intake)
            engine->lot[k].phase = EFI_LOT_WAITED;
        else
            open_station(engine, k);
    } else if (engine->first_clean + k < engine->first_lot) {
        const int b = engine->first_clean + k - engine->first_layer;
        settle_layers(engine, b);
        drop_layer(engine, b);
    } else if (engine->first_clean + k == engine->first_lot) {
        efi_lots_settle(engine);
        engine->lot_left_t = 0.0;
        engine->lot_rate_tph = 0.0;
        end_lot(engine, engine->intake);
    } /* the arrival of a lot only calls for a look at the intake */
}

/* ---- passing on -------------------------------------------------------------------------------- */

/*
 * Stations on a common loop end a lot together: what a return brings back may belong to it. A group is a
 * strongly connected part of the network, mostly a single station; group[i] is its first member, members
 * follow next_member until -1.
 */

/* Have all that feed the group from outside ended its lot? */
static bool feeders_are_past(const efi_engine *engine, int group)
{
    const efi_rates *rates = &engine->rates;
    for (int i = group; i >= 0; i = engine->lot[i].next_member)
        for (int k = rates->in_start[i]; k < rates->in_start[i + 1]; k++) {
            const int from = engine->network->spout[rates->in_spout[k]].from;
            if (engine->lot[from].group != group && lot_given(engine, from) <= engine->lot[i].lot)
                return false;
        }
    return true;
}

bool efi_lots_run_out(const efi_engine *engine, int bin_station)
{
    return engine->lot && (layers_of(engine, bin_station)->count > 1 ||
                           feeders_are_past(engine, engine->lot[bin_station].group));
}

/* Are the levels of a bin those of the next lot? */
static bool same_levels(const efi_engine *engine, int i, int lot)
{
    const efi_network_bin *a = levels_of(engine, i, lot);
    const efi_network_bin *b = levels_of(engine, i, lot + 1);
    return lot + 1 >= engine->settings.lots ||
           (a->full_t == b->full_t && a->restart_t == b->restart_t && a->refill_t == b->refill_t);
}

/* May the bin or the conveyor with a delay, alone in its group, take the next lot after the present one that
 * it still holds? The conveyor not when it divides, since the shares change with the lot. */
static bool takes_on_top(const efi_engine *engine, int i)
{
    const efi_rates *rates = &engine->rates;
    if (engine->lot[i].next_member >= 0 || clean_h(engine, i, engine->lot[i].lot + 1) > 0.0)
        return false;
    if (engine->run_belt[i] >= 0)
        return rates->out_start[i + 1] == rates->out_start[i] + 1;
    return is_bin(engine, i) && layers_of(engine, i)->count < EFI_LAYERS &&
           same_levels(engine, i, engine->lot[i].lot);
}

/* Are all members open and all bins among them empty? Bins that are not give out what is left, whatever their
 * restart level. */
static bool has_run_out(efi_engine *engine, int group)
{
    bool has = true;
    for (int i = group; i >= 0; i = engine->lot[i].next_member) {
        has = has && engine->lot[i].phase == EFI_LOT_OPEN;
        if (engine->run_belt[i] >= 0)
            has = has && efi_belt_is_empty(&engine->belt[engine->run_belt[i]]);
        if (!is_bin(engine, i))
            continue;
        engine->bin[engine->run_bin[i]].is_changed = true;
        engine->rates.out_shut[i] = 0;
        has = has && (engine->rates.at[i] & EFI_AT_EMPTY) && layers_of(engine, i)->count == 1;
    }
    return has;
}

/* True when the group's lot has changed. */
static bool pass_group(efi_engine *engine, int group)
{
    efi_run_lot *lot = &engine->lot[group];
    if (lot->group != group || lot->is_indifferent || lot->phase != EFI_LOT_OPEN ||
        lot->lot >= engine->settings.lots || group == engine->intake || !feeders_are_past(engine, group))
        return false;
    if (has_run_out(engine, group)) {
        for (int i = group; i >= 0; i = engine->lot[i].next_member)
            end_lot(engine, i);
        return true;
    }
    if (!takes_on_top(engine, group))
        return false;
    lot->lot++;
    if (is_bin(engine, group)) {
        settle_layers(engine, engine->run_bin[group]);
        add_layer(engine, group, lot->lot);
    } else {
        fit_station(engine, group);
        refresh_station(engine, group);
    }
    if (lot->lot < engine->settings.lots)
        efi_event_note(engine, EFI_EVENT_LOT_BEGINS, group, lot->lot, 0);
    return true;
}

static bool line_is_clear(const efi_engine *engine)
{
    for (int i = 0; i < engine->network->stations; i++) {
        const efi_run_lot *lot = &engine->lot[i];
        const int next = engine->lot[engine->intake].lot;
        if (i != engine->intake && !lot->is_indifferent &&
            (lot->lot < next || lot->phase != EFI_LOT_OPEN || lot_given(engine, i) < next))
            return false;
    }
    return true;
}

/* Opens the intake when its lot has come and may be taken in. */
static void open_intake(efi_engine *engine)
{
    efi_run_lot *lot = &engine->lot[engine->intake];
    if (lot->phase != EFI_LOT_WAITED || lot->lot >= engine->settings.lots)
        return;
    const efi_lot *described = &engine->settings.lot[lot->lot];
    if (engine->settings.is_line_clear && (!line_is_clear(engine) || clean_line(engine)))
        return;
    const double arrives_h = described->arrives_h - engine->base_h;
    if (arrives_h > engine->now_h) {
        engine->slot_h[engine->first_lot + 1] = arrives_h;
        return;
    }
    engine->lot_left_t = described->tonnes_t;
    engine->lot_since_h = engine->now_h;
    open_station(engine, engine->intake);
}

/* Spouts between stations at different lots carry nothing. */
static void shut_spouts(efi_engine *engine)
{
    efi_rates *rates = &engine->rates;
    rates->has_shut = true;
    for (int e = 0; e < engine->network->spouts; e++) {
        const efi_network_spout *spout = &engine->network->spout[e];
        const efi_run_lot *to = &engine->lot[spout->to];
        rates->shut[e] = !to->is_indifferent &&
                         (lot_given(engine, spout->from) != to->lot || to->phase != EFI_LOT_OPEN);
    }
}

void efi_lots_pass(efi_engine *engine)
{
    for (int b = 0; b < engine->bins; b++)
        if (engine->rates.at[engine->bin[b].station] & EFI_AT_EMPTY) {
            settle_layers(engine, b);
            while (engine->layers[b].count > 1)
                drop_layer(engine, b);
        }
    bool has_changed = true;
    while (has_changed) {
        has_changed = false;
        for (int k = 0; k < engine->network->stations; k++)
            has_changed = pass_group(engine, engine->rates.order[k]) || has_changed;
    }
    open_intake(engine);
    shut_spouts(engine);
}

void efi_lots_put(efi_engine *engine)
{
    for (int b = 0; b < engine->bins; b++) {
        const efi_run_layers *layers = &engine->layers[b];
        const double amount_t = layers->amount_t[layers->first] > 0.0 ? layers->amount_t[layers->first] : 0.0;
        const double out_tph = engine->rates.through_tph[engine->bin[b].station];
        engine->slot_h[engine->first_layer + b] = layers->count > 1 && out_tph > 0.0
                                                      ? engine->now_h + amount_t / out_tph
                                                      : INFINITY;
    }
    engine->lot_rate_tph = engine->rates.through_tph[engine->intake];
    const double left_t = engine->lot_left_t > 0.0 ? engine->lot_left_t : 0.0;
    engine->slot_h[engine->first_lot] = engine->lot_rate_tph > 0.0
                                            ? engine->now_h + left_t / engine->lot_rate_tph
                                            : INFINITY;
}

int efi_engine_lot(const efi_engine *engine, int station)
{
    return engine->lot ? lot_given(engine, station) : -1;
}

/* ---- starting ---------------------------------------------------------------------------------- */

void efi_lots_build(efi_engine *engine)
{
    for (int i = 0; i < engine->network->stations; i++) {
        engine->lot[i].group = engine->rates.loop[i];
        engine->lot[i].next_member = -1;
        for (int j = i - 1; j >= 0; j--) /* the nearest member before it */
            if (engine->lot[j].group == engine->lot[i].group) {
                engine->lot[j].next_member = i;
                break;
            }
    }
}

void efi_lots_start(efi_engine *engine)
{
    for (int b = 0; b < engine->bins; b++) {
        engine->layers[b] = (efi_run_layers){.count = 1};
        engine->layers[b].amount_t[0] = engine->bin[b].level_t - engine->bin[b].empty_t;
    }
    for (int i = 0; i < engine->network->stations; i++) {
        const efi_network_station *station = &engine->network->station[i];
        engine->lot[i].lot = 0;
        engine->lot[i].phase = EFI_LOT_OPEN;
        engine->lot[i].clean_waits = false;
        engine->lot[i].is_indifferent = efi_station_is_free(station);
        if (station->kind == EFI_NETWORK_INTAKE)
            engine->intake = i;
        fit_station(engine, i);
    }
    engine->lot[engine->intake].phase = EFI_LOT_WAITED;
    engine->lot_left_t = engine->lot_since_h = engine->lot_rate_tph = 0.0;
    engine->clean_busy = 0;
    engine->clean_tickets = 0;
    engine->line_cleaned = -1;
    engine->cleans_line = false;
    for (int i = 0; i < engine->network->stations; i++)
        refresh_station(engine, i);
}
