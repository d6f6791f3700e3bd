/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

static void set_warming(efi_engine *engine, int w, bool is_warming)
{
    const int i = engine->warm[w];
    const efi_network_steady *steady = &engine->network->station[i].steady;
    efi_rates *rates = &engine->rates;
    efi_station_settle(&engine->station[i], engine->now_h);
    engine->station[i].is_warming = is_warming;
    engine->station[i].is_changed = true;
    engine->slot_h[engine->first_warm + w] = is_warming ? engine->now_h + efi_grid_round(steady->warm_up_h)
                                                        : INFINITY;
    for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++) {
        const int e = rates->out_spout[k];
        efi_rates_set_share(rates, e,
                            !is_warming               ? rates->base_share[e]
                            : e == steady->warm_spout ? 1.0
                                                      : 0.0);
    }
}

void efi_warm_up_end(efi_engine *engine, int w)
{
    set_warming(engine, w, false);
    engine->station[engine->warm[w]].is_cold = false;
    efi_event_note(engine, EFI_EVENT_WARM, engine->warm[w], 0, 0);
}

/* A bin that has run empty begins to hold back for its restart level. True when that changes the rates. */
static bool shut_empty_bins(efi_engine *engine)
{
    efi_rates *rates = &engine->rates;
    bool has_changed = false;
    for (int b = 0; b < engine->bins; b++) {
        const efi_run_bin *bin = &engine->bin[b];
        const int i = bin->station;
        if (efi_lots_run_out(engine, i) || !(rates->at[i] & EFI_AT_EMPTY) || rates->out_shut[i] ||
            !(bin->restart_t > bin->empty_t))
            continue;
        if (efi_bin_gain_tph(rates->inflow_tph[i], rates->through_tph[i]) > 0.0)
            continue;
        const efi_network_station *next = &engine->network->station[bin->consumer];
        const double least_tph = next->kind == EFI_NETWORK_MACHINE && next->steady.is_steady
                                     ? next->steady.least_tph
                                     : 0.0;
        if (least_tph > 0.0 && rates->through_tph[i] >= least_tph)
            continue;
        rates->out_shut[i] = 1;
        engine->bin[b].is_changed = true;
        has_changed = true;
    }
    return has_changed;
}

/* Begins and breaks off warm-ups, each station's once an instant. True when that changes the rates. */
static bool change_warm_ups(efi_engine *engine)
{
    bool has_changed = false;
    for (int w = 0; w < engine->warms; w++) {
        const int i = engine->warm[w];
        efi_run_station *station = &engine->station[i];
        const bool runs = engine->rates.through_tph[i] > 0.0;
        const efi_state state = efi_station_state(engine, i, station);
        if (state == EFI_STATE_STARVED || state == EFI_STATE_WAITING)
            station->is_cold = true;
        const bool breaks_off = station->is_warming && !runs && state != EFI_STATE_BLOCKED;
        const bool begins = station->is_cold && runs && !station->is_warming;
        if ((breaks_off || begins) && !station->has_turned) {
            set_warming(engine, w, begins);
            station->has_turned = true;
            has_changed = true;
        }
    }
    return has_changed;
}

/* Lets bins that have run empty hold back, and warm-ups begin and break off, until nothing changes any more:
 * each does so at most once an instant, so there is an end. */
ef_status efi_latches_settle(efi_engine *engine)
{
    for (int w = 0; w < engine->warms; w++)
        engine->station[engine->warm[w]].has_turned = false;
    for (;;) {
        const bool has_shut = shut_empty_bins(engine);
        const bool has_warmed = change_warm_ups(engine);
        if (!has_shut && !has_warmed)
            return EF_OK;
        EF_TRY(efi_engine_solve(engine));
    }
}
