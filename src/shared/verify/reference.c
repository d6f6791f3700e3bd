/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/reference.h"

#include <string.h>

enum {
    NONE = -1
};

/* A share of what comes into `from` that goes to `to`. */
typedef struct edge {
    int from;
    int to;
    double share;
    int next_out; /* of the same `from`, NONE at the end */
    int next_in;  /* of the same `to` */
} edge;

/* The nodes that the crop reaches, and those taken out so far. A node is a material at a station: its number
 * is that of the station times the materials, plus that of the material. */
typedef struct reduction {
    efi_reference *reference;
    int nodes;
    edge *edges;
    size_t edge_count;
    size_t edge_room;
    int *first_out; /* shape [node] */
    int *first_in;
    int *outs; /* shape [node]: edges to and from nodes that are still in */
    int *ins;
    bool *in;        /* shape [node]: reached and not yet taken out */
    double *leaving; /* shape [node]: share that goes on to others, when it was taken out */
    double *arrives; /* shape [node][intake]: what comes in from outside */
    int *order;      /* shape [node]: in the order of taking out */
    int *rank;       /* shape [node]: position in that order */
    int taken_out;
} reduction;

const double *efi_reference_share(const efi_reference *reference, int station, int discharge)
{
    return reference->share[reference->first_discharge[station] + discharge];
}

/* Marks the stations that the crop comes to. `stack` has room for each station. */
static void mark_reached(const efi_reference *reference, bool *reached, int *stack)
{
    int depth = 0;
    memset(reached, 0, (size_t)reference->stations * sizeof *reached);
    for (int i = 0; i < reference->intake_count; i++) {
        reached[reference->intake[i]] = true;
        stack[depth++] = reference->intake[i];
    }
    while (depth > 0) {
        const int from = stack[--depth];
        const efi_discharges *out = &reference->scenario->stations[from].discharges;
        for (int d = 0; d < out->count; d++) {
            const int to = out->items[d].to[reference->crop];
            if (to < 0 || reached[to])
                continue;
            reached[to] = true;
            stack[depth++] = to;
        }
    }
}

/* The share of what comes to a station as one material that leaves it as another. */
static double turned(const efi_reference *reference, int station, int from, int into)
{
    const double *turns = reference->scenario->stations[station].turns;
    if (!turns)
        return from == into ? 1.0 : 0.0;
    return turns[(reference->crop * reference->materials + from) * reference->materials + into];
}

/* The share of a node that goes on by a discharge as the material `into`; 0 where the crop does not go there.
 */
static double passed_on(const efi_reference *reference, int node, int d, int into)
{
    const int s = node / reference->materials;
    if (reference->scenario->stations[s].discharges.items[d].to[reference->crop] < 0)
        return 0.0;
    return efi_reference_share(reference, s, d)[into] *
           turned(reference, s, node % reference->materials, into);
}

/* Marks the nodes that the receipt comes to. `stack` has room for each. */
static void mark_nodes(const efi_reference *reference, bool *in, int *stack)
{
    const int materials = reference->materials;
    const double *receipt = reference->scenario->crops[reference->crop].receipt;
    int depth = 0;
    for (int i = 0; i < reference->intake_count; i++) {
        for (int m = 0; m < materials; m++) {
            if (!(receipt[m] > 0.0))
                continue;
            in[reference->intake[i] * materials + m] = true;
            stack[depth++] = reference->intake[i] * materials + m;
        }
    }
    while (depth > 0) {
        const int node = stack[--depth];
        const efi_discharges *out = &reference->scenario->stations[node / materials].discharges;
        for (int d = 0; d < out->count; d++) {
            for (int k = 0; k < materials; k++) {
                if (!(passed_on(reference, node, d, k) > 0.0))
                    continue;
                const int to = out->items[d].to[reference->crop] * materials + k;
                if (in[to])
                    continue;
                in[to] = true;
                stack[depth++] = to;
            }
        }
    }
}

/* Adds to the share that goes from one node to another. */
static ef_status add_share(reduction *r, int from, int to, double share)
{
    for (int e = r->first_out[from]; e != NONE; e = r->edges[e].next_out) {
        if (r->edges[e].to == to) {
            r->edges[e].share += share;
            return EF_OK;
        }
    }
    if (efi_grow(&r->edges, r->edge_count, &r->edge_room, sizeof *r->edges) != 0)
        return EF_MEMORY;
    const int e = (int)r->edge_count++;
    r->edges[e] = (edge){from, to, share, r->first_out[from], r->first_in[to]};
    r->first_out[from] = r->first_in[to] = e;
    r->outs[from]++;
    r->ins[to]++;
    return EF_OK;
}

/* Adds what goes on from a node by one discharge. */
static ef_status add_discharge(reduction *r, int node, int d)
{
    const efi_reference *reference = r->reference;
    const int materials = reference->materials;
    const int to = reference->scenario->stations[node / materials].discharges.items[d].to[reference->crop];
    for (int k = 0; k < materials; k++) {
        const double share = passed_on(reference, node, d, k);
        if (share > 0.0)
            EF_TRY(add_share(r, node, to * materials + k, share));
    }
    return EF_OK;
}

