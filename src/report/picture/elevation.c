/* SPDX-License-Identifier: GPL-3.0-or-later
 * A bin of steel from the side: its outline with dimensions, the heap, what stays behind. */
#include "report/picture/elevation.h"
#include "base/base.h"
#include "base/number.h"
#include "base/tongue.h"
#include "report/report.h"

#include <math.h>
#include <string.h>

#define WIDTH         640.0
#define MOST_WIDE     240.0 /* px of the bin */
#define MOST_HIGH     330.0
#define ABOVE         44.0  /* px above the walls, for the width */
#define BELOW         40.0  /* px below the floor, for the outlet */
#define LITTLE        0.005 /* of the live volume: less is not drawn as staying behind */
#define MOST_HEADROOM 1.4   /* of the bin's height: a higher roof is not drawn */
enum {
    SAMPLES = 96
};

static bool is(const char *word, const char *other)
{
    return strcmp(word, other) == 0;
}

static double radians(double degrees)
{
    return degrees * EF_PI / 180.0;
}

double efi_elevation_x(const efi_elevation *e, double x_m)
{
    return e->middle + e->scale * x_m;
}

double efi_elevation_y(const efi_elevation *e, double z_m)
{
    return e->floor - e->scale * (e->size->clearance_m + z_m);
}

/* ---- heights above the outlet ---------------------------------------------------------------------------
 * model/bin_shape.h has the surfaces; here they are cut by the plane of the drawing.
 */

static double hopper_m(const efi_elevation *e, double x_m)
{
    const double run = 0.5 * (e->wide_m - e->outlet_m);
    const double out = fabs(x_m) - 0.5 * e->outlet_m;
    return run > 0.0 && out > 0.0 ? e->size->hopper_m * fmin(1.0, out / run) : 0.0;
}

static double heap_m(const efi_elevation *e, double x_m)
{
    const double peak = e->size->hopper_m + e->size->wall_m - e->size->freeboard_m;
    return fmax(hopper_m(e, x_m), peak - tan(radians(e->crop->repose_deg)) * fabs(x_m - e->inlet_m));
}

static double left_m(const efi_elevation *e, double x_m)
{
    const double out = fmax(0.0, fabs(x_m) - 0.5 * e->outlet_m);
    const double rest = tan(radians(e->crop->emptying_deg)) * out;
    return fmin(heap_m(e, x_m), fmax(hopper_m(e, x_m), rest));
}

static double sample_m(const efi_elevation *e, int i)
{
    return e->wide_m * ((double)i / SAMPLES - 0.5);
}

/* What lies between the hopper and a surface. */
static void draw_below(efi_text *out, const efi_elevation *e, const char *classes,
                       double surface_m(const efi_elevation *, double))
{
    efi_text_addf(out, "<path class=\"%s\" d=\"", classes);
    for (int i = 0; i <= SAMPLES; i++)
        efi_svg_step(
            out, i == 0 ? 'M' : 'L',
            (double[]){efi_elevation_x(e, sample_m(e, i)), efi_elevation_y(e, surface_m(e, sample_m(e, i)))},
            2);
    for (int i = SAMPLES; i >= 0; i--)
        efi_svg_step(
            out, 'L',
            (double[]){efi_elevation_x(e, sample_m(e, i)), efi_elevation_y(e, hopper_m(e, sample_m(e, i)))},
            2);
    efi_text_add(out, "Z\"/>\n");
}

static void draw_surface(efi_text *out, const efi_elevation *e)
{
    efi_text_add(out, "<path class=\"surface\" d=\"");
    for (int i = 0; i <= SAMPLES; i++)
        efi_svg_step(
            out, i == 0 ? 'M' : 'L',
            (double[]){efi_elevation_x(e, sample_m(e, i)), efi_elevation_y(e, heap_m(e, sample_m(e, i)))}, 2);
    efi_text_add(out, "\"/>\n");
}

/* Upright lines through what stays behind. */
static void hatch_left(efi_text *out, const efi_elevation *e)
{
    efi_text path = {0};
    for (int i = 0; i <= SAMPLES; i += 2) {
        const double x_m = sample_m(e, i);
        if (left_m(e, x_m) - hopper_m(e, x_m) <= 1.0 / e->scale)
            continue;
        const double x = efi_elevation_x(e, x_m);
        efi_svg_step(&path, 'M', (double[]){x, efi_elevation_y(e, left_m(e, x_m))}, 2);
        efi_svg_step(&path, 'V', (double[]){efi_elevation_y(e, hopper_m(e, x_m))}, 1);
    }
    const bool any = path.length > 0;
    efi_text_add(out, any ? "<path class=\"hatch\" d=\"" : "");
    efi_frame_take(out, &path);
    efi_text_add(out, any ? "\"/>\n" : "");
}

static bool stays_behind(const ef_steel_crop *crop)
{
    return crop->dead_m3 > LITTLE * crop->live_m3;
}

