/* SPDX-License-Identifier: GPL-3.0-or-later
 * From the network of a plant to the program of its traces: sources, gates, bins. */
#include "answers/bins/net.h"

#include "answers/bins/path.h"
#include "base/memory.h"

#include <math.h>
#include <string.h>

enum {
    BINS_MOST = EFI_FLUID_SEGMENTS_MOST - 1,
    MOST_SWEEPS = 10000
};
/* Coefficients below this are none; directions that differ by less are one. */
#define TINY 1e-12

typedef struct build {
    efi_net *net;
    efi_arena *arena;
    const efi_network *network;
    int *source_of; /* shape [spouts]: the source that flows along it, -1 */
    double *taken;  /* shape [stations][sources]: a */
} build;

static const efi_network_station *station_of(const build *b, int n)
{
    return &b->network->station[n];
}

static bool divides_by_room(const efi_network_station *of)
{
    return of->kind == EFI_NETWORK_SPLIT && of->split != EFI_NETWORK_BY_SHARES;
}

static double *taken_by(const build *b, int n)
{
    return b->taken + (size_t)n * (size_t)b->net->sources;
}

/* ---- sources and what each station takes of them --------------------------------------------------------
 */

static ef_status find_sources(build *b)
{
    const size_t most = (size_t)b->network->stations + (size_t)b->network->spouts;
    int *station = efi_arena_get(b->arena, most, sizeof *station);
    b->source_of = efi_arena_get(b->arena, (size_t)b->network->spouts, sizeof *b->source_of);
    if (!station || !b->source_of)
        return EF_MEMORY;
    for (int n = 0; n < b->network->stations; n++)
        if (station_of(b, n)->kind == EFI_NETWORK_INTAKE)
            station[b->net->sources++] = n;
    for (int k = 0; k < b->network->spouts; k++) {
        const int from = b->network->spout[k].from;
        const efi_network_station *of = station_of(b, from);
        const bool is_source = of->kind == EFI_NETWORK_BIN || divides_by_room(of);
        b->source_of[k] = is_source ? b->net->sources : -1;
        if (is_source)
            station[b->net->sources++] = from;
    }
    b->net->source_station = station;
    const size_t cells = (size_t)b->network->stations * (size_t)b->net->sources;
    b->taken = efi_arena_get(b->arena, cells, sizeof *b->taken);
    return b->taken ? EF_OK : EF_MEMORY;
}

/* Adds what flows along a spout, for each tonne of each source. */
static void add_spout(const build *b, int k, double *sum)
{
    const efi_network_spout *spout = &b->network->spout[k];
    if (b->source_of[k] >= 0) {
        sum[b->source_of[k]] += 1.0;
        return;
    }
    const double *from = taken_by(b, spout->from);
    for (int v = 0; v < b->net->sources; v++)
        sum[v] += spout->share * from[v];
}

/* x = M x + B y, swept until it stands still: what comes back without a bin between shrinks from round to
 * round. EF_NO_ANSWER where it does not. */
static ef_status spread(const build *b)
{
    const size_t sources = (size_t)b->net->sources;
    double *sum = efi_arena_get(b->arena, sources, sizeof *sum);
    if (!sum)
        return EF_MEMORY;
    for (int sweep = 0; sweep < MOST_SWEEPS; sweep++) {
        double change = 0.0;
        for (int n = 0; n < b->network->stations; n++) {
            if (station_of(b, n)->kind == EFI_NETWORK_BIN)
                continue;
            memset(sum, 0, sources * sizeof *sum);
            for (int v = 0; v < b->net->sources; v++)
                if (b->net->source_station[v] == n && station_of(b, n)->kind == EFI_NETWORK_INTAKE)
                    sum[v] = 1.0;
            for (int k = 0; k < b->network->spouts; k++)
                if (b->network->spout[k].to == n)
                    add_spout(b, k, sum);
            double *taken = taken_by(b, n);
            for (size_t v = 0; v < sources; v++)
                change = fmax(change, fabs(sum[v] - taken[v]));
            memcpy(taken, sum, sources * sizeof *sum);
        }
        if (change <= 1e-15)
            return EF_OK;
    }
    return EF_NO_ANSWER;
}

/* ---- bins, partings -------------------------------------------------------------------------------------
 */

static ef_status add_bins(const build *b)
{
    const size_t sources = (size_t)b->net->sources;
    efi_net_bin *bins = efi_arena_get(b->arena, BINS_MOST, sizeof *bins);
    if (!bins)
        return EF_MEMORY;
    b->net->bin = bins;
    for (int n = 0; n < b->network->stations; n++) {
        const efi_network_station *of = station_of(b, n);
        if (of->kind != EFI_NETWORK_BIN)
            continue;
        if (b->net->bins == BINS_MOST)
            return EF_USAGE;
        efi_net_bin *bin = &bins[b->net->bins++];
        bin->station = n;
        bin->start_share = of->bin.full_t > 0.0 ? of->bin.start_t / of->bin.full_t : 0.0;
        bin->gain = efi_arena_get(b->arena, sources, sizeof *bin->gain);
        if (!bin->gain)
            return EF_MEMORY;
        for (int k = 0; k < b->network->spouts; k++) {
            if (b->network->spout[k].to == n)
                add_spout(b, k, bin->gain);
            if (b->network->spout[k].from == n)
                bin->gain[b->source_of[k]] -= 1.0;
        }
    }
    return EF_OK;
}

