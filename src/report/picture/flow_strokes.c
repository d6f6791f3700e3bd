/* SPDX-License-Identifier: GPL-3.0-or-later
 * The strokes of the flow diagram. */
#include "base/base.h"
#include "base/tongue.h"
#include "report/picture/flow.h"

#include <math.h>
#include <string.h>

#define MOST_STROKE  18.0
#define LEAST_STROKE 1.8
#define CORNER       9.0

static int station_of(const ef_balance_crop *crop, const char *name)
{
    for (int s = 0; s < crop->station_count; s++)
        if (strcmp(crop->stations[s].name, name) == 0)
            return s;
    return -1;
}

/* ---- strokes --------------------------------------------------------------------------------------------
 */

/* Marks the stations from which a product can be reached without going back. */
static void find_products(const efi_picture *p, bool *reaches)
{
    const ef_balance_crop *crop = p->crop;
    for (int o = 0; o < crop->outlet_count; o++) {
        const int s = station_of(crop, crop->outlets[o].name);
        if (crop->outlets[o].product && s >= 0)
            reaches[s] = true;
    }
    for (int round = 0; round < crop->station_count; round++) {
        for (int a = 0; a < p->layers.arrows; a++) {
            const efi_layers_arrow *arrow = &p->layers.arrow[a];
            if (!arrow->closes_loop && reaches[arrow->to])
                reaches[arrow->from] = true;
        }
    }
}

ef_status efi_picture_make_arrows(efi_picture *p)
{
    const ef_balance_crop *crop = p->crop;
    const size_t most = (size_t)crop->spout_count;
    bool *reaches = efi_arena_get(p->arena, (size_t)crop->station_count, sizeof *reaches);
    int *spouts = efi_arena_get(p->arena, most, sizeof *spouts);
    p->layers.arrow = efi_arena_get(p->arena, most, sizeof *p->layers.arrow);
    p->kind = efi_arena_get(p->arena, most, sizeof *p->kind);
    if (!reaches || !spouts || !p->layers.arrow || !p->kind)
        return EF_MEMORY;
    for (int k = 0; k < crop->spout_count; k++) {
        const ef_balance_spout *spout = &crop->spouts[k];
        const int from = station_of(crop, spout->from);
        const int to = station_of(crop, spout->to);
        if (from < 0 || to < 0 || from == to)
            continue;
        const double share = spout->flow.total_tph / p->largest_tph;
        spouts[p->layers.arrows] = k;
        p->layers.arrow[p->layers.arrows++] = (efi_layers_arrow){
            .from = from,
            .to = to,
            .width = fmax(LEAST_STROKE, MOST_STROKE * share),
            .closes_loop = spout->closes_loop};
    }
    find_products(p, reaches);
    for (int a = 0; a < p->layers.arrows; a++) {
        const efi_layers_arrow *arrow = &p->layers.arrow[a];
        p->kind[a] = arrow->closes_loop ? EFI_RETURNS : reaches[arrow->to] ? EFI_TO_PRODUCT : EFI_TO_REJECT;
    }
    p->spout = spouts;
    return EF_OK;
}

static double head_of(double width)
{
    return 4.0 + 0.5 * width;
}

/* Curves that are vertical in each point, the last ended short of the arrow's head. */
static void draw_curves(efi_text *out, const efi_layers_arrow *arrow)
{
    const efi_layers_point *point = arrow->point;
    efi_svg_step(out, 'M', (double[]){point[0].x, point[0].y}, 2);
    for (int i = 1; i < arrow->points; i++) {
        const double y = point[i].y - (i + 1 == arrow->points ? head_of(arrow->width) : 0.0);
        const double half = 0.5 * (point[i - 1].y + y);
        if (point[i].x == point[i - 1].x)
            efi_svg_step(out, 'L', (double[]){point[i].x, y}, 2);
        else
            efi_svg_step(out, 'C', (double[]){point[i - 1].x, half, point[i].x, half, point[i].x, y}, 6);
    }
}

