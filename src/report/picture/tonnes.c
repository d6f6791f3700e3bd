/* SPDX-License-Identifier: GPL-3.0-or-later
 * The tonnes of a shift as a histogram, with a poor, a middling and a good shift marked. */
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <evenfeed/shift.h>
#include <math.h>

#define WIDTH       640.0
#define PLOT_HEIGHT 220.0
#define PLOT_LEFT   58.0
#define MARK_ROW    16.0 /* px: height of the words of one quantile */

enum {
    MARKS = 3
};

typedef struct histogram {
    const ef_shift *shift;
    const ef_shift_stream *product; /* of all shifts together */
    efi_display t;
    double top, bottom; /* of the plot */
    efi_axis x, y;
    int shifts; /* counted */
    efi_text *out;
} histogram;

/* A quantile, and where its words stand: each in a row of its own above the plot, from which its line goes
 * down. */
typedef struct mark {
    const char *name;
    const char *classes;
    double t;
    int row;
    bool to_left;
} mark;

static double row_base(const histogram *h, const mark *m)
{
    return h->top - (3.0 - m->row) * MARK_ROW + 9.0;
}

static double mark_x(const histogram *h, const mark *m)
{
    return efi_axis_at(&h->x, efi_display_value(&h->t, m->t));
}

static void add_mark_words(efi_text *words, const histogram *h, const mark *m)
{
    efi_text_addf(words, "%s ", m->name);
    efi_display_add(words, &h->t, m->t);
}

static void write_mark(const histogram *h, const mark *m)
{
    efi_text words = {0};
    add_mark_words(&words, h, m);
    efi_svg_text(h->out, mark_x(h, m) + (m->to_left ? -5.0 : 5.0), row_base(h, m),
                 m->to_left ? "end" : "start", "rate", efi_text_get(&words));
    h->out->failed = h->out->failed || words.failed;
    efi_text_free(&words);
}

/* Gives the marks (P10, P50, P90) their rows and sides so that no line runs through words: the outer words
 * point outwards, but at an edge of the sheet all point away from it, the nearest to it on top. */
static void place_marks(const histogram *h, mark *marks)
{
    double width = 0.0;
    for (int i = 0; i < MARKS; i++) {
        efi_text words = {0};
        add_mark_words(&words, h, &marks[i]);
        width = fmax(width, efi_svg_width(efi_text_get(&words), EFI_FRAME_NOTE) + 5.0);
        h->out->failed = h->out->failed || words.failed;
        efi_text_free(&words);
    }
    const bool all_left = mark_x(h, &marks[MARKS - 1]) + width > WIDTH - EFI_FRAME_MARGIN;
    const bool all_right = !all_left && mark_x(h, &marks[0]) - width < EFI_FRAME_MARGIN;
    static const int between[MARKS] = {2, 0, 1};
    for (int i = 0; i < MARKS; i++) {
        marks[i].row = all_left ? MARKS - 1 - i : all_right ? i : between[i];
        marks[i].to_left = all_left || (!all_right && i < MARKS - 1);
    }
}

static void draw_marks(const histogram *h)
{
    mark marks[MARKS] = {{efi_tr("poor (P10)"), "mark outer", h->product->p10_t.value, 0, false},
                         {efi_tr("middling (P50)"), "mark", h->product->p50_t.value, 0, false},
                         {efi_tr("good (P90)"), "mark outer", h->product->p90_t.value, 0, false}};
    place_marks(h, marks);
    for (int i = 0; i < MARKS; i++)
        efi_frame_line(h->out, marks[i].classes, mark_x(h, &marks[i]), row_base(h, &marks[i]) - 9.0,
                       mark_x(h, &marks[i]), h->bottom);
    for (int i = 0; i < MARKS; i++)
        write_mark(h, &marks[i]);
}

