/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/rates.h"

#include <math.h>

/* One station of the list, with the bin right before it. */
typedef struct series_pass {
    int station;
    int bin_before;  /* -1: none */
    bool is_first;   /* nothing leads in */
    bool is_last;    /* nothing but free outlets behind */
    double share;    /* to the next of the list */
    double inverse;  /* 1/share */
    double room_tph; /* working: what the next takes from this one */
    int wastes;
    const int *waste; /* shape [wastes]: spouts to free outlets, in the arena of the rates */
} series_pass;

struct efi_series {
    int passes;
    series_pass *pass; /* shape [passes], each line from its intake on */
    int outlets;
    int *outlet; /* shape [outlets]: the free ones */
};

static double least(double a, double b)
{
    return a < b ? a : b;
}

/* The spout to the next of the list, or -1; the others go to `waste`. */
static int divide_spouts(const efi_rates *rates, int station, series_pass *pass, int *waste)
{
    int live = -1;
    pass->wastes = 0;
    pass->waste = waste;
    for (int k = rates->out_start[station]; k < rates->out_start[station + 1]; k++) {
        const int e = rates->out_spout[k];
        if (efi_station_is_free(&rates->network->station[rates->network->spout[e].to]))
            waste[pass->wastes++] = e;
        else
            live = e;
    }
    return live;
}

/* Adds the line that begins at `intake`; `waste` has room for the spouts of all. */
static int add_line(const efi_rates *rates, efi_series *series, int intake, int *waste)
{
    const efi_network *network = rates->network;
    int station = intake;
    int bin = -1;
    int wastes = 0;
    while (station >= 0) {
        series_pass *pass = &series->pass[series->passes++];
        *pass = (series_pass){.station = station, .bin_before = bin, .is_first = station == intake};
        const int live = divide_spouts(rates, station, pass, waste + wastes);
        wastes += pass->wastes;
        pass->is_last = live < 0;
        pass->share = live < 0 ? 0.0 : rates->share[live];
        pass->inverse = live < 0 ? 1.0 : rates->share_inverse[live];
        station = live < 0 ? -1 : network->spout[live].to;
        bin = -1;
        if (station >= 0 && network->station[station].kind == EFI_NETWORK_BIN) {
            bin = station;
            station = network->spout[rates->out_spout[rates->out_start[bin]]].to;
        }
    }
    return wastes;
}

static bool has_belt(const efi_network *network)
{
    for (int i = 0; i < network->stations; i++)
        if (efi_station_is_belt(&network->station[i]))
            return true;
    return false;
}

ef_status efi_series_build(const efi_rates *rates, efi_arena *arena, efi_series **series)
{
    const efi_network *network = rates->network;
    *series = NULL;
    if (!rates->has_one_sweep || has_belt(network))
        return EF_OK;
    efi_series *made = efi_arena_get(arena, 1, sizeof *made);
    int *waste = efi_arena_get(arena, (size_t)network->spouts + 1, sizeof *waste);
    if (!made || !waste)
        return EF_MEMORY;
    made->pass = efi_arena_get(arena, (size_t)network->stations + 1, sizeof *made->pass);
    made->outlet = efi_arena_get(arena, (size_t)network->stations + 1, sizeof *made->outlet);
    if (!made->pass || !made->outlet)
        return EF_MEMORY;
    int wastes = 0;
    for (int i = 0; i < network->stations; i++) {
        if (rates->in_start[i] == rates->in_start[i + 1])
            wastes += add_line(rates, made, i, waste + wastes);
        if (efi_station_is_free(&network->station[i]))
            made->outlet[made->outlets++] = i;
    }
    *series = made;
    return EF_OK;
}

/* Rooms, from the last station back. */
static void sweep_back(const efi_series *series, efi_rates *rates)
{
    const double *capacity_tph = rates->capacity_tph;
    const unsigned char *at = rates->at;
    const unsigned char *in_shut = rates->in_shut;
    double *accept_tph = rates->accept_tph;
    double room = INFINITY;
    for (series_pass *pass = series->pass + series->passes; pass-- > series->pass;) {
        /* behind the last one nothing limits: its inverse share is 1 */
        room = pass->is_last ? INFINITY : room;
        pass->room_tph = room;
        const double accept = least(capacity_tph[pass->station], room * pass->inverse);
        accept_tph[pass->station] = accept;
        room = accept;
        if (pass->bin_before >= 0) {
            room = at[pass->bin_before] & EFI_AT_FULL ? room : INFINITY;
            room = in_shut[pass->bin_before] ? 0.0 : room;
        }
    }
}

/* What goes to free outlets by the way. */
static void send_wastes(const series_pass *pass, efi_rates *rates, double total)
{
    const double others = pass->room_tph * pass->inverse;
    for (int w = 0; w < pass->wastes; w++)
        rates->flow_tph[pass->waste[w]] = rates->share[pass->waste[w]] * least(total, others);
}

static void fill_outlets(const efi_series *series, efi_rates *rates)
{
    for (int k = 0; k < series->outlets; k++) {
        const int i = series->outlet[k];
        double taken = 0.0;
        for (int j = rates->in_start[i]; j < rates->in_start[i + 1]; j++)
            taken += rates->flow_tph[rates->in_spout[j]];
        rates->supply_tph[i] = taken;
        rates->through_tph[i] = taken;
    }
}

void efi_series_solve(const efi_series *series, efi_rates *rates)
{
    const double *capacity_tph = rates->capacity_tph;
    const double *accept_tph = rates->accept_tph;
    const unsigned char *at = rates->at;
    const unsigned char *out_shut = rates->out_shut;
    double *inflow_tph = rates->inflow_tph;
    double *through_tph = rates->through_tph;
    double *supply_tph = rates->supply_tph;
    sweep_back(series, rates);
    double offer = INFINITY;
    double room = INFINITY;
    const series_pass *end = series->pass + series->passes;
    for (const series_pass *pass = series->pass; pass < end; pass++) {
        const int station = pass->station;
        const int bin = pass->bin_before;
        const double accept = accept_tph[station];
        double supply = pass->is_first ? INFINITY : offer;
        if (bin >= 0) {
            inflow_tph[bin] = least(offer, room);
            supply = at[bin] & EFI_AT_EMPTY ? supply : INFINITY;
            supply = out_shut[bin] ? 0.0 : supply;
            through_tph[bin] = least(supply, accept);
        }
        supply_tph[station] = supply;
        through_tph[station] = least(supply, accept);
        const double total = least(capacity_tph[station], supply);
        offer = pass->share * total;
        room = pass->room_tph;
        if (pass->wastes > 0)
            send_wastes(pass, rates, total);
    }
    fill_outlets(series, rates);
}