/* Walls and hopper, open at the top and at the outlet. */
static void draw_outline(efi_text *out, const efi_elevation *e)
{
    const double half = 0.5 * e->wide_m;
    const double top = e->size->hopper_m + e->size->wall_m;
    efi_text_add(out, "<path class=\"steel\" d=\"");
    for (int side = -1; side <= 1; side += 2) {
        efi_svg_step(out, 'M', (double[]){efi_elevation_x(e, side * half), efi_elevation_y(e, top)}, 2);
        efi_svg_step(out, 'V', (double[]){efi_elevation_y(e, e->size->hopper_m)}, 1);
        efi_svg_step(out, 'L',
                     (double[]){efi_elevation_x(e, side * 0.5 * e->outlet_m), efi_elevation_y(e, 0.0)}, 2);
    }
    efi_text_add(out, "\"/>\n");
}

static void draw_fill(efi_text *out, const efi_elevation *e)
{
    draw_below(out, e, "heap", heap_m);
    if (!e->crop->cleans_out && stays_behind(e->crop)) {
        draw_below(out, e, "dead", left_m);
        hatch_left(out, e);
    }
    draw_surface(out, e);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

/* The crop that sets the volume, else the first that passes. */
static const ef_steel_crop *crop_of(const ef_bins *bins, const ef_bins_whole *whole)
{
    const ef_steel *steel = whole->steel;
    for (int k = 0; whole->crop >= 0 && k < steel->crop_count; k++)
        if (is(steel->crops[k].crop, bins->crops[whole->crop].name))
            return &steel->crops[k];
    return &steel->crops[0];
}

/* Seen so that the slope of the hopper shows: across a wedge, else along the length. */
static efi_elevation view_of(const ef_steel *steel, const ef_steel_crop *crop, ef_units units)
{
    const ef_steel_size *size = &steel->size;
    const bool across = is(size->hopper, "wedge");
    efi_elevation e = {.size = size, .crop = crop, .units = units, .across = across};
    e.wide_m = across ? size->width_m : size->length_m;
    e.outlet_m = across ? size->outlet_m : size->outlet_length_m;
    e.inlet_m = across ? size->inlet_across_m : size->inlet_offset_m;
    e.shows_roof = size->has_headroom && size->headroom_m <= MOST_HEADROOM * size->height_m;
    e.high_m = e.shows_roof ? fmax(size->height_m, size->headroom_m) : size->height_m;
    e.scale = fmin(MOST_WIDE / e.wide_m, MOST_HIGH / e.high_m);
    return e;
}

static const char *shape_words(const ef_steel_size *size)
{
    if (is(size->shape, "round"))
        return efi_tr("round bin");
    return size->length_m == size->width_m ? efi_tr("square bin") : efi_tr("rectangular bin");
}

static const char *hopper_words(const ef_steel_size *size)
{
    if (is(size->hopper, "flat"))
        return efi_tr("a flat floor");
    if (is(size->hopper, "cone"))
        return efi_tr("a cone");
    return is(size->hopper, "wedge") ? efi_tr("a wedge") : efi_tr("a pyramid");
}

static void write_heading(const ef_bins *bins, const ef_steel *steel, const efi_elevation *e,
                          efi_sheet *sheet)
{
    const ef_steel_size *size = e->size;
    efi_text_addf(&sheet->title, efi_tr("%s in steel"), steel->station);
    if (size->standard)
        efi_text_addf(&sheet->below, efi_tr("%s; %s with %s, standard size, filled with %s"), bins->plant,
                      shape_words(size), hopper_words(size), e->crop->crop);
    else
        efi_text_addf(&sheet->below, efi_tr("%s; %s with %s, filled with %s"), bins->plant, shape_words(size),
                      hopper_words(size), e->crop->crop);
    efi_elevation_describe(&sheet->description, e);
}

static double draw(const ef_bins *bins, const ef_steel *steel, efi_elevation *e, efi_sheet *sheet)
{
    write_heading(bins, steel, e, sheet);
    efi_sheet_begin(sheet);
    e->left = EFI_FRAME_MARGIN;
    e->right = WIDTH - EFI_FRAME_MARGIN;
    e->middle = 0.42 * WIDTH;
    e->top = sheet->top + ABOVE;
    e->floor = e->top + e->scale * e->high_m;
    draw_fill(&sheet->out, e);
    efi_elevation_draw_dimensions(&sheet->out, e);
    draw_outline(&sheet->out, e);
    return efi_elevation_write_notes(&sheet->out, e, steel, e->floor + BELOW + 16.0);
}

ef_status ef_report_elevation_svg(const ef_bins *bins, int bin, ef_units units, char **text)
{
    if (bin < 0 || bin >= bins->bin_count)
        return EF_USAGE;
    const ef_bins_whole *whole = &bins->bins[bin];
    if (!whole->steel || whole->steel->why != EF_STEEL_FITS || whole->steel->crop_count == 0)
        return EF_NO_ANSWER;
    efi_sheet sheet = {.width = WIDTH};
    efi_elevation e = view_of(whole->steel, crop_of(bins, whole), units);
    const double bottom = draw(bins, whole->steel, &e, &sheet);
    return efi_sheet_give(&sheet, bottom, text);
}
