/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/bins/steel_find.h"

#include "base/base.h"
#include "model/bin_flow.h"

#include <math.h>

#define RAD_PER_DEG (EF_PI / 180.0)

/* Common practice, from memory: hoppers for dry free-flowing seed from 45 degrees on, and this much steeper
 * than the material slides; freeboard; an outlet where nothing is known that sets it. */
#define USUAL_HOPPER_DEG  45
#define USUAL_MARGIN_DEG  5.0
#define STEEPEST_DEG      80
#define USUAL_FREEBOARD_M 0.15
#define USUAL_OUTLET_M    0.25
/* The law of the outlet is good to some 15 %: an outlet is chosen to pass this much more than is asked. */
#define OUTLET_IN_HAND 1.2

#define WIDTH_STEP_M   0.05
#define LEAST_WIDTH_M  0.30
#define HEIGHT_STEP_M  0.01
#define OUTLET_STEP_M  0.05
#define LEAST_OUTLET_M 0.10
#define MOST_OUTLET_M  1.00

/* A volume short by less than this share is enough. */
#define ENOUGH_TOL 1e-6

enum {
    WIDTHS_AT_FIRST = 40,
    MOST_ROUNDS = 60
};

static double above_zero(efi_value value)
{
    return value.given ? value.value : 0.0;
}

static efi_value length_value(double value_m)
{
    return (efi_value){.value = value_m, .given = true, .of = EFI_KIND_LENGTH};
}

static const efi_crop *crop_of(const efi_steel_search *search, int need)
{
    return &search->scenario->crops[search->need[need].crop];
}

double efi_steel_search_live(const efi_steel_search *search, const efi_steel *bin, int need)
{
    return efi_steel_fill(bin, crop_of(search, need), search->need[need].crop).live_m3;
}

static bool holds_enough(const efi_steel_search *search, const efi_steel *bin, int need)
{
    return efi_steel_search_live(search, bin, need) >= search->need[need].live_m3 * (1.0 - ENOUGH_TOL);
}

/* The need that a bin meets least, by the share of what is asked; `*live_m3`: what the bin holds of it. */
static int least_met(const efi_steel_search *search, const efi_steel *bin, double *live_m3)
{
    int least = 0;
    double least_share = INFINITY;
    for (int k = 0; k < search->needs; k++) {
        const double live = efi_steel_search_live(search, bin, k);
        if (live / search->need[k].live_m3 < least_share) {
            least_share = live / search->need[k].live_m3;
            least = k;
            *live_m3 = live;
        }
    }
    return least;
}

static void blame(const efi_steel_search *search, ef_steel *steel, ef_steel_why why, int need)
{
    steel->why = why;
    steel->crop = crop_of(search, need)->name;
    steel->asked_m3 = search->need[need].live_m3;
}

/* ---- a bin of one width ---------------------------------------------------------------------------------
 */

/* The least outlet, in steps, that does not arch and passes what is asked, under a body as wide as this. */
static double outlet_for(const efi_steel_search *search, const efi_steel *bin)
{
    efi_steel tried = *bin;
    bool known = false;
    int steps = (int)lround(LEAST_OUTLET_M / OUTLET_STEP_M);
    const int most = (int)lround(MOST_OUTLET_M / OUTLET_STEP_M);
    for (int k = 0; k < search->needs; k++) {
        const efi_crop *crop = crop_of(search, k);
        known = known || crop->particle_m.given;
        for (; crop->particle_m.given && steps < most; steps++) {
            const double outlet_m = steps * OUTLET_STEP_M;
            tried.outlet_m = length_value(outlet_m);
            const efi_bin_shape shape = efi_steel_shape(&tried);
            const double least_m = efi_outlet_least_m(2.0 * shape.outlet_x_m, outlet_m,
                                                      crop->particle_m.value);
            double tph = 0.0;
            const bool slow = efi_steel_outlet_tph(&tried, crop, false, &tph) &&
                              tph < OUTLET_IN_HAND * search->need[k].rate_tph;
            if (outlet_m >= least_m && !slow)
                break;
        }
    }
    return known ? steps * OUTLET_STEP_M : USUAL_OUTLET_M;
}

