/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/strip.h"

#include <math.h>

#define MARK_OFF   1.5  /* px from a strip's edge to the middle of its marks */
#define LEAST_MARK 1.0  /* px: shorter stays are drawn so long */
#define AT_A_BOUND 1e-9 /* of a full bin: a level this near stands at it */
#define TICKS_ROOM 52.0 /* px between the names and the plot */
#define MOST_NAMES 190.0

efi_axis efi_strip_hours(double hours, double names)
{
    const double left = EFI_FRAME_MARGIN + fmin(fmax(names, 110.0), MOST_NAMES) + TICKS_ROOM;
    return efi_axis_hours(hours, left, EFI_STRIP_WIDTH - 24.0);
}

static void write_names(efi_text *out, const efi_strip *strip, const efi_axis *hours)
{
    const double right = hours->at_from - TICKS_ROOM;
    const double room = right - EFI_FRAME_MARGIN;
    efi_text words = {0};
    efi_frame_fit(out, &efi_letters_label, right, strip->top + 11.0, "end", room, strip->name);
    efi_text_addf(&words, efi_tr("empty %s"), efi_piece_duration(strip->empty_h).words);
    efi_frame_fit(out, &efi_letters_note, right, strip->top + 26.0, "end", room, efi_text_get(&words));
    words.length = 0;
    efi_text_addf(&words, efi_tr("full %s"), efi_piece_duration(strip->full_h).words);
    efi_frame_fit(out, &efi_letters_note, right, strip->top + 40.0, "end", room, efi_text_get(&words));
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

efi_axis efi_strip_draw(efi_text *out, const efi_strip *strip, const efi_axis *hours)
{
    const double bottom = strip->top + strip->height;
    const efi_display t = efi_display_choose(EFI_KIND_MASS, strip->units, strip->full_t,
                                             strip->trade_weight_tpbu, NULL);
    const double full = efi_display_value(&t, strip->full_t);
    const efi_axis shown = efi_axis_make(0.0, full > 0.0 ? full : 1.0, bottom, strip->top, 3, false);
    write_names(out, strip, hours);
    efi_axis_draw_left(out, &shown, hours->at_from, hours->at_to, NULL);
    efi_text words = {0};
    efi_text_addf(&words, "%s", t.name);
    efi_svg_text(out, hours->at_from - 5.0, strip->top - 8.0, "end", "note", efi_text_get(&words));
    words.length = 0;
    efi_text_addf(&words, efi_tr("full: %s"), efi_piece_quantity(&t, strip->full_t).words);
    efi_svg_text(out, hours->at_from + 4.0, strip->top - 8.0, "start", "note", efi_text_get(&words));
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
    efi_frame_line(out, "edge", hours->at_from, strip->top, hours->at_to, strip->top);
    efi_frame_line(out, "edge", hours->at_from, bottom, hours->at_to, bottom);
    return efi_axis_make(0.0, strip->full_t > 0.0 ? strip->full_t : 1.0, bottom, strip->top, 3, false);
}

static double level_of(const efi_strip_series *series, int i)
{
    return series->level_t[(size_t)i * series->stride];
}

static int column_of(const efi_strip_series *series, const efi_axis *hours, int i)
{
    return (int)efi_axis_at(hours, series->at_h[i]);
}

static void add_point(efi_text *path, const efi_strip_series *series, const efi_axis *hours,
                      const efi_axis *tonnes, int i, char *letter)
{
    efi_svg_step(path, *letter,
                 (double[]){efi_axis_at(hours, series->at_h[i]), efi_axis_at(tonnes, level_of(series, i))},
                 2);
    *letter = 'L';
}

/* The last moment of a run in one column of pixels, and its lowest and highest. */
static int run_end(const efi_strip_series *series, const efi_axis *hours, int from, int step, int *low,
                   int *high)
{
    const int column = column_of(series, hours, from);
    int i = from;
    *low = *high = from;
    while (i >= 0 && i < series->count && column_of(series, hours, i) == column) {
        *low = level_of(series, i) < level_of(series, *low) ? i : *low;
        *high = level_of(series, i) > level_of(series, *high) ? i : *high;
        i += step;
    }
    return i - step;
}

void efi_strip_path(efi_text *path, const efi_strip_series *series, const efi_axis *hours,
                    const efi_axis *tonnes, char begin, bool backwards)
{
    const int step = backwards ? -1 : 1;
    char letter = begin;
    for (int i = backwards ? series->count - 1 : 0; i >= 0 && i < series->count; i += step) {
        int low;
        int high;
        const int end = run_end(series, hours, i, step, &low, &high);
        const bool low_first = (low < high) != backwards;
        const int kept[4] = {i, low_first ? low : high, low_first ? high : low, end};
        for (int k = 0; k < 4; k++)
            if (k == 0 || kept[k] != kept[k - 1])
                add_point(path, series, hours, tonnes, kept[k], &letter);
        i = end;
    }
}

static void add_stay(efi_text *path, const efi_axis *hours, double from_h, double to_h, double y)
{
    const double from = efi_axis_at(hours, from_h);
    efi_svg_step(path, 'M', (double[]){from, y}, 2);
    efi_svg_step(path, 'H', (double[]){fmax(from + LEAST_MARK, efi_axis_at(hours, to_h))}, 1);
}

/* Stays of a level at one bound. */
static void mark_bound(efi_text *out, const efi_strip_series *series, double bound_t, double near_t, double y,
                       const efi_axis *hours, const char *classes)
{
    efi_text path = {0};
    int from = -1;
    for (int i = 0; i <= series->count; i++) {
        const bool there = i < series->count && fabs(level_of(series, i) - bound_t) <= near_t;
        if (there && from < 0)
            from = i;
        if (!there && from >= 0) {
            if (i - 1 > from)
                add_stay(&path, hours, series->at_h[from], series->at_h[i - 1], y);
            from = -1;
        }
    }
    if (path.length > 0)
        efi_text_addf(out, "<path class=\"%s\" d=\"", classes);
    const bool any = path.length > 0;
    efi_frame_take(out, &path);
    if (any)
        efi_text_add(out, "\"/>\n");
}

void efi_strip_mark(efi_text *out, const efi_strip_series *series, const efi_strip *strip,
                    const efi_axis *hours)
{
    const double near_t = AT_A_BOUND * strip->full_t;
    mark_bound(out, series, strip->full_t, near_t, strip->top - MARK_OFF, hours, "full");
    mark_bound(out, series, 0.0, near_t, strip->top + strip->height + MARK_OFF, hours, "empty");
}

void efi_strip_explain_marks(efi_text *out, efi_legend *legend)
{
    efi_spot spot = efi_legend_add(out, legend, 26.0, efi_tr("stands full"));
    efi_frame_line(out, "full", spot.left, spot.top + 6.0, spot.right, spot.top + 6.0);
    spot = efi_legend_add(out, legend, 26.0, efi_tr("stands empty"));
    efi_frame_line(out, "empty", spot.left, spot.top + 6.0, spot.right, spot.top + 6.0);
}
