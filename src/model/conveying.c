/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/conveying.h"

#define USUAL_FILL 0.45 /* trough loading for free-flowing grain */

double efi_buckets_m3ph(const efi_buckets *buckets)
{
    const double fill = buckets->fill.given ? buckets->fill.value : 1.0;
    return buckets->speed_mph.value * buckets->volume_m3.value * fill * buckets->rows /
           buckets->spacing_m.value;
}

static double incline_share(double incline_deg)
{
    if (incline_deg <= 10.0)
        return 1.0;
    if (incline_deg <= 20.0)
        return 0.80;
    return incline_deg <= 30.0 ? 0.60 : 0.0;
}

double efi_screw_m3ph(const efi_screw *screw)
{
    const double diameter = screw->diameter_m.value;
    const double shaft = screw->shaft_m.given ? screw->shaft_m.value : 0.0;
    const double pitch = screw->pitch_m.given ? screw->pitch_m.value : diameter;
    const double fill = screw->fill.given ? screw->fill.value : USUAL_FILL;
    const double incline = screw->incline_deg.given ? screw->incline_deg.value : 0.0;
    return EF_PI / 4.0 * (diameter * diameter - shaft * shaft) * pitch * screw->speed_per_h.value * fill *
           incline_share(incline);
}

double efi_belt_m3ph(const efi_belt *belt)
{
    return belt->area_m2.value * belt->speed_mph.value;
}

/* What follows from the data of a station, m3/h; 0 when they are absent or incomplete. */
static double conveyed(const efi_station *station)
{
    const efi_buckets *buckets = station->buckets;
    if (buckets && buckets->volume_m3.given && buckets->spacing_m.given && buckets->speed_mph.given)
        return efi_buckets_m3ph(buckets);
    const efi_screw *screw = station->screw;
    if (screw && screw->diameter_m.given && screw->speed_per_h.given)
        return efi_screw_m3ph(screw);
    const efi_belt *belt = station->belt;
    if (belt && belt->area_m2.given && belt->speed_mph.given)
        return efi_belt_m3ph(belt);
    return 0.0;
}

const efi_value *efi_batch_capacity(efi_binder *b, const efi_station *station)
{
    const efi_batch *batch = station->batch;
    if (!batch || !batch->charge_t || !batch->fill_tph.given || !batch->work_h.given ||
        !batch->discharge_tph.given ||
        !efi_bind_cells(b, (size_t)b->scenario->crop_count, station->origin.key))
        return NULL;
    efi_value *capacity = efi_bind_get(b, (size_t)b->scenario->crop_count, sizeof *capacity);
    for (int crop = 0; capacity && crop < b->scenario->crop_count; crop++) {
        const efi_value charge = batch->charge_t[crop];
        capacity[crop] = charge;
        if (!charge.given)
            continue;
        const double cycle_h = charge.value / batch->fill_tph.value + batch->work_h.value +
                               charge.value / batch->discharge_tph.value;
        capacity[crop] = (efi_value){
            .value = charge.value / cycle_h, .given = true, .of = EFI_KIND_MASS_RATE};
    }
    return capacity;
}

const efi_value *efi_conveying_capacity(efi_binder *b, const efi_station *station)
{
    const double m3ph = conveyed(station);
    if (!(m3ph > 0.0) || !efi_bind_cells(b, (size_t)b->scenario->crop_count, station->origin.key))
        return NULL;
    efi_value *capacity = efi_bind_get(b, (size_t)b->scenario->crop_count, sizeof *capacity);
    for (int crop = 0; capacity && crop < b->scenario->crop_count; crop++)
        capacity[crop] = (efi_value){.value = m3ph, .given = true, .of = EFI_KIND_VOLUME_RATE};
    return capacity;
}
