/* SPDX-License-Identifier: GPL-3.0-or-later
 * Volume of the bins against full-feed minutes short, with the volumes now, by the rule and recommended. */
#include "base/base.h"
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <evenfeed/bins.h>
#include <math.h>
#include <string.h>

#define WIDTH       640.0
#define PLOT_HEIGHT 260.0
#define PLOT_LEFT   58.0
#define LEAST_TOP   2.0 /* minutes: the scale of minutes reaches at least so far */
#define MINUTES     60.0
enum {
    CHECKS = 3,
    STEPS = 24, /* samples of a piece of the curve */
    MOST_SPOTS = 3 * CHECKS + 1
};

typedef enum marker {
    SQUARE,
    DIAMOND,
    DISC
} marker;

/* One set of volumes that was tried on fresh traces. */
typedef struct tried {
    const char *name;
    marker shape;
    const ef_bins_check *check;
    double volume_m3; /* of the bins of the path that are sized */
} tried;

typedef struct picture {
    const ef_bins *bins;
    const ef_bins_feed *feed;
    efi_display m3;
    tried tried[CHECKS];
    efi_axis x, y; /* volume in its unit, minutes */
    double top, bottom;
    efi_spot spot[MOST_SPOTS]; /* taken by marks and their names */
    int spots;
    efi_text *out;
} picture;

/* ---- volumes --------------------------------------------------------------------------------------------
 * The curve is about the bins on the path of its own station, what was tried about those of all stations.
 */

static const ef_bins_bin *bin_of(const ef_bins_crop *crop, const char *name)
{
    for (int b = 0; b < crop->bin_count; b++)
        if (strcmp(crop->bins[b].name, name) == 0)
            return &crop->bins[b];
    return NULL;
}

static double recommended_m3(const ef_bins *bins, const char *name)
{
    for (int b = 0; b < bins->bin_count; b++)
        if (strcmp(bins->bins[b].name, name) == 0)
            return bins->bins[b].recommended_m3;
    return 0.0;
}

static void add_volumes(picture *p, const ef_bins_crop *crop)
{
    for (int j = 0; j + 1 < p->feed->segments; j++) {
        const ef_bins_link *link = &p->feed->links[j];
        const ef_bins_bin *bin = link->bin ? bin_of(crop, link->bin) : NULL;
        if (!bin || bin->choice != EF_BINS_SIZED || !(link->most_t > link->least_t))
            continue;
        const double now_m3 = bin->has_now ? bin->now_m3 : 0.0;
        p->tried[0].volume_m3 += now_m3;
        p->tried[1].volume_m3 += bin->has_rule ? bin->rule_m3 : now_m3;
        p->tried[2].volume_m3 += recommended_m3(p->bins, bin->name);
    }
}

static double x_of(const picture *p, double m3)
{
    return efi_axis_at(&p->x, efi_display_value(&p->m3, m3));
}

static double y_of(const picture *p, double hours)
{
    return efi_axis_at(&p->y, MINUTES * hours);
}

/* ---- scales ---------------------------------------------------------------------------------------------
 */

static bool is_finite(const ef_bins_estimate *e)
{
    return isfinite(e->low) && isfinite(e->high);
}

/* The scale of minutes shows what was tried and the aim well; the curve may leave it at the top. */
static void make_axes(picture *p)
{
    const ef_bins_feed *feed = p->feed;
    double most_m3 = feed->curve[0].volume_m3;
    double curve_h = 0.0;
    double shown_h = 0.0;
    for (int i = 0; i < feed->curve_count; i++) {
        most_m3 = fmax(most_m3, feed->curve[i].volume_m3);
        curve_h = fmax(curve_h, feed->curve[i].short_h);
    }
    for (int i = 0; i < CHECKS; i++) {
        const ef_bins_check *check = p->tried[i].check;
        if (!check->is_run)
            continue;
        most_m3 = fmax(most_m3, p->tried[i].volume_m3);
        shown_h = fmax(shown_h, is_finite(&check->short_h) ? check->short_h.high : check->short_h.value);
    }
    if (p->bins->aim == EF_BINS_MEAN)
        shown_h = fmax(shown_h, 2.0 * (feed->unavoidable_h + p->bins->aim_h));
    if (feed->knee >= 0)
        shown_h = fmax(shown_h, feed->curve[feed->knee].short_h);
    const double top_min = fmax(LEAST_TOP, MINUTES * fmin(fmax(curve_h, shown_h), 1.25 * shown_h));
    p->x = efi_axis_make(0.0, efi_display_value(&p->m3, most_m3 > 0.0 ? most_m3 : 1.0), PLOT_LEFT,
                         WIDTH - 24.0, 8, true);
    p->y = efi_axis_make(0.0, top_min, p->bottom, p->top, 5, true);
}

