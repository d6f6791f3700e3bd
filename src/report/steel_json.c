/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/steel.h"

static const char *why_word(ef_steel_why why)
{
    switch (why) {
    case EF_STEEL_FITS:
        return "fits";
    case EF_STEEL_NO_REPOSE:
        return "no repose";
    case EF_STEEL_NO_HEADROOM:
        return "no headroom";
    case EF_STEEL_NO_WIDTH:
        return "no width";
    case EF_STEEL_TOO_SMALL:
        return "too small";
    case EF_STEEL_NO_STANDARD:
        return "no standard bin";
    case EF_STEEL_CONTRADICT:
        return "dimensions contradict";
    }
    return "";
}

static const char *flow_word(ef_steel_flow flow)
{
    switch (flow) {
    case EF_STEEL_FLOW_MASS:
        return "mass";
    case EF_STEEL_FLOW_FUNNEL:
        return "funnel";
    case EF_STEEL_FLOW_UNKNOWN:
        break;
    }
    return NULL;
}

static void set_known(efi_json *json, json_t *object, const char *key, bool known, double value)
{
    if (known)
        efi_json_set_real(json, object, key, value);
    else
        efi_json_set_text(json, object, key, NULL);
}

static json_t *size_json(efi_json *json, const ef_steel_size *size)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "shape", size->shape);
    efi_json_set_text(json, object, "hopper", size->hopper);
    efi_json_set_text(json, object, "standard", size->standard);
    efi_json_set_real(json, object, "width_m", size->width_m);
    efi_json_set_real(json, object, "length_m", size->length_m);
    efi_json_set_real(json, object, "wall_m", size->wall_m);
    efi_json_set_real(json, object, "hopper_m", size->hopper_m);
    efi_json_set_real(json, object, "hopper_deg", size->hopper_deg);
    efi_json_set_real(json, object, "valley_deg", size->valley_deg);
    efi_json_set_real(json, object, "outlet_m", size->outlet_m);
    efi_json_set_real(json, object, "outlet_length_m", size->outlet_length_m);
    efi_json_set_flag(json, object, "side_gate", size->side_gate);
    efi_json_set_real(json, object, "inlet_offset_m", size->inlet_offset_m);
    efi_json_set_real(json, object, "inlet_across_m", size->inlet_across_m);
    efi_json_set_real(json, object, "freeboard_m", size->freeboard_m);
    efi_json_set_real(json, object, "clearance_m", size->clearance_m);
    efi_json_set_real(json, object, "height_m", size->height_m);
    set_known(json, object, "headroom_m", size->has_headroom, size->headroom_m);
    efi_json_set_real(json, object, "steel_m2", size->steel_m2);
    efi_json_set_real(json, object, "level_m3", size->level_m3);
    return object;
}

static json_t *crop_json(efi_json *json, const ef_steel_crop *crop)
{
    json_t *object = efi_json_object(json);
    const bool rated = crop->has_particle && crop->outlet_tph > 0.0;
    efi_json_set_text(json, object, "crop", crop->crop);
    efi_json_set_real(json, object, "repose_deg", crop->repose_deg);
    efi_json_set_real(json, object, "emptying_deg", crop->emptying_deg);
    set_known(json, object, "asked_m3", crop->asked_m3 > 0.0, crop->asked_m3);
    efi_json_set_real(json, object, "live_m3", crop->live_m3);
    efi_json_set_real(json, object, "filled_m3", crop->filled_m3);
    efi_json_set_real(json, object, "headspace_m3", crop->headspace_m3);
    efi_json_set_real(json, object, "dead_m3", crop->dead_m3);
    efi_json_set_real(json, object, "off_centre_m3", crop->off_centre_m3);
    efi_json_set_flag(json, object, "cleans_out", crop->cleans_out);
    efi_json_set_real(json, object, "margin_deg", crop->margin_deg);
    set_known(json, object, "wall_deg", crop->has_wall, crop->wall_deg);
    set_known(json, object, "mass_from_deg", crop->has_wall && crop->mass_from_deg < 90.0,
              crop->mass_from_deg);
    efi_json_set_text(json, object, "flow", flow_word(crop->flow));
    set_known(json, object, "particle_mm", crop->has_particle, crop->particle_mm);
    set_known(json, object, "outlet_tph", rated, crop->outlet_tph);
    set_known(json, object, "outlet_high_tph", rated, crop->outlet_high_tph);
    efi_json_set_flag(json, object, "outlet_in_range", crop->outlet_in_range);
    set_known(json, object, "asked_tph", crop->asked_tph > 0.0, crop->asked_tph);
    set_known(json, object, "least_outlet_m", crop->has_particle, crop->least_outlet_m);
    efi_json_set_flag(json, object, "arches", crop->arches);
    return object;
}

/* What a bin that does not fit lacks. */
static void set_lack(efi_json *json, json_t *object, const ef_steel *steel)
{
    const bool headroom = steel->why == EF_STEEL_NO_HEADROOM;
    efi_json_set_text(json, object, "crop", steel->crop);
    set_known(json, object, "asked_m3", steel->asked_m3 > 0.0, steel->asked_m3);
    set_known(json, object, "most_m3", steel->most_m3 > 0.0, steel->most_m3);
    set_known(json, object, "needed_m", headroom, steel->needed_m);
    set_known(json, object, "at_width_m", headroom, steel->at_width_m);
    set_known(json, object, "there_m", headroom || steel->why == EF_STEEL_NO_WIDTH, steel->there_m);
}

json_t *efi_steel_json(efi_json *json, const ef_steel *steel)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "station", steel->station);
    efi_json_set_text(json, object, "why", why_word(steel->why));
    if (steel->why != EF_STEEL_FITS) {
        set_lack(json, object, steel);
        return object;
    }
    efi_json_set_flag(json, object, "found", steel->found);
    efi_json_set_flag(json, object, "chose_hopper", steel->chose_hopper);
    efi_json_set_flag(json, object, "chose_outlet", steel->chose_outlet);
    efi_json_set_flag(json, object, "chose_freeboard", steel->chose_freeboard);
    efi_json_set(json, object, "size", size_json(json, &steel->size));
    json_t *crops = efi_json_array(json);
    for (int k = 0; k < steel->crop_count; k++)
        efi_json_append(json, crops, crop_json(json, &steel->crops[k]));
    efi_json_set(json, object, "crops", crops);
    return object;
}
