/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from what was given: defaults that depend on other keys, the single way on, shares of the
 * rest. */
#include "model/bin_steel.h"
#include "model/conveying.h"
#include "model/turns.h"

/* The band of a density separator whose scenario gives none: common practice. */
#define USUAL_STEADY_BAND 0.02

static void finish_crop(efi_crop *crop)
{
    if (!crop->density_tpm3.given)
        crop->density_tpm3 = crop->density_tpm3.bad ? crop->density_tpm3 : crop->test_weight_tpm3;
    if (!crop->emptying_deg.given && !crop->emptying_deg.bad)
        crop->emptying_deg = crop->repose_deg;
}

/* The hopper that goes with the body, where none is named. */
static void finish_steel(efi_steel *steel)
{
    if (steel->hopper == EFI_HOPPER_UNSAID)
        steel->hopper = steel->shape == EFI_SHAPE_ROUND ? EFI_HOPPER_CONE : EFI_HOPPER_PYRAMID;
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

/* The shares of a single way on, the same for all stations; NULL (and `failed`) without memory. */
static const double *everything(efi_binder *b)
{
    const size_t cells = (size_t)b->scenario->crop_count * (size_t)b->scenario->material_count;
    if (b->everything)
        return b->everything;
    double *share = efi_bind_get(b, cells, sizeof *share);
    for (size_t cell = 0; share && cell < cells; cell++)
        share[cell] = 1.0;
    b->everything = share;
    return share;
}

/* Gives the first discharge that takes the rest what the others leave. */
static void fill_rest(efi_binder *b, efi_station *station)
{
    efi_discharge *rest = NULL;
    for (int d = 0; d < station->discharges.count && !rest; d++)
        if (station->discharges.items[d].rest)
            rest = &station->discharges.items[d];
    if (rest && station->discharges.count == 1) {
        rest->share = everything(b);
        return;
    }
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

/* Fills in the shares of a split's branches: those given, the rest, and for free shares a feasible start. */
static void fill_branches(efi_binder *b, efi_station *station)
{
    const int materials = b->scenario->material_count;
    const int branches = station->discharges.count;
    for (int d = 0; d < branches && !b->failed; d++) {
        efi_discharge *branch = &station->discharges.items[d];
        const size_t cells = (size_t)b->scenario->crop_count * (size_t)materials;
        double *share = efi_bind_cells(b, cells, station->origin.key) ? efi_bind_get(b, cells, sizeof *share)
                                                                      : NULL;
        branch->share = share;
        for (size_t cell = 0; share && cell < cells; cell++)
            share[cell] = efi_split_start(station, d, (int)(cell / (size_t)materials));
    }
}

/* The share of a branch under fixed shares: its own, or what the others leave. */
static double fixed_share(const efi_station *split, int branch, int crop)
{
    const efi_value *own = split->discharges.items[branch].branch_share;
    if (own)
        return own[crop].given ? own[crop].value : 0.0;
    double left = 1.0;
    for (int d = 0; d < split->discharges.count; d++) {
        const efi_value *other = split->discharges.items[d].branch_share;
        if (other && other[crop].given)
            left -= other[crop].value;
    }
    return left > 0.0 ? left : 0.0;
}

double efi_split_start(const efi_station *split, int branch, int crop)
{
    if (split->split_rule == EFI_SPLIT_FIXED)
        return fixed_share(split, branch, crop);
    /* the least shares, and what is left in proportion to the room up to the most */
    double least = 0.0;
    double room = 0.0;
    for (int d = 0; d < split->discharges.count; d++) {
        const efi_discharge *one = &split->discharges.items[d];
        least += one->least_share.given ? one->least_share.value : 0.0;
        room += efi_split_most(one, crop) - (one->least_share.given ? one->least_share.value : 0.0);
    }
    const efi_discharge *own = &split->discharges.items[branch];
    const double own_least = own->least_share.given ? own->least_share.value : 0.0;
    if (!(room > 0.0))
        return own_least;
    return own_least + (1.0 - least) * (efi_split_most(own, crop) - own_least) / room;
}

double efi_split_most(const efi_discharge *branch, int crop)
{
    if (branch->to && branch->to[crop] < 0)
        return 0.0;
    return branch->most_share.given ? branch->most_share.value : 1.0;
}

void efi_bind_finish(efi_binder *b)
{
    ef_scenario *scenario = b->scenario;
    if (!scenario->plant) {
        efi_plant *plant = efi_bind_get(b, 1, sizeof *plant);
        if (plant)
            efi_plant_defaults(plant);
        scenario->plant = plant;
    }
    efi_calendar_finish(b);
    efi_season_finish(b);
    for (int c = 0; c < scenario->crop_count; c++)
        finish_crop(&scenario->crops[c]);
    for (int bin = 0; bin < scenario->standard_bin_count; bin++)
        finish_steel(&scenario->standard_bins[bin]);
    efi_turns_finish(b);
    for (int s = 0; s < scenario->station_count && !b->failed; s++) {
        efi_station *station = &scenario->stations[s];
        if (station->kind == EFI_STATION_DENSITY && !station->steady_band.given)
            station->steady_band = (efi_value){
                .value = USUAL_STEADY_BAND, .given = true, .of = EFI_KIND_SHARE};
        if (!station->capacity)
            station->capacity = station->batch ? efi_batch_capacity(b, station)
                                               : efi_conveying_capacity(b, station);
        if (station->steel)
            finish_steel(station->steel);
        station->live_by_crop_m3 = efi_steel_live(b, station);
        if (station->to && station->discharges.count == 0)
            make_single_way(b, station);
        if (station->kind == EFI_STATION_SPLIT)
            fill_branches(b, station);
        else
            fill_rest(b, station);
    }
}