/* The flattest hopper, in whole degrees, that cleans out with a margin. */
static double hopper_for(const efi_steel_search *search, const efi_steel *bin)
{
    efi_steel tried = *bin;
    double wanted_deg = 0.0;
    for (int k = 0; k < search->needs; k++)
        wanted_deg = fmax(wanted_deg, efi_steel_slides_deg(bin, crop_of(search, k), search->need[k].crop));
    int deg = USUAL_HOPPER_DEG;
    for (; deg < STEEPEST_DEG; deg++) {
        tried.hopper_deg = (efi_value){.value = deg, .given = true, .of = EFI_KIND_ANGLE};
        const efi_bin_shape shape = efi_steel_shape(&tried);
        if (efi_bin_valley(&shape) >= tan((wanted_deg + USUAL_MARGIN_DEG) * RAD_PER_DEG))
            break;
    }
    return deg;
}

/* What is given and chosen for a bin of a width, its walls still to come. */
static efi_steel at_width(const efi_steel_search *search, double width_m)
{
    efi_steel bin = *search->own;
    if (bin.shape == EFI_SHAPE_ROUND)
        bin.diameter_m = length_value(width_m);
    else
        bin.width_m = length_value(width_m);
    if (!bin.wall_m.given)
        bin.wall_m = length_value(0.0);
    if (!bin.freeboard_m.given)
        bin.freeboard_m = length_value(USUAL_FREEBOARD_M);
    if (!bin.outlet_m.given)
        bin.outlet_m = length_value(outlet_for(search, &bin));
    if (bin.hopper != EFI_HOPPER_FLAT && !bin.hopper_deg.given)
        bin.hopper_deg = (efi_value){.value = hopper_for(search, &bin), .given = true, .of = EFI_KIND_ANGLE};
    return bin;
}

/* Walls so high that heap and left-overs meet nowhere: from there on each metre of wall is a metre of live
 * volume. */
static double full_wall(const efi_steel_search *search, const efi_steel *bin, int need)
{
    const efi_bin_shape shape = efi_steel_shape(bin);
    const efi_crop *crop = crop_of(search, need);
    const double half_x = shape.length_m / 2.0;
    const double half_y = shape.width_m / 2.0;
    const double far_m = shape.is_round ? half_x + shape.inlet_x_m
                                        : hypot(half_x + shape.inlet_x_m, half_y + shape.inlet_y_m);
    const double out_m = shape.is_round ? half_x : hypot(half_x, half_y);
    const double left_m = out_m * tan(crop->emptying_deg.value * RAD_PER_DEG) - shape.hopper_m;
    return shape.freeboard_m + far_m * tan(crop->repose_deg.value * RAD_PER_DEG) + fmax(0.0, left_m);
}

/* The least height of the walls with which a bin meets a need, m. */
static double wall_for(const efi_steel_search *search, efi_steel *bin, int need)
{
    const efi_bin_shape shape = efi_steel_shape(bin);
    const double area_m2 = shape.is_round ? EF_PI / 4.0 * shape.width_m * shape.width_m
                                          : shape.length_m * shape.width_m;
    const double asked_m3 = search->need[need].live_m3;
    double high = full_wall(search, bin, need);
    bin->wall_m.value = high;
    double above = efi_steel_search_live(search, bin, need) - asked_m3;
    if (above <= 0.0)
        return high - above / area_m2;
    double low = 0.0;
    for (int round = 0; round < MOST_ROUNDS && high - low > HEIGHT_STEP_M / 100.0; round++) {
        bin->wall_m.value = (low + high) / 2.0;
        const bool sound = efi_steel_look(bin) == EFI_STEEL_SOUND;
        if (sound && efi_steel_search_live(search, bin, need) >= asked_m3)
            high = bin->wall_m.value;
        else
            low = bin->wall_m.value;
    }
    return high;
}