/* A point `by` from `from` towards `to`. */
static efi_layers_point towards(efi_layers_point from, efi_layers_point to, double by)
{
    const double length = hypot(to.x - from.x, to.y - from.y);
    const double part = length > 0.0 ? fmin(by / length, 0.5) : 0.0;
    return (efi_layers_point){from.x + part * (to.x - from.x), from.y + part * (to.y - from.y)};
}

/* Straight lines with rounded corners. */
static void draw_lane(efi_text *out, const efi_layers_arrow *arrow)
{
    const efi_layers_point *point = arrow->point;
    const int last = arrow->points - 1;
    efi_svg_step(out, 'M', (double[]){point[0].x, point[0].y}, 2);
    for (int i = 1; i < last; i++) {
        const efi_layers_point in = towards(point[i], point[i - 1], CORNER);
        const efi_layers_point on = towards(point[i], point[i + 1], CORNER);
        efi_svg_step(out, 'L', (double[]){in.x, in.y}, 2);
        efi_svg_step(out, 'Q', (double[]){point[i].x, point[i].y, on.x, on.y}, 4);
    }
    const efi_layers_point end = towards(point[last], point[last - 1], head_of(arrow->width));
    efi_svg_step(out, 'L', (double[]){end.x, end.y}, 2);
}

static void draw_head(efi_text *out, const efi_layers_arrow *arrow, const char *classes)
{
    const efi_layers_point tip = arrow->point[arrow->points - 1];
    const efi_layers_point before = arrow->point[arrow->points - 2];
    const double long_px = head_of(arrow->width) + 1.0;
    const double half = 2.5 + 0.5 * arrow->width;
    double x = 0.0;
    double y = 1.0;
    if (arrow->closes_loop) {
        const double length = hypot(tip.x - before.x, tip.y - before.y);
        x = (tip.x - before.x) / length;
        y = (tip.y - before.y) / length;
    }
    efi_text_addf(out, "<path class=\"head %s\" d=\"", classes);
    efi_svg_step(out, 'M', (double[]){tip.x, tip.y}, 2);
    efi_svg_step(out, 'L', (double[]){tip.x - long_px * x - half * y, tip.y - long_px * y + half * x}, 2);
    efi_svg_step(out, 'L', (double[]){tip.x - long_px * x + half * y, tip.y - long_px * y - half * x}, 2);
    efi_text_add(out, "Z\"/>\n");
}

void efi_picture_draw_stroke(const efi_picture *p, int a)
{
    const ef_balance_spout *spout = &p->crop->spouts[p->spout[a]];
    const efi_layers_arrow *arrow = &p->layers.arrow[a];
    const char *classes = efi_stream_class(p->kind[a]);
    efi_text words = {0};
    efi_text rate = {0};
    efi_picture_add_rate(p, &rate, spout->flow.total_tph, true);
    if (spout->discharge[0])
        efi_text_addf(&words, efi_tr("%s, %s, to %s: %s"), spout->from, spout->discharge, spout->to,
                      efi_text_get(&rate));
    else
        efi_text_addf(&words, efi_tr("%s, to %s: %s"), spout->from, spout->to, efi_text_get(&rate));
    efi_text_add(p->out, "<g><title>");
    efi_svg_words(p->out, efi_text_get(&words));
    p->out->failed = p->out->failed || words.failed || rate.failed;
    efi_text_free(&rate);
    efi_text_free(&words);
    efi_text_addf(p->out, "</title>\n<path class=\"stream %s\"", classes);
    efi_svg_attribute(p->out, "stroke-width", arrow->width);
    efi_text_add(p->out, " d=\"");
    if (arrow->closes_loop)
        draw_lane(p->out, arrow);
    else
        draw_curves(p->out, arrow);
    efi_text_add(p->out, "\"/>\n");
    draw_head(p->out, arrow, classes);
    efi_text_add(p->out, "</g>\n");
}
