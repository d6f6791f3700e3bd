/* SPDX-License-Identifier: GPL-3.0-or-later
 * One capacity varied, the rest of the plant as it is. */
#include "answers/balance/balance.h"
#include "base/locale.h"

#include <string.h>

static int find_station(const efi_steady_model *model, const char *name)
{
    const efi_line *line = model->line;
    for (int s = 0; s < line->station_count; s++)
        if (strcmp(line->stations[s].of->name, name) == 0 && model->capacity_row[s] >= 0)
            return s;
    return -1;
}

static ef_status vary(efi_steady_model *model, efi_arena *arena, int station, const double *capacity,
                      int count, double *intake_tph)
{
    for (int i = 0; i < count; i++) {
        if (!(capacity[i] > 0.0))
            return EF_USAGE;
        EF_TRY(efi_lp_set_row_bounds(model->lp, model->capacity_row[station], efi_lp_at_most(capacity[i])));
        efi_lp_outcome outcome;
        double value;
        efi_steady_search counts;
        EF_TRY(efi_steady_choose(model, arena, &outcome, &value, &counts));
        if (outcome != EFI_LP_OPTIMAL && outcome != EFI_LP_INFEASIBLE)
            return EF_INTERNAL;
        intake_tph[i] = outcome == EFI_LP_OPTIMAL ? value : 0.0;
    }
    return EF_OK;
}

static ef_status run(const ef_scenario *scenario, int crop, const char *station, const double *capacity,
                     int count, efi_arena *arena, double *intake_tph)
{
    efi_line line;
    EF_TRY(efi_line_build(&line, arena, scenario, crop));
    efi_steady_model model;
    ef_status status = efi_steady_build(&model, arena, &line, EF_BALANCE_RATE);
    const int varied = status == EF_OK ? find_station(&model, station) : -1;
    if (status == EF_OK)
        status = varied >= 0 ? vary(&model, arena, varied, capacity, count, intake_tph) : EF_USAGE;
    efi_lp_free(model.lp);
    efi_lp_thread_end();
    return status;
}

ef_status ef_balance_vary(const ef_scenario *scenario, int crop, const char *station, const double *capacity,
                          int count, double *intake_tph)
{
    if (crop < 0 || crop >= scenario->crop_count)
        return EF_USAGE;
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    efi_arena *arena = efi_arena_new();
    const ef_status status = arena ? run(scenario, crop, station, capacity, count, arena, intake_tph)
                                   : EF_MEMORY;
    efi_arena_free(arena);
    efi_locale_leave(&locale);
    return status;
}