static ef_status add_partings(const build *b)
{
    efi_net *net = b->net;
    net->parting = efi_arena_get(b->arena, (size_t)b->network->stations, sizeof *net->parting);
    if (!net->parting)
        return EF_MEMORY;
    for (int n = 0; n < b->network->stations; n++) {
        if (!divides_by_room(station_of(b, n)))
            continue;
        double *row = efi_arena_get(b->arena, (size_t)net->sources, sizeof *row);
        if (!row)
            return EF_MEMORY;
        for (int v = 0; v < net->sources; v++)
            row[v] = taken_by(b, n)[v] - (net->source_station[v] == n ? 1.0 : 0.0);
        net->parting[net->partings++] = row;
    }
    return EF_OK;
}

/* ---- gates ----------------------------------------------------------------------------------------------
 */

/* The gate in the direction of `taken`, made where there is none; -1: nothing passes. */
static ef_status find_gate(const build *b, efi_net_gate *gates, const double *taken, int *gate, double *scale)
{
    const int sources = b->net->sources;
    int first = 0;
    int count = 0;
    *gate = -1;
    while (first < sources && !(fabs(taken[first]) > TINY))
        first++;
    if (first == sources)
        return EF_OK;
    *scale = taken[first];
    for (int g = 0; g < b->net->gates; g++) {
        double apart = 0.0;
        for (int v = 0; v < sources; v++)
            apart = fmax(apart, fabs(gates[g].per_source[v] - taken[v] / *scale));
        if (apart <= TINY) {
            *gate = g;
            return EF_OK;
        }
    }
    efi_net_gate *new_gate = &gates[b->net->gates];
    new_gate->per_source = efi_arena_get(b->arena, (size_t)sources, sizeof *new_gate->per_source);
    if (!new_gate->per_source)
        return EF_MEMORY;
    for (int v = 0; v < sources; v++) {
        const bool counts = fabs(taken[v]) > TINY;
        new_gate->per_source[v] = counts ? taken[v] / *scale : 0.0;
        count += counts;
    }
    new_gate->only = count == 1 ? first : -1;
    *gate = b->net->gates++;
    return EF_OK;
}

static ef_status add_units(const build *b, const double *flow_tph, const double *load_share)
{
    efi_net *net = b->net;
    const size_t stations = (size_t)b->network->stations;
    efi_net_unit *units = efi_arena_get(b->arena, stations, sizeof *units);
    efi_net_gate *gates = efi_arena_get(b->arena, stations, sizeof *gates);
    if (!units || !gates)
        return EF_MEMORY;
    net->unit = units;
    net->gate = gates;
    for (int n = 0; n < b->network->stations; n++) {
        const efi_network_station *of = station_of(b, n);
        efi_net_unit *unit = &units[net->units];
        if (!efi_path_acts(of) ||
            (of->kind == EFI_NETWORK_INTAKE && of->loads.is_used && of->loads.is_instant))
            continue;
        EF_TRY(find_gate(b, gates, taken_by(b, n), &unit->gate, &unit->scale));
        if (unit->gate < 0)
            continue;
        unit->station = n;
        unit->machines = of->machines;
        unit->capacity_tph = efi_path_machine_tph(of);
        unit->basis = efi_path_basis(of, flow_tph[n], load_share[n]);
        net->machines += of->machines;
        net->units++;
    }
    return EF_OK;
}

static ef_status add_feeds(const build *b, const efi_net_steady *steady, int count)
{
    efi_net *net = b->net;
    efi_net_feed *feeds = efi_arena_get(b->arena, (size_t)count, sizeof *feeds);
    if (!feeds)
        return EF_MEMORY;
    for (int f = 0; f < count; f++) {
        feeds[f] = (efi_net_feed){.station = steady[f].station,
                                  .unit = -1,
                                  .weight = steady[f].weight,
                                  .per_source = taken_by(b, steady[f].station)};
        for (int u = 0; u < net->units; u++)
            if (net->unit[u].station == steady[f].station)
                feeds[f].unit = u;
        if (feeds[f].unit < 0)
            return EF_NO_ANSWER;
    }
    net->feed = feeds;
    net->feeds = count;
    return EF_OK;
}

ef_status efi_net_build(efi_net *net, efi_arena *arena, const efi_plant_network *plant,
                        const double *flow_tph, const double *load_share, const efi_net_steady *steady,
                        int feeds)
{
    *net = (efi_net){.plant = plant};
    build b = {.net = net, .arena = arena, .network = &plant->network};
    EF_TRY(find_sources(&b));
    EF_TRY(spread(&b));
    EF_TRY(add_bins(&b));
    EF_TRY(add_partings(&b));
    EF_TRY(add_units(&b, flow_tph, load_share));
    return add_feeds(&b, steady, feeds);
}