/* Sets up what comes in and the edges. */
static ef_status load(reduction *r, int *stack)
{
    const efi_reference *reference = r->reference;
    const int materials = reference->materials;
    const int intakes = reference->intake_count;
    const double *receipt = reference->scenario->crops[reference->crop].receipt;
    mark_nodes(reference, r->in, stack);
    for (int node = 0; node < r->nodes; node++)
        r->first_out[node] = r->first_in[node] = r->rank[node] = NONE;
    for (int i = 0; i < intakes; i++)
        for (int m = 0; m < materials; m++)
            r->arrives[(size_t)(reference->intake[i] * materials + m) * (size_t)intakes + (size_t)i] =
                receipt[m];
    for (int node = 0; node < r->nodes; node++) {
        const efi_station *station = &reference->scenario->stations[node / materials];
        for (int d = 0; r->in[node] && d < station->discharges.count; d++)
            EF_TRY(add_discharge(r, node, d));
    }
    return EF_OK;
}

/* Hands what comes into node `s` on to those it feeds, and takes it out. */
static ef_status take_out(reduction *r, int s)
{
    const size_t intakes = (size_t)r->reference->intake_count;
    double leaving = 0.0;
    for (int out = r->first_out[s]; out != NONE; out = r->edges[out].next_out)
        if (r->edges[out].to != s && r->in[r->edges[out].to])
            leaving += r->edges[out].share;
    if (!(leaving > 0.0))
        return EF_INTERNAL;
    for (int out = r->first_out[s]; out != NONE; out = r->edges[out].next_out) {
        const int to = r->edges[out].to;
        if (to == s || !r->in[to])
            continue;
        const double part = r->edges[out].share / leaving;
        for (size_t i = 0; i < intakes; i++)
            r->arrives[(size_t)to * intakes + i] += r->arrives[(size_t)s * intakes + i] * part;
        for (int into = r->first_in[s]; into != NONE; into = r->edges[into].next_in)
            if (r->edges[into].from != s && r->in[r->edges[into].from])
                EF_TRY(add_share(r, r->edges[into].from, to, r->edges[into].share * part));
        r->ins[to]--;
    }
    for (int into = r->first_in[s]; into != NONE; into = r->edges[into].next_in)
        r->outs[r->edges[into].from]--;
    r->leaving[s] = leaving;
    r->in[s] = false;
    r->rank[s] = r->taken_out;
    r->order[r->taken_out++] = s;
    return EF_OK;
}

/* Takes out all but the outlets, those with few neighbours first. */
static ef_status take_out_all(reduction *r)
{
    const efi_station *stations = r->reference->scenario->stations;
    bool left = true;
    for (long most = 1; left; most *= 2) {
        left = false;
        for (int s = 0; s < r->nodes; s++) {
            if (!r->in[s] || stations[s / r->reference->materials].kind == EFI_STATION_OUTLET)
                continue;
            if ((long)r->ins[s] * r->outs[s] <= most)
                EF_TRY(take_out(r, s));
            else
                left = true;
        }
    }
    return EF_OK;
}

/* The feeds: outlets have all that arrives in the end; the others follow in reverse order. */
static void put_back(const reduction *r)
{
    const efi_reference *reference = r->reference;
    const size_t intakes = (size_t)reference->intake_count;
    double *feed = reference->unit_tph;
    memcpy(feed, r->arrives, (size_t)r->nodes * intakes * sizeof *feed);
    for (int n = r->taken_out - 1; n >= 0; n--) {
        const int s = r->order[n];
        double *own = feed + (size_t)s * intakes;
        for (int into = r->first_in[s]; into != NONE; into = r->edges[into].next_in) {
            const int from = r->edges[into].from;
            if (r->rank[from] <= n)
                continue;
            const double *above = feed + (size_t)from * intakes;
            for (size_t i = 0; i < intakes; i++)
                own[i] += above[i] * r->edges[into].share;
        }
        for (size_t i = 0; i < intakes; i++)
            own[i] /= r->leaving[s];
    }
}

