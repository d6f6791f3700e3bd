/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/rates.h"

#include <math.h>

static void index_spouts(efi_rates *rates)
{
    const efi_network *network = rates->network;
    int ins = 0;
    int outs = 0;
    for (int i = 0; i < network->stations; i++) {
        rates->in_start[i] = ins;
        rates->out_start[i] = outs;
        for (int e = 0; e < network->spouts; e++) {
            if (network->spout[e].to == i)
                rates->in_spout[ins++] = e;
            if (network->spout[e].from == i)
                rates->out_spout[outs++] = e;
        }
    }
    rates->in_start[network->stations] = ins;
    rates->out_start[network->stations] = outs;
}

static double whole_capacity(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_SPLIT ? station->capacity_tph
                                              : station->capacity_tph * station->machines;
}

/* Capacity a stream comes from: the station's own, else that of what leads into it, else 1. */
static double source_capacity(const efi_rates *rates, int station, int depth)
{
    const efi_network_station *one = &rates->network->station[station];
    const double own = one->kind == EFI_NETWORK_BIN ? INFINITY : whole_capacity(one);
    if (own < INFINITY || depth == 0)
        return own < INFINITY ? own : 0.0;
    double sum = 0.0;
    for (int k = rates->in_start[station]; k < rates->in_start[station + 1]; k++) {
        const efi_network_spout *spout = &rates->network->spout[rates->in_spout[k]];
        if (!spout->is_return)
            sum += source_capacity(rates, spout->from, depth - 1);
    }
    return sum;
}

/* The machine next on a branch: through bins, conveyors and what has one way on; -1 where there is none. */
static int next_machine(const efi_rates *rates, int spout)
{
    const efi_network *network = rates->network;
    for (int steps = 0; steps < network->stations; steps++) {
        const int station = network->spout[spout].to;
        const efi_network_kind kind = network->station[station].kind;
        if (kind == EFI_NETWORK_MACHINE || kind == EFI_NETWORK_OUTLET)
            return station;
        if (rates->out_start[station + 1] != rates->out_start[station] + 1)
            return -1;
        spout = rates->out_spout[rates->out_start[station]];
    }
    return -1;
}

static void weigh_spouts(efi_rates *rates)
{
    const efi_network *network = rates->network;
    for (int e = 0; e < network->spouts; e++) {
        const efi_network_spout *spout = &network->spout[e];
        const double weight = rates->base_share[e] * source_capacity(rates, spout->from, network->stations);
        rates->merge_weight[e] = weight > 0.0 && weight < INFINITY ? weight : 1.0;
        rates->branch_machine[e] = next_machine(rates, e);
        const double next = rates->branch_machine[e] >= 0
                                ? whole_capacity(&network->station[rates->branch_machine[e]])
                                : 0.0;
        rates->split_weight[e] = next > 0.0 && next < INFINITY ? next : 1.0;
    }
}

bool efi_station_is_free(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_OUTLET && station->modes == 0 && !(station->capacity_tph < INFINITY);
}

/* Spouts of a station that lead to anything but a free outlet. */
static int count_live(const efi_rates *rates, int station)
{
    int live = 0;
    for (int k = rates->out_start[station]; k < rates->out_start[station + 1]; k++)
        live += !efi_station_is_free(&rates->network->station[rates->network->spout[rates->out_spout[k]].to]);
    return live;
}

/* One sweep back, one forth is exact where rooms do not depend on offers: no returns, no splits by rule,
 * nothing but free outlets where streams meet, and one live spout from each station. */
static bool one_sweep(const efi_rates *rates)
{
    const efi_network *network = rates->network;
    for (int i = 0; i < network->stations; i++) {
        const efi_network_station *station = &network->station[i];
        const int ins = rates->in_start[i + 1] - rates->in_start[i];
        if (station->kind == EFI_NETWORK_SPLIT && station->split != EFI_NETWORK_BY_SHARES)
            return false;
        if ((ins > 1 && !efi_station_is_free(station)) || count_live(rates, i) > 1)
            return false;
        if (efi_station_is_batch(station))
            return false;
        if (station->kind == EFI_NETWORK_MACHINE && station->steady.is_steady &&
            station->steady.warm_up_h > 0.0)
            return false;
    }
    for (int e = 0; e < network->spouts; e++)
        if (network->spout[e].is_return || !(rates->base_share[e] > 0.0))
            return false;
    return true;
}

void efi_rates_set_base(efi_rates *rates, int station, const double *share)
{
    const efi_network_station *one = &rates->network->station[station];
    double left = 1.0;
    for (int k = rates->out_start[station]; k < rates->out_start[station + 1]; k++) {
        const int e = rates->out_spout[k];
        const bool is_last = k + 1 == rates->out_start[station + 1];
        double value = share[e];
        if (one->kind == EFI_NETWORK_BIN || efi_station_splits_by_rule(one))
            value = 1.0;
        else if (is_last && value > 0.0)
            value = left > 0.0 ? left : 0.0;
        left -= value;
        rates->base_share[e] = value;
        efi_rates_set_share(rates, e, value);
    }
}

/* Shares as described. */
static void set_base_shares(efi_rates *rates)
{
    const efi_network *network = rates->network;
    for (int e = 0; e < network->spouts; e++)
        rates->described_share[e] = network->spout[e].share;
    for (int i = 0; i < network->stations; i++)
        efi_rates_set_base(rates, i, rates->described_share);
}

