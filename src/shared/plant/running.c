/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/plant/running.h"

#include <math.h>

ef_status efi_running_build(efi_running *running, efi_arena *arena, const ef_scenario *scenario, int crop)
{
    EF_TRY(efi_line_build(&running->line, arena, scenario, crop));
    EF_TRY(efi_steady_build(&running->model, arena, &running->line, EF_BALANCE_RATE));
    efi_lp_outcome outcome;
    efi_steady_search counts;
    EF_TRY(efi_steady_choose(&running->model, arena, &outcome, &running->rate_tph, &counts));
    return outcome == EFI_LP_OPTIMAL ? EF_OK : EF_NO_ANSWER;
}

/* The distribution of so many times what is drawn. */
static efi_distribution times(efi_distribution of, double factor)
{
    of.a = of.kind == EFI_LOGNORMAL ? of.a + log(factor) : of.a * factor;
    return of;
}

/* A stop after so many tonnes of a station comes after its part of them. */
static ef_status share_stops(efi_arena *arena, double part, efi_network_station *station)
{
    efi_stop_mode *modes = efi_arena_get(arena, (size_t)station->modes, sizeof *modes);
    if (!modes)
        return EF_MEMORY;
    for (int m = 0; m < station->modes; m++) {
        modes[m] = station->mode[m];
        if (modes[m].counting != EFI_COUNT_TONNES)
            continue;
        modes[m].gap = times(modes[m].gap, part);
        modes[m].first *= part;
        modes[m].every *= part;
    }
    station->mode = modes;
    return EF_OK;
}

/* Gives the network the line's parts of shared stations. The set rate of a steady feed is its feed already.
 */
static ef_status take_parts(efi_running *running, efi_arena *arena)
{
    const efi_line *line = &running->line;
    efi_plant_network *plant = &running->plant;
    for (int n = 0; n < plant->network.stations; n++) {
        efi_network_station *station = &plant->stations[n];
        const int s = plant->line_station[n];
        const double part = running->part[s];
        if (!(part < 1.0))
            continue;
        if (!station->steady.is_steady)
            station->capacity_tph *= part;
        else
            station->steady.least_tph = fmin(station->steady.least_tph,
                                             line->stations[s].least_feed.value * part);
        station->bin.empty_t *= part;
        station->bin.full_t *= part;
        station->bin.start_t *= part;
        station->bin.restart_t *= part;
        station->bin.refill_t *= part;
        EF_TRY(share_stops(arena, part, station));
    }
    return EF_OK;
}

ef_status efi_running_lay(efi_running *running, efi_arena *arena, const efi_plant_options *options)
{
    EF_TRY(efi_plant_build(&running->plant, arena, &running->line, running->model.feeds, options));
    return running->part ? take_parts(running, arena) : EF_OK;
}

void efi_running_free(efi_running *running)
{
    efi_lp_free(running->model.lp);
    running->model.lp = NULL;
    efi_lp_thread_end();
}

void efi_running_explain(const efi_network *network, const efi_trouble *trouble, char **reason)
{
    efi_text text = {0};
    efi_trouble_write(trouble, network, &text);
    if (reason && !text.failed)
        *reason = text.bytes;
    else
        efi_text_free(&text);
}