static ef_status reduce_all(reduction *r, efi_arena *arena)
{
    efi_reference *reference = r->reference;
    r->nodes = reference->stations * reference->materials;
    const size_t nodes = (size_t)r->nodes;
    int *stack = efi_arena_get(arena, nodes, sizeof *stack);
    r->first_out = efi_arena_get(arena, nodes, sizeof *r->first_out);
    r->first_in = efi_arena_get(arena, nodes, sizeof *r->first_in);
    r->outs = efi_arena_get(arena, nodes, sizeof *r->outs);
    r->ins = efi_arena_get(arena, nodes, sizeof *r->ins);
    r->in = efi_arena_get(arena, nodes, sizeof *r->in);
    r->leaving = efi_arena_get(arena, nodes, sizeof *r->leaving);
    r->arrives = efi_arena_get(arena, nodes * (size_t)reference->intake_count, sizeof *r->arrives);
    r->order = efi_arena_get(arena, nodes, sizeof *r->order);
    r->rank = efi_arena_get(arena, nodes, sizeof *r->rank);
    if (!stack || !r->first_out || !r->first_in || !r->outs || !r->ins || !r->in || !r->leaving ||
        !r->arrives || !r->order || !r->rank)
        return EF_MEMORY;
    EF_TRY(load(r, stack));
    EF_TRY(take_out_all(r));
    put_back(r);
    return EF_OK;
}

/* Marks what the stations that the crop comes to make of what is marked; returns whether something new is. */
static bool mark_made(const efi_reference *reference, bool *passes)
{
    bool more = false;
    for (int s = 0; s < reference->stations; s++) {
        if (!reference->reached[s] || !reference->scenario->stations[s].turns)
            continue;
        for (int m = 0; m < reference->materials; m++)
            for (int k = 0; passes[m] && k < reference->materials; k++)
                if (!passes[k] && turned(reference, s, m, k) > 0.0)
                    passes[k] = more = true;
    }
    return more;
}

static void take_densities(efi_reference *reference, bool *passes)
{
    const efi_crop *crop = &reference->scenario->crops[reference->crop];
    for (int m = 0; m < reference->materials; m++)
        passes[m] = crop->receipt[m] > 0.0;
    while (mark_made(reference, passes))
        ;
    reference->has_density = true;
    for (int m = 0; m < reference->materials; m++) {
        efi_value density = reference->scenario->materials[m].density_tpm3;
        if (!density.given)
            density = crop->density_tpm3;
        reference->m3_per_t[m] = density.given ? 1.0 / density.value : 0.0;
        if (passes[m] && !density.given)
            reference->has_density = false;
    }
}

/* Numbers the discharges and points at their shares in the scenario. */
static ef_status take_shares(efi_reference *reference, efi_arena *arena)
{
    const efi_station *stations = reference->scenario->stations;
    reference->first_discharge = efi_arena_get(arena, (size_t)reference->stations + 1, sizeof(int));
    if (!reference->first_discharge)
        return EF_MEMORY;
    for (int s = 0; s < reference->stations; s++)
        reference->first_discharge[s + 1] = reference->first_discharge[s] + stations[s].discharges.count;
    const size_t discharges = (size_t)reference->first_discharge[reference->stations];
    reference->share = efi_arena_get(arena, discharges, sizeof *reference->share);
    if (!reference->share)
        return EF_MEMORY;
    for (int s = 0; s < reference->stations; s++)
        for (int d = 0; d < stations[s].discharges.count; d++)
            reference->share[reference->first_discharge[s] + d] = stations[s].discharges.items[d].share +
                                                                  (size_t)reference->crop *
                                                                      (size_t)reference->materials;
    return EF_OK;
}

ef_status efi_reference_prepare(efi_reference *reference, efi_arena *arena, const ef_scenario *scenario,
                                int crop)
{
    *reference = (efi_reference){.scenario = scenario,
                                 .crop = crop,
                                 .stations = scenario->station_count,
                                 .materials = scenario->material_count};
    const size_t stations = (size_t)reference->stations;
    reference->reached = efi_arena_get(arena, stations, sizeof *reference->reached);
    reference->intake = efi_arena_get(arena, stations, sizeof *reference->intake);
    reference->m3_per_t = efi_arena_get(arena, (size_t)reference->materials, sizeof *reference->m3_per_t);
    int *stack = efi_arena_get(arena, stations, sizeof *stack);
    bool *passes = efi_arena_get(arena, (size_t)reference->materials, sizeof *passes);
    if (!reference->reached || !reference->intake || !reference->m3_per_t || !stack || !passes)
        return EF_MEMORY;
    for (int s = 0; s < reference->stations; s++)
        if (efi_station_receives(&scenario->stations[s], crop))
            reference->intake[reference->intake_count++] = s;
    mark_reached(reference, reference->reached, stack);
    take_densities(reference, passes);
    return take_shares(reference, arena);
}

ef_status efi_reference_solve(efi_reference *reference, efi_arena *arena)
{
    const size_t stations = (size_t)reference->stations;
    reference->unit_tph = efi_arena_get(
        arena, stations * (size_t)reference->materials * (size_t)reference->intake_count, sizeof(double));
    if (!reference->unit_tph)
        return EF_MEMORY;
    reduction r = {.reference = reference};
    const ef_status status = reduce_all(&r, arena);
    efi_free(r.edges);
    return status;
}

const double *efi_reference_unit(const efi_reference *reference, int station, int material)
{
    return reference->unit_tph + ((size_t)station * (size_t)reference->materials + (size_t)material) *
                                     (size_t)reference->intake_count;
}