/* ---- the curve ------------------------------------------------------------------------------------------
 */

/* The curve up to the top of the plot, from its least shortfall on. */
static void draw_curve(const picture *p)
{
    const ef_bins_feed *feed = p->feed;
    const double top_h = p->y.to / MINUTES;
    efi_text_add(p->out, "<path class=\"curve\" d=\"");
    for (int i = 0; i < feed->curve_count; i++) {
        const ef_bins_point *point = &feed->curve[i];
        if (point->short_h <= top_h) {
            efi_svg_step(p->out, i == 0 ? 'M' : 'L',
                         (double[]){x_of(p, point->volume_m3), y_of(p, point->short_h)}, 2);
            continue;
        }
        const ef_bins_point *before = i > 0 ? &feed->curve[i - 1] : point;
        const double span_h = point->short_h - before->short_h;
        const double part = span_h > 0.0 ? (top_h - before->short_h) / span_h : 0.0;
        const double m3 = before->volume_m3 + part * (point->volume_m3 - before->volume_m3);
        efi_svg_step(p->out, i == 0 ? 'M' : 'L', (double[]){x_of(p, m3), p->top}, 2);
        break;
    }
    efi_text_add(p->out, "\"/>\n");
}

static void add_point_words(efi_text *words, const picture *p, double m3, double hours)
{
    efi_text_addf(words, efi_tr("%s, %s min short a shift"), efi_piece_quantity(&p->m3, m3).words,
                  efi_piece_fixed(MINUTES * hours, 1).words);
}

/* "now: 12 m3, 3.4 min short a shift" */
static void add_named_point(efi_text *words, const picture *p, const tried *of)
{
    efi_text_addf(words, "%s: ", of->name);
    add_point_words(words, p, of->volume_m3, of->check->short_h.value);
}

static void add_circle(efi_text *out, const char *classes, double x, double y, double radius)
{
    efi_text_addf(out, "<circle class=\"%s\"", classes);
    efi_svg_attribute(out, "cx", x);
    efi_svg_attribute(out, "cy", y);
    efi_svg_attribute(out, "r", radius);
    efi_text_add(out, "/>");
}

static void draw_points(const picture *p)
{
    for (int i = 0; i < p->feed->curve_count; i++) {
        const ef_bins_point *point = &p->feed->curve[i];
        if (MINUTES * point->short_h > p->y.to)
            break;
        efi_text at = {0};
        efi_text words = {0};
        add_point_words(&at, p, point->volume_m3, point->short_h);
        if (i == p->feed->knee)
            efi_text_addf(&words, efi_tr("knee, less is dear from here on: %s"), efi_text_get(&at));
        else
            efi_text_add(&words, efi_text_get(&at));
        words.failed = words.failed || at.failed;
        efi_text_free(&at);
        efi_text_add(p->out, "<g><title>");
        efi_svg_words(p->out, efi_text_get(&words));
        efi_text_add(p->out, "</title>");
        add_circle(p->out, "dot", x_of(p, point->volume_m3), y_of(p, point->short_h),
                   i == p->feed->knee ? 5.5 : 3.0);
        efi_text_add(p->out, "</g>\n");
        p->out->failed = p->out->failed || words.failed;
        efi_text_free(&words);
    }
}

/* ---- what was tried -------------------------------------------------------------------------------------
 */

static void draw_marker(efi_text *out, marker shape, double x, double y)
{
    switch (shape) {
    case SQUARE:
        efi_text_add(out, "<path class=\"marker\" d=\"");
        efi_svg_step(out, 'M', (double[]){x - 5.0, y - 5.0}, 2);
        efi_text_add(out, "h10v10h-10Z\"/>");
        break;
    case DIAMOND:
        efi_text_add(out, "<path class=\"marker\" d=\"");
        efi_svg_step(out, 'M', (double[]){x, y - 7.0}, 2);
        efi_text_add(out, "l7 7l-7 7l-7 -7Z\"/>");
        break;
    case DISC:
        add_circle(out, "marker best", x, y, 6.0);
        break;
    }
}

static void draw_tried(picture *p, const tried *of)
{
    const double x = x_of(p, of->volume_m3);
    const double y = y_of(p, of->check->short_h.value);
    if (is_finite(&of->check->short_h)) {
        const double high = fmax(p->top, y_of(p, of->check->short_h.high));
        const double low = y_of(p, fmax(0.0, of->check->short_h.low));
        efi_frame_line(p->out, "whisker", x, high, x, low);
        p->spot[p->spots++] = (efi_spot){x - 5.0, high, x + 5.0, low};
        efi_frame_line(p->out, "whisker", x - 4.0, high, x + 4.0, high);
        efi_frame_line(p->out, "whisker", x - 4.0, low, x + 4.0, low);
    }
    efi_text words = {0};
    add_named_point(&words, p, of);
    efi_text_add(p->out, "<g><title>");
    efi_svg_words(p->out, efi_text_get(&words));
    efi_text_add(p->out, "</title>");
    draw_marker(p->out, of->shape, x, y);
    efi_text_add(p->out, "</g>\n");
    p->spot[p->spots++] = (efi_spot){x - 8.0, y - 8.0, x + 8.0, y + 8.0};
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
}