/* Gives the bin of a width its walls: those given, in proportion, or as high as the needs ask. */
static void raise_walls(const efi_steel_search *search, efi_steel *bin, double width_m)
{
    double wall_m = 0.0;
    if (search->own->wall_m.given) {
        wall_m = search->own->wall_m.value;
    } else if (search->own->proportion.given) {
        wall_m = search->own->proportion.value * width_m;
    } else {
        for (int k = 0; k < search->needs; k++)
            wall_m = fmax(wall_m, wall_for(search, bin, k));
        wall_m = ceil(wall_m / HEIGHT_STEP_M - ENOUGH_TOL) * HEIGHT_STEP_M;
    }
    bin->wall_m = length_value(wall_m);
}

/* The part of a bin that can be looked at before its walls are known. */
static bool goes_together(const efi_steel *bin)
{
    efi_steel tall = *bin;
    if (!(tall.wall_m.value > 0.0))
        tall.wall_m = length_value(above_zero(bin->freeboard_m) + 1.0);
    return efi_steel_look(&tall) == EFI_STEEL_SOUND;
}

/* One width: the bin, whether it goes together and holds enough, its height and steel. */
typedef struct candidate {
    efi_steel bin;
    double width_m;
    bool sound;
    bool enough;
    double height_m;
    double steel_m2;
} candidate;

static candidate candidate_of(const efi_steel_search *search, double width_m)
{
    candidate c = {.bin = at_width(search, width_m), .width_m = width_m};
    c.sound = goes_together(&c.bin);
    if (!c.sound)
        return c;
    raise_walls(search, &c.bin, width_m);
    c.enough = efi_steel_look(&c.bin) == EFI_STEEL_SOUND;
    for (int k = 0; k < search->needs && c.enough; k++)
        c.enough = holds_enough(search, &c.bin, k);
    const efi_bin_shape shape = efi_steel_shape(&c.bin);
    c.height_m = efi_steel_height(&c.bin);
    c.steel_m2 = efi_bin_area(&shape);
    return c;
}

/* ---- over widths ----------------------------------------------------------------------------------------
 */

typedef struct sweep {
    const efi_steel_search *search;
    double first_m;
    int count;      /* widths first_m + i WIDTH_STEP_M */
    candidate best; /* that fits, with the least steel; steel_m2 INFINITY: none so far */
    candidate low;  /* while there is no best: the lowest that holds enough, whatever the headroom; height_m
                       INFINITY: none so far */
    bool any_sound;
} sweep;

static double width_at(const sweep *s, int i)
{
    return s->first_m + i * WIDTH_STEP_M;
}

/* Would a bin of a width take more steel than the best so far even without walls? */
static bool is_dearer(const sweep *s, int i)
{
    if (!isfinite(s->best.steel_m2))
        return false;
    efi_steel bin = at_width(s->search, width_at(s, i));
    if (!goes_together(&bin))
        return true;
    const efi_bin_shape shape = efi_steel_shape(&bin);
    return efi_bin_area(&shape) >= s->best.steel_m2;
}

static void try_width(sweep *s, int i)
{
    if (is_dearer(s, i))
        return;
    const candidate c = candidate_of(s->search, width_at(s, i));
    const efi_value headroom = s->search->own->headroom_m;
    s->any_sound = s->any_sound || c.sound;
    if (!c.enough)
        return;
    if (c.height_m < s->low.height_m)
        s->low = c;
    const bool fits = !headroom.given || c.height_m <= headroom.value;
    if (fits && c.steel_m2 < s->best.steel_m2)
        s->best = c;
}