static void draw_classes(const histogram *h)
{
    const ef_shift *shift = h->shift;
    for (int c = 0; c < shift->histogram_count; c++) {
        const double from = shift->histogram_from_t + c * shift->histogram_width_t;
        const double to = from + shift->histogram_width_t;
        efi_text words = {0};
        efi_text_addf(&words, efi_tr_n("%s to %s: %d shift", "%s to %s: %d shifts", shift->histogram[c]),
                      efi_piece_number(&h->t, from).words, efi_piece_quantity(&h->t, to).words,
                      shift->histogram[c]);
        efi_frame_bar(h->out, "bar part", efi_axis_at(&h->x, efi_display_value(&h->t, from)),
                      efi_axis_at(&h->y, 100.0 * shift->histogram[c] / h->shifts),
                      efi_axis_at(&h->x, efi_display_value(&h->t, to)), h->bottom, efi_text_get(&words));
        h->out->failed = h->out->failed || words.failed;
        efi_text_free(&words);
    }
}

static void describe(const histogram *h, efi_text *words)
{
    efi_text_addf(
        words,
        efi_tr("Histogram of the product of a shift. A poor shift makes %s, a middling one %s, a good "
               "one %s."),
        efi_piece_quantity(&h->t, h->product->p10_t.value).words,
        efi_piece_quantity(&h->t, h->product->p50_t.value).words,
        efi_piece_quantity(&h->t, h->product->p90_t.value).words);
}

static void make_axes(histogram *h)
{
    const ef_shift *shift = h->shift;
    int most = 0;
    for (int c = 0; c < shift->histogram_count; c++)
        most = shift->histogram[c] > most ? shift->histogram[c] : most;
    const double last = shift->histogram_from_t + shift->histogram_count * shift->histogram_width_t;
    h->x = efi_axis_make(efi_display_value(&h->t, shift->histogram_from_t), efi_display_value(&h->t, last),
                         PLOT_LEFT, WIDTH - 24.0, 8, true);
    h->y = efi_axis_make(0.0, 100.0 * most / h->shifts, h->bottom, h->top, 5, true);
}

ef_status ef_report_tonnes_svg(const ef_shift *shift, ef_units units, char **text)
{
    efi_sheet sheet = {.width = WIDTH};
    histogram h = {.shift = shift, .product = &shift->groups[0].streams[1], .out = &sheet.out};
    for (int c = 0; c < shift->histogram_count; c++)
        h.shifts += shift->histogram[c];
    if (!(shift->histogram_width_t > 0.0) || h.shifts == 0)
        return EF_NO_ANSWER;
    h.t = efi_display_choose(EFI_KIND_MASS, units, h.product->p90_t.value, shift->trade_weight_tpbu, NULL);
    efi_text_addf(&sheet.title, efi_tr("Product of a shift: %s"), shift->crop);
    efi_text_addf(&sheet.below, efi_tr("%s, %d simulated shifts"), shift->plant, h.shifts);
    describe(&h, &sheet.description);
    efi_sheet_begin(&sheet);
    h.top = sheet.top + EFI_FRAME_LINE + 3.0 * MARK_ROW;
    h.bottom = h.top + PLOT_HEIGHT;
    make_axes(&h);
    efi_text words = {0};
    efi_text_addf(&words, efi_tr("product of a shift, %s"), h.t.name);
    efi_axis_draw_below(&sheet.out, &h.x, h.bottom, h.top, efi_text_get(&words));
    efi_axis_draw_left(&sheet.out, &h.y, PLOT_LEFT, h.x.at_to, NULL);
    /* xgettext:no-c-format */
    const char *unit = efi_tr("% of shifts");
    efi_svg_text(&sheet.out, PLOT_LEFT - 5.0, sheet.top + 3.0, "start", "note", unit);
    draw_classes(&h);
    draw_marks(&h);
    sheet.out.failed = sheet.out.failed || words.failed;
    efi_text_free(&words);
    return efi_sheet_give(&sheet, h.bottom + EFI_AXIS_HEIGHT - 6.0, text);
}