/* Does the curve run through a place? */
static bool hides_curve(const picture *p, const efi_spot *spot)
{
    for (int i = 0; i + 1 < p->feed->curve_count; i++) {
        const ef_bins_point *from = &p->feed->curve[i];
        const ef_bins_point *to = from + 1;
        for (int step = 0; step <= STEPS; step++) {
            const double part = (double)step / STEPS;
            const double x = x_of(p, from->volume_m3 + part * (to->volume_m3 - from->volume_m3));
            const double y = y_of(p, from->short_h + part * (to->short_h - from->short_h));
            if (x > spot->left && x < spot->right && y > spot->top && y < spot->bottom)
                return true;
        }
    }
    return false;
}

static bool is_clear(const picture *p, const efi_spot *spot, bool of_curve)
{
    bool clear = spot->left > PLOT_LEFT && spot->right < WIDTH - EFI_FRAME_MARGIN && spot->top >= p->top &&
                 spot->bottom <= p->bottom;
    for (int i = 0; clear && i < p->spots; i++)
        clear = !efi_spot_meets(spot, &p->spot[i]);
    return clear && !(of_curve && hides_curve(p, spot));
}

/* Writes a name near a point where it hides neither marks nor other names, and if it can be nor the curve; a
 * thin line leads to it where it stands apart. */
static void write_name(picture *p, double x, double y, const char *name)
{
    /* its left end, in widths from the point and in px beside it; rows up or down */
    static const struct {
        double widths, beside, row;
    } places[] = {{0.0, 11.0, 0.0},    {-1.0, -11.0, 0.0}, {-0.5, 0.0, -1.1},   {-0.5, 0.0, 1.1},
                  {0.0, 14.0, -2.0},   {0.0, 14.0, 2.0},   {-1.0, -14.0, -2.0}, {0.0, 30.0, -3.0},
                  {-1.0, -30.0, -3.0}, {0.0, 46.0, -4.0},  {-1.0, -46.0, -4.0}};
    const double width = efi_svg_width(name, EFI_FRAME_LABEL);
    for (size_t turn = 0; turn < 2 * EF_COUNT(places); turn++) {
        const size_t i = turn % EF_COUNT(places);
        const double left = x + places[i].widths * width + places[i].beside;
        const double middle = y + 16.0 * places[i].row;
        const efi_spot spot = {left, middle - 7.0, left + width, middle + 7.0};
        if (!is_clear(p, &spot, turn < EF_COUNT(places)))
            continue;
        if (fabs(places[i].row) > 1.5)
            efi_frame_line(p->out, "help", x, y, places[i].beside > 0.0 ? left - 2.0 : left + width + 2.0,
                           middle);
        efi_svg_text(p->out, left, middle + 4.0, "start", "count", name);
        p->spot[p->spots++] = spot;
        return;
    }
}

/* The line below which the aim is met. */
static void draw_aim(picture *p)
{
    if (p->bins->aim != EF_BINS_MEAN)
        return;
    const double y = y_of(p, p->feed->unavoidable_h + p->bins->aim_h);
    efi_text words = {0};
    efi_text_addf(&words, efi_tr("aim: %s min"),
                  efi_piece_fixed(MINUTES * (p->feed->unavoidable_h + p->bins->aim_h), 1).words);
    const double width = efi_svg_width(efi_text_get(&words), EFI_FRAME_NOTE);
    efi_frame_line(p->out, "mark outer", p->x.at_from, y, p->x.at_to, y);
    efi_svg_text(p->out, p->x.at_to, y - 5.0, "end", "rate", efi_text_get(&words));
    p->spot[p->spots++] = (efi_spot){p->x.at_to - width, y - 15.0, p->x.at_to, y};
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
}

/* ---- words ----------------------------------------------------------------------------------------------
 */

static void add_tried_words(efi_text *words, const picture *p, const tried *of)
{
    const ef_bins_estimate *e = &of->check->short_h;
    efi_text point = {0};
    add_named_point(&point, p, of);
    if (is_finite(e))
        efi_text_addf(words, efi_tr("%s (%s to %s)"), efi_text_get(&point),
                      efi_piece_fixed(MINUTES * fmax(0.0, e->low), 1).words,
                      efi_piece_fixed(MINUTES * e->high, 1).words);
    else
        efi_text_add(words, efi_text_get(&point));
    words->failed = words->failed || point.failed;
    efi_text_free(&point);
}