/* The widths worth looking at: the one that is given, or from narrow to so wide that it is a dish. */
static void lay_out(sweep *s)
{
    const efi_steel *own = s->search->own;
    const efi_value given = own->shape == EFI_SHAPE_ROUND ? own->diameter_m : own->width_m;
    s->first_m = given.given ? given.value : LEAST_WIDTH_M;
    s->count = 1;
    if (given.given)
        return;
    double most_m3 = 0.0;
    for (int k = 0; k < s->search->needs; k++)
        most_m3 = fmax(most_m3, s->search->need[k].live_m3);
    double widest_m = 4.0 * cbrt(most_m3) + 2.0;
    if (own->most_width_m.given)
        widest_m = fmin(widest_m, own->most_width_m.value);
    s->first_m = fmin(s->first_m, widest_m);
    s->count = (int)floor((widest_m - s->first_m) / WIDTH_STEP_M + ENOUGH_TOL) + 1;
}

/* Every so many widths, then all those around the best; all of them when nothing was found that way. */
static void sweep_widths(sweep *s)
{
    const int stride = s->count > WIDTHS_AT_FIRST ? s->count / WIDTHS_AT_FIRST : 1;
    for (int i = 0; i < s->count; i += stride)
        try_width(s, i);
    if (stride == 1)
        return;
    const bool found = isfinite(s->best.steel_m2);
    const int middle = (int)lround((s->best.width_m - s->first_m) / WIDTH_STEP_M);
    const int from = found ? middle - stride + 1 : 0;
    const int to = found ? middle + stride - 1 : s->count - 1;
    for (int i = from > 0 ? from : 0; i <= to && i < s->count; i++)
        if (i % stride != 0)
            try_width(s, i);
}

/* The most of a need's crop that fits below the headroom in any of the widths, m3. */
static double most_below(const sweep *s, int need)
{
    const efi_steel *own = s->search->own;
    const int stride = s->count > WIDTHS_AT_FIRST ? s->count / WIDTHS_AT_FIRST : 1;
    double most_m3 = 0.0;
    for (int i = 0; i < s->count; i += stride) {
        efi_steel bin = at_width(s->search, width_at(s, i));
        if (!goes_together(&bin))
            continue;
        if (!own->wall_m.given) {
            bin.wall_m.value = 0.0;
            bin.wall_m.value = own->headroom_m.value - efi_steel_height(&bin);
        }
        if (bin.wall_m.value >= 0.0 && efi_steel_height(&bin) <= own->headroom_m.value * (1.0 + 1e-12) &&
            efi_steel_look(&bin) == EFI_STEEL_SOUND)
            most_m3 = fmax(most_m3, efi_steel_search_live(s->search, &bin, need));
    }
    return most_m3;
}

/* Says why none of the widths will do. */
static void explain(const sweep *s, ef_steel *steel)
{
    const efi_steel *own = s->search->own;
    int need = 0;
    for (int k = 1; k < s->search->needs; k++)
        if (s->search->need[k].live_m3 > s->search->need[need].live_m3)
            need = k;
    if (!s->any_sound) {
        blame(s->search, steel, EF_STEEL_CONTRADICT, need);
    } else if (isfinite(s->low.height_m)) {
        double live_m3 = 0.0;
        need = least_met(s->search, &s->low.bin, &live_m3);
        blame(s->search, steel, EF_STEEL_NO_HEADROOM, need);
        steel->needed_m = s->low.height_m;
        steel->at_width_m = s->low.width_m;
        steel->there_m = own->headroom_m.value;
        steel->most_m3 = own->proportion.given ? 0.0 : most_below(s, need);
    } else {
        const candidate widest = candidate_of(s->search, width_at(s, s->count - 1));
        const bool limited = own->most_width_m.given && !own->diameter_m.given && !own->width_m.given;
        double live_m3 = 0.0;
        if (widest.sound && efi_steel_look(&widest.bin) == EFI_STEEL_SOUND)
            need = least_met(s->search, &widest.bin, &live_m3);
        blame(s->search, steel, limited ? EF_STEEL_NO_WIDTH : EF_STEEL_TOO_SMALL, need);
        steel->most_m3 = live_m3;
        steel->there_m = limited ? own->most_width_m.value : 0.0;
    }
}

