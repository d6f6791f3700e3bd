/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/plant/running.h"

ef_status efi_running_build(efi_running *running, efi_arena *arena, const ef_scenario *scenario, int crop)
{
    EF_TRY(efi_line_build(&running->line, arena, scenario, crop));
    EF_TRY(efi_steady_build(&running->model, arena, &running->line, EF_BALANCE_RATE));
    efi_lp_outcome outcome;
    efi_steady_search counts;
    EF_TRY(efi_steady_choose(&running->model, arena, &outcome, &running->rate_tph, &counts));
    return outcome == EFI_LP_OPTIMAL ? EF_OK : EF_NO_ANSWER;
}

ef_status efi_running_lay(efi_running *running, efi_arena *arena, const efi_plant_options *options)
{
    return efi_plant_build(&running->plant, arena, &running->line, running->model.feeds, options);
}

void efi_running_free(efi_running *running)
{
    efi_lp_free(running->model.lp);
    running->model.lp = NULL;
    efi_lp_thread_end();
}

void efi_running_explain(const efi_running *running, const efi_trouble *trouble, char **reason)
{
    efi_text text = {0};
    efi_trouble_write(trouble, &running->plant.network, &text);
    if (reason && !text.failed)
        *reason = text.bytes;
    else
        efi_text_free(&text);
}
