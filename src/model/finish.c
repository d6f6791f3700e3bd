/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from what was given: defaults that depend on other keys, the single way on, shares of the
 * rest. */
#include "model/bind.h"

/* The band of a density separator whose scenario gives none: common practice. */
#define USUAL_STEADY_BAND 0.02

static void finish_crop(efi_crop *crop)
{
    if (!crop->density_tpm3.given)
        crop->density_tpm3 = crop->test_weight_tpm3;
}

/* A single way on becomes a discharge that takes everything. */
static void make_single_way(efi_binder *b, efi_station *station)
{
    efi_discharge *only = efi_bind_get(b, 1, sizeof *only);
    if (!only)
        return;
    only->name = "";
    only->origin = station->origin;
    only->rest = true;
    only->to = station->to;
    station->discharges.items = only;
    station->discharges.count = 1;
}

/* Gives the first discharge that takes the rest what the others leave. */
static void fill_rest(efi_binder *b, efi_station *station)
{
    efi_discharge *rest = NULL;
    for (int d = 0; d < station->discharges.count && !rest; d++)
        if (station->discharges.items[d].rest)
            rest = &station->discharges.items[d];
    const size_t cells = (size_t)b->scenario->crop_count * (size_t)b->scenario->material_count;
    if (!rest || !efi_bind_cells(b, cells, station->origin.key))
        return;
    double *share = efi_bind_get(b, cells, sizeof *share);
    if (!share)
        return;
    for (size_t cell = 0; cell < cells; cell++) {
        double taken = 0.0;
        for (int d = 0; d < station->discharges.count; d++)
            if (station->discharges.items[d].share)
                taken += station->discharges.items[d].share[cell];
        share[cell] = taken < 1.0 ? 1.0 - taken : 0.0;
    }
    rest->share = share;
}

void efi_bind_finish(efi_binder *b)
{
    ef_scenario *scenario = b->scenario;
    for (int c = 0; c < scenario->crop_count; c++)
        finish_crop(&scenario->crops[c]);
    for (int s = 0; s < scenario->station_count && !b->failed; s++) {
        efi_station *station = &scenario->stations[s];
        if (station->kind == EFI_STATION_DENSITY && !station->steady_band.given)
            station->steady_band = (efi_value){
                .value = USUAL_STEADY_BAND, .given = true, .of = EFI_KIND_SHARE};
        if (station->to && station->discharges.count == 0)
            make_single_way(b, station);
        fill_rest(b, station);
    }
}