void efi_steel_measure(const efi_steel_search *search, ef_steel *steel, efi_steel *bin)
{
    sweep s = {.search = search, .best = {.steel_m2 = INFINITY}, .low = {.height_m = INFINITY}};
    lay_out(&s);
    sweep_widths(&s);
    if (!isfinite(s.best.steel_m2)) {
        explain(&s, steel);
        return;
    }
    *bin = s.best.bin;
    steel->why = EF_STEEL_FITS;
    steel->chose_hopper = bin->hopper != EFI_HOPPER_FLAT && !search->own->hopper_deg.given;
    steel->chose_outlet = !search->own->outlet_m.given;
    steel->chose_freeboard = !search->own->freeboard_m.given;
}

/* ---- standard bins --------------------------------------------------------------------------------------
 */

/* Does a standard bin go where the station's bin would stand? */
static bool goes_there(const efi_steel_search *search, const efi_steel *bin)
{
    const efi_bin_shape shape = efi_steel_shape(bin);
    const bool low = !bin->headroom_m.given || efi_steel_height(bin) <= bin->headroom_m.value;
    const bool narrow = !bin->most_width_m.given ||
                        fmax(shape.length_m, shape.width_m) <= bin->most_width_m.value;
    return bin->shape == search->own->shape && efi_steel_look(bin) == EFI_STEEL_SOUND && low && narrow;
}

/* A standard bin where the station's would stand. */
static efi_steel place_standard(const efi_steel_search *search, int number)
{
    efi_steel placed = efi_steel_placed(&search->scenario->standard_bins[number], search->own);
    if (!placed.freeboard_m.given)
        placed.freeboard_m = length_value(USUAL_FREEBOARD_M);
    return placed;
}

double efi_steel_standard_live(const efi_steel_search *search, int number)
{
    const efi_steel placed = place_standard(search, number);
    double least_m3 = INFINITY;
    if (!goes_there(search, &placed))
        return 0.0;
    for (int k = 0; k < search->needs; k++)
        least_m3 = fmin(least_m3, efi_steel_search_live(search, &placed, k));
    return least_m3;
}

void efi_steel_pick(const efi_steel_search *search, ef_steel *steel, efi_steel *bin)
{
    const ef_scenario *scenario = search->scenario;
    double best_m3 = INFINITY;
    double most_share = 0.0;
    blame(search, steel, EF_STEEL_NO_STANDARD, 0);
    for (int i = 0; i < scenario->standard_bin_count; i++) {
        const efi_steel placed = place_standard(search, i);
        if (!goes_there(search, &placed))
            continue;
        const efi_bin_shape shape = efi_steel_shape(&placed);
        double live_m3 = 0.0;
        const int worst = least_met(search, &placed, &live_m3);
        const double share = live_m3 / search->need[worst].live_m3;
        if (share >= 1.0 - ENOUGH_TOL && efi_bin_level(&shape) < best_m3) {
            best_m3 = efi_bin_level(&shape);
            *bin = placed;
            steel->why = EF_STEEL_FITS;
            steel->size.standard = placed.name;
            steel->chose_freeboard = !search->own->freeboard_m.given;
        }
        if (steel->why != EF_STEEL_FITS && share > most_share) {
            most_share = share;
            blame(search, steel, EF_STEEL_NO_STANDARD, worst);
            steel->most_m3 = live_m3;
        }
    }
}

void efi_steel_test(const efi_steel_search *search, ef_steel *steel, const efi_steel *bin)
{
    double live_m3 = 0.0;
    steel->why = EF_STEEL_FITS;
    if (efi_steel_look(bin) != EFI_STEEL_SOUND) {
        blame(search, steel, EF_STEEL_CONTRADICT, 0);
        return;
    }
    const int worst = least_met(search, bin, &live_m3);
    if (live_m3 < search->need[worst].live_m3 * (1.0 - ENOUGH_TOL)) {
        blame(search, steel, EF_STEEL_TOO_SMALL, worst);
        steel->most_m3 = live_m3;
    }
}