/* What the answers depend on, in one block. */
static ef_status get_question(efi_rates *rates, efi_arena *arena)
{
    const size_t stations = (size_t)rates->network->stations;
    const size_t spouts = (size_t)rates->network->spouts;
    const size_t doubles = 2 * stations + spouts;
    const size_t words = doubles + (4 * stations + spouts + 7) / 8 + 1;
    double *next = efi_arena_get(arena, words, sizeof *next);
    rates->question = next;
    rates->asked = efi_arena_get(arena, words, sizeof *rates->asked);
    if (!next || !rates->asked)
        return EF_MEMORY;
    rates->question_words = words;
    rates->capacity_tph = next;
    rates->discharge_tph = next + stations;
    rates->share = next + 2 * stations;
    unsigned char *bytes = (unsigned char *)(next + doubles);
    rates->at = bytes;
    rates->in_shut = bytes + stations;
    rates->out_shut = bytes + 2 * stations;
    rates->ease = bytes + 3 * stations;
    rates->shut = bytes + 4 * stations;
    return EF_OK;
}

/* What solving gives, in one block, with room for the ease behind it. */
static ef_status get_answer(efi_rates *rates, efi_arena *arena)
{
    const size_t stations = (size_t)rates->network->stations;
    const size_t spouts = (size_t)rates->network->spouts;
    double **const of_station[] = {&rates->supply_tph, &rates->through_tph, &rates->inflow_tph,
                                   &rates->accept_tph, &rates->given_tph,   &rates->belt_speed};
    const size_t doubles = EF_COUNT(of_station) * stations + spouts;
    const size_t words = doubles + (stations + 7) / 8;
    double *next = efi_arena_get(arena, words + 1, sizeof *next);
    if (!next)
        return EF_MEMORY;
    rates->answer = next;
    for (size_t k = 0; k < EF_COUNT(of_station); k++)
        *of_station[k] = next + k * stations;
    rates->flow_tph = next + EF_COUNT(of_station) * stations;
    rates->solved_ease = (unsigned char *)(next + doubles);
    rates->answer_words = words;
    return EF_OK;
}

ef_status efi_rates_build(efi_rates *rates, const efi_network *network, efi_arena *arena)
{
    const size_t stations = (size_t)network->stations;
    const size_t spouts = (size_t)network->spouts;
    *rates = (efi_rates){.network = network, .unsettled_spout = -1};
    int **const ints[] = {&rates->order, &rates->loop, &rates->in_start, &rates->out_start};
    for (size_t k = 0; k < EF_COUNT(ints); k++)
        if (!(*ints[k] = efi_arena_get(arena, stations + 1, sizeof(int))))
            return EF_MEMORY;
    int **const spout_ints[] = {&rates->in_spout, &rates->out_spout, &rates->branch_machine};
    for (size_t k = 0; k < EF_COUNT(spout_ints); k++)
        if (!(*spout_ints[k] = efi_arena_get(arena, spouts + 1, sizeof(int))))
            return EF_MEMORY;
    EF_TRY(get_question(rates, arena));
    EF_TRY(get_answer(rates, arena));
    double **const of_spout[] = {&rates->merge_weight, &rates->loop_weight, &rates->round,
                                 &rates->split_weight, &rates->base_share,  &rates->described_share,
                                 &rates->share_inverse};
    for (size_t k = 0; k < EF_COUNT(of_spout); k++)
        if (!(*of_spout[k] = efi_arena_get(arena, spouts + 1, sizeof(double))))
            return EF_MEMORY;
    rates->message = efi_arena_get(arena, 2 * spouts + 1, sizeof(double));
    rates->old_message = efi_arena_get(arena, 2 * spouts + 1, sizeof(double));
    rates->kept_message = efi_arena_get(arena, 2 * spouts + 1, sizeof(double));
    if (!rates->message || !rates->old_message || !rates->kept_message)
        return EF_MEMORY;
    rates->offer_tph = rates->message;
    rates->room_tph = rates->message + spouts;
    EF_TRY(efi_anderson_build(&rates->anderson, 2 * network->spouts, arena));
    int stuck;
    EF_TRY(efi_network_order(network, rates->order, &stuck));
    EF_TRY(efi_network_loops(network, rates->loop));
    for (int i = 0; i < network->stations; i++)
        rates->has_loops = rates->has_loops || rates->loop[i] != i;
    index_spouts(rates);
    set_base_shares(rates);
    weigh_spouts(rates);
    for (int i = 0; i < network->stations; i++)
        rates->capacity_tph[i] = network->station[i].kind == EFI_NETWORK_BIN
                                     ? INFINITY
                                     : whole_capacity(&network->station[i]);
    for (int i = 0; i < network->stations; i++)
        if (rates->capacity_tph[i] < INFINITY && rates->capacity_tph[i] > rates->scale_tph)
            rates->scale_tph = rates->capacity_tph[i];
    rates->has_one_sweep = one_sweep(rates);
    return EF_OK;
}

ef_status efi_rates_remember(efi_rates *rates, efi_arena *arena)
{
    return efi_recall_build(&rates->recall, rates->question_words, rates->answer_words, arena);
}

void efi_rates_set_share(efi_rates *rates, int spout, double share)
{
    rates->has_weights = false;
    rates->share[spout] = share;
    rates->share_inverse[spout] = share > 0.0 ? 1.0 / share : INFINITY;
}