/* What the marks are, with their numbers; returns the last baseline. */
static double explain(const picture *p, double top)
{
    efi_legend legend = {EFI_FRAME_MARGIN, WIDTH - EFI_FRAME_MARGIN, EFI_FRAME_MARGIN, top};
    efi_spot spot = efi_legend_add(p->out, &legend, 20.0,
                                   efi_tr("least volume for so many minutes, on the traces for sizing"));
    efi_frame_line(p->out, "curve", spot.left, spot.top + 6.0, spot.right, spot.top + 6.0);
    if (p->feed->knee >= 0) {
        spot = efi_legend_add(p->out, &legend, 20.0, efi_tr("knee: less is dear from here on"));
        add_circle(p->out, "dot", spot.left + 10.0, spot.top + 6.0, 5.5);
    }
    for (int i = 0; i < CHECKS; i++) {
        if (!p->tried[i].check->is_run)
            continue;
        efi_text words = {0};
        add_tried_words(&words, p, &p->tried[i]);
        legend.x = legend.left;
        legend.y += 1.2 * EFI_FRAME_LINE;
        spot = efi_legend_add(p->out, &legend, 20.0, efi_text_get(&words));
        draw_marker(p->out, p->tried[i].shape, spot.left + 10.0, spot.top + 6.0);
        p->out->failed = p->out->failed || words.failed;
        efi_text_free(&words);
    }
    return efi_frame_wrap(
               p->out, &efi_letters_note, legend.left, legend.y + 1.2 * EFI_FRAME_LINE,
               legend.right - legend.left,
               /* xgettext:no-c-format */
               efi_tr("Marks: tried on fresh traces in the event engine; in brackets, and as whiskers, 95 % "
                      "confidence limits.")) -
           EFI_FRAME_LINE;
}

static void write_heading(const picture *p, const ef_bins_crop *crop, efi_sheet *sheet)
{
    efi_text_addf(&sheet->title, efi_tr("Volume against minutes short: %s on %s"), p->feed->name, crop->name);
    efi_text_addf(&sheet->below, efi_tr("%s; volume of the bins that are sized for it"), p->bins->plant);
    efi_text_add(&sheet->description, efi_tr("How much volume keeps full feed for how long."));
    for (int i = 0; i < CHECKS; i++) {
        if (!p->tried[i].check->is_run)
            continue;
        efi_text_add(&sheet->description, " ");
        add_tried_words(&sheet->description, p, &p->tried[i]);
        efi_text_add(&sheet->description, ".");
    }
}

ef_status ef_report_curve_svg(const ef_bins *bins, int crop, int feed, ef_units units, char **text)
{
    if (crop < 0 || crop >= bins->crop_count || feed < 0 || feed >= bins->crops[crop].feed_count)
        return EF_USAGE;
    const ef_bins_feed *of = &bins->crops[crop].feeds[feed];
    if (of->curve_count < 2)
        return EF_NO_ANSWER;
    efi_sheet sheet = {.width = WIDTH};
    picture p = {.bins = bins,
                 .feed = of,
                 .tried = {{efi_tr("now"), SQUARE, &of->now, 0.0},
                           {efi_tr("by the rule"), DIAMOND, &of->rule, 0.0},
                           {efi_tr("recommended"), DISC, &of->recommended, 0.0}},
                 .out = &sheet.out};
    add_volumes(&p, &bins->crops[crop]);
    p.m3 = efi_display_choose(EFI_KIND_VOLUME, units, of->curve[0].volume_m3, 0.0, NULL);
    write_heading(&p, &bins->crops[crop], &sheet);
    efi_sheet_begin(&sheet);
    p.top = sheet.top + 22.0;
    p.bottom = p.top + PLOT_HEIGHT;
    make_axes(&p);
    efi_text words = {0};
    efi_text_addf(&words, efi_tr("live volume, %s"), p.m3.name);
    efi_axis_draw_below(&sheet.out, &p.x, p.bottom, p.top, efi_text_get(&words));
    efi_axis_draw_left(&sheet.out, &p.y, PLOT_LEFT, p.x.at_to, efi_tr("minutes of full feed short, a shift"));
    draw_aim(&p);
    draw_curve(&p);
    draw_points(&p);
    for (int i = 0; i < CHECKS; i++)
        if (p.tried[i].check->is_run)
            draw_tried(&p, &p.tried[i]);
    for (int i = CHECKS - 1; i >= 0; i--)
        if (p.tried[i].check->is_run)
            write_name(&p, x_of(&p, p.tried[i].volume_m3), y_of(&p, p.tried[i].check->short_h.value),
                       p.tried[i].name);
    sheet.out.failed = sheet.out.failed || words.failed;
    efi_text_free(&words);
    return efi_sheet_give(&sheet, explain(&p, p.bottom + EFI_AXIS_HEIGHT + 14.0), text);
}
