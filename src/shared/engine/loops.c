/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/rates.h"

#include <assert.h>
#include <math.h>

/* Rounds to what comes round; what is left then does not matter, as it only weighs streams, none of which may
 * weigh nothing. */
#define WEIGHT_ROUNDS 60
#define LEAST_WEIGHT  1e-6

/* Does something pass the station, or is it stopped? A conveyor with a delay that goes empty counts for none.
 */
static bool runs_or_rests(const efi_rates *rates, int i)
{
    const efi_network_station *station = &rates->network->station[i];
    if (rates->through_tph[i] > 0.0 || (efi_station_cuts(station) && rates->given_tph[i] > 0.0))
        return true;
    if (station->kind == EFI_NETWORK_BIN)
        return false;
    if (efi_station_is_batch(station) && rates->discharge_tph[i] > 0.0)
        return false;
    return !(rates->capacity_tph[i] > 0.0);
}

/* Does all the loop stand, though nothing on it is stopped and something is held up? */
static bool stands(const efi_rates *rates, int loop)
{
    const efi_network *network = rates->network;
    bool is_held_up = false;
    int members = 0;
    for (int i = loop; i < network->stations; i++) {
        if (rates->loop[i] != loop)
            continue;
        if (runs_or_rests(rates, i))
            return false;
        members++;
        is_held_up = is_held_up || (network->station[i].kind != EFI_NETWORK_BIN &&
                                    (rates->supply_tph[i] > 0.0 || rates->discharge_tph[i] > 0.0));
    }
    return members > 1 && is_held_up;
}

/* What passes station i when a tonne passes `start`, as far as is known. */
static double passing(const efi_rates *rates, int i, int start)
{
    if (i == start)
        return 1.0;
    double through = 0.0;
    for (int k = rates->in_start[i]; k < rates->in_start[i + 1]; k++)
        through += rates->round[rates->in_spout[k]];
    return through;
}

/* What comes round to `start` by each spout when a tonne passes it and nothing fresh comes in; bins pass on
 * what they get, splits by rule divide in equal parts. */
static void weigh_streams(efi_rates *rates, int start)
{
    const efi_network *network = rates->network;
    for (int e = 0; e < network->spouts; e++)
        rates->round[e] = 0.0;
    for (int round = 0; round < WEIGHT_ROUNDS; round++)
        for (int n = 0; n < network->stations; n++) {
            const int i = rates->order[n];
            if (rates->loop[i] != rates->loop[start])
                continue;
            const double through = passing(rates, i, start);
            const int outs = rates->out_start[i + 1] - rates->out_start[i];
            const bool by_rule = efi_station_splits_by_rule(&network->station[i]);
            for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++) {
                const int e = rates->out_spout[k];
                rates->round[e] = through * (by_rule ? 1.0 / outs : rates->share[e]);
            }
        }
    for (int k = rates->in_start[start]; k < rates->in_start[start + 1]; k++) {
        const int e = rates->in_spout[k];
        rates->loop_weight[e] = rates->round[e] > LEAST_WEIGHT ? rates->round[e] : LEAST_WEIGHT;
    }
}

/* Does a bin of the loop wait for its refill level? */
static bool waits_for_refill(const efi_rates *rates, int loop)
{
    for (int i = loop; i < rates->network->stations; i++)
        if (rates->loop[i] == loop && rates->network->station[i].kind == EFI_NETWORK_BIN && rates->in_shut[i])
            return true;
    return false;
}

/* Weighs anew where shares have changed since. */
static void keep_weights(efi_rates *rates)
{
    for (int i = 0; !rates->has_weights && i < rates->network->stations; i++)
        weigh_streams(rates, i);
    rates->has_weights = true;
}

void efi_rates_tighten(efi_rates *rates)
{
    for (int loop = 0; loop < rates->network->stations; loop++) {
        if (rates->ease[loop] == EFI_LOOP_CLOSED && !waits_for_refill(rates, loop))
            rates->ease[loop] = EFI_LOOP_FIRST;
        if (rates->ease[loop] != EFI_LOOP_PLAIN)
            keep_weights(rates);
    }
}

/* Eases a loop that stands as far as it takes; not at all where nothing helps. */
static void ease_loop(efi_rates *rates, int loop)
{
    const unsigned char before = rates->ease[loop];
    const int most = waits_for_refill(rates, loop) ? EFI_LOOP_CLOSED : EFI_LOOP_FIRST;
    for (int ease = before + 1; ease <= most; ease++) {
        rates->ease[loop] = (unsigned char)ease;
        if (efi_rates_solve_eased(rates) == EF_OK && !stands(rates, loop))
            return;
    }
    if (rates->ease[loop] == before)
        return;
    rates->ease[loop] = before;
    const ef_status status = efi_rates_solve_eased(rates);
    assert(status == EF_OK); /* as it was before */
    (void)status;
}

void efi_rates_ease(efi_rates *rates)
{
    for (int loop = 0; loop < rates->network->stations; loop++) {
        if (rates->loop[loop] != loop || !stands(rates, loop))
            continue;
        keep_weights(rates);
        ease_loop(rates, loop);
    }
}
