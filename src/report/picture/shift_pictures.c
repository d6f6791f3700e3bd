/* SPDX-License-Identifier: GPL-3.0-or-later
 * Pictures of a shift: its tonnes as a histogram, its hours as bars. */
#include "base/base.h"
#include "base/display.h"
#include "base/number.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <math.h>
#include <string.h>

#define WIDTH       640.0
#define PLOT_HEIGHT 230.0
#define PLOT_LEFT   58.0
#define ROW         26.0
#define BAR         17.0

/* The product of a shift, of all shifts together. */
static const ef_shift_stream *product_of(const ef_shift *shift)
{
    return &shift->groups[0].streams[1];
}

static efi_display tonnes_of(const ef_shift *shift, ef_units units)
{
    return efi_display_choose(EFI_KIND_MASS, units, product_of(shift)->p90_t.value, shift->trade_weight_tpbu,
                              NULL);
}

/* ---- tonnes ---------------------------------------------------------------------------------------------
 */

/* A line at a quantile, with its words above the plot. */
static void mark_quantile(efi_text *out, const efi_axis *x, const efi_display *t, double tonnes,
                          const char *name, double top, double bottom)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s ", name);
    efi_display_add(&words, t, tonnes);
    const double at = efi_axis_at(x, efi_display_value(t, tonnes));
    efi_frame_line(out, "mark", at, top, at, bottom);
    const bool near_left = at < PLOT_LEFT + 120.0;
    efi_svg_text(out, near_left ? at + 4.0 : at - 4.0, top + 10.0, near_left ? "start" : "end", "rate",
                 efi_text_get(&words));
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

/* How many shifts the histogram counts. */
static int shifts_of(const ef_shift *shift)
{
    int count = 0;
    for (int c = 0; c < shift->histogram_count; c++)
        count += shift->histogram[c];
    return count;
}

static void draw_classes(efi_text *out, const ef_shift *shift, const efi_display *t, const efi_axis *x,
                         const efi_axis *y)
{
    for (int c = 0; c < shift->histogram_count; c++) {
        const double from = shift->histogram_from_t + c * shift->histogram_width_t;
        const double to = from + shift->histogram_width_t;
        efi_text words = {0};
        efi_display_add_number(&words, t, from);
        efi_text_add(&words, " to ");
        efi_display_add(&words, t, to);
        efi_text_addf(&words, ": %d shifts", shift->histogram[c]);
        efi_frame_bar(out, "bar part", efi_axis_at(x, efi_display_value(t, from)),
                      efi_axis_at(y, 100.0 * shift->histogram[c] / shifts_of(shift)),
                      efi_axis_at(x, efi_display_value(t, to)), y->at_from, efi_text_get(&words));
        out->failed = out->failed || words.failed;
        efi_text_free(&words);
    }
}

ef_status ef_report_tonnes_svg(const ef_shift *shift, ef_units units, char **text)
{
    if (!(shift->histogram_width_t > 0.0))
        return EF_NO_ANSWER;
    const efi_display t = tonnes_of(shift, units);
    int most = 0;
    for (int c = 0; c < shift->histogram_count; c++)
        most = shift->histogram[c] > most ? shift->histogram[c] : most;
    const double top = EFI_FRAME_HEAD + 18.0;
    const double bottom = top + PLOT_HEIGHT;
    const double last = shift->histogram_from_t + shift->histogram_count * shift->histogram_width_t;
    const efi_axis x = efi_axis_make(efi_display_value(&t, shift->histogram_from_t),
                                     efi_display_value(&t, last), PLOT_LEFT, WIDTH - 24.0, 8, true);
    const efi_axis y = efi_axis_make(0.0, 100.0 * most / shifts_of(shift), bottom, top, 5, true);
    efi_text out = {0};
    efi_text title = {0};
    efi_text below = {0};
    efi_text words = {0};
    efi_text_addf(&title, "Product of a shift: %s", shift->crop);
    efi_text_addf(&below, "%s, %d simulated shifts", shift->plant, shifts_of(shift));
    efi_text_add(&words, "Histogram of the product of a shift. A poor shift makes ");
    efi_display_add(&words, &t, product_of(shift)->p10_t.value);
    efi_text_add(&words, ", a middling one ");
    efi_display_add(&words, &t, product_of(shift)->p50_t.value);
    efi_text_add(&words, ", a good one ");
    efi_display_add(&words, &t, product_of(shift)->p90_t.value);
    efi_text_add(&words, ".");
    efi_frame_begin(&out, WIDTH, bottom + 40.0, efi_text_get(&title), efi_text_get(&below),
                    efi_text_get(&words));
    words.length = 0;
    efi_text_addf(&words, "product of a shift, %s", t.name);
    efi_axis_draw_below(&out, &x, bottom, top, efi_text_get(&words));
    efi_axis_draw_left(&out, &y, PLOT_LEFT, x.at_to, "% of shifts");
    draw_classes(&out, shift, &t, &x, &y);
    mark_quantile(&out, &x, &t, product_of(shift)->p10_t.value, "poor", top, bottom);
    mark_quantile(&out, &x, &t, product_of(shift)->p50_t.value, "middle", top + 13.0, bottom);
    mark_quantile(&out, &x, &t, product_of(shift)->p90_t.value, "good", top + 26.0, bottom);
    efi_frame_end(&out);
    out.failed = out.failed || title.failed || below.failed || words.failed;
    efi_text_free(&title);
    efi_text_free(&below);
    efi_text_free(&words);
    return efi_report_give(&out, text);
}

/* ---- hours ----------------------------------------------------------------------------------------------
 */

/* How hours look, in their order; those told apart by neither colour nor place are so by words. */
static const char *const looks[EF_SHIFT_HOURS_COUNT] = {
    "closed", "planned", "planned", "fails", "crew", "warm", "truck", "blocked", "starved", "slow", "runs"};

/* The order in which they are drawn: what runs first. */
static ef_shift_hours drawn(int i)
{
    return (ef_shift_hours)(EF_SHIFT_HOURS_COUNT - 1 - i);
}

static void add_share(efi_text *words, const ef_shift *shift, double hours)
{
    efi_display_add_duration(words, hours);
    efi_text_add(words, " (");
    efi_number_add_fixed(words, 100.0 * hours / shift->counted_h, 1);
    efi_text_add(words, " %)");
}

/* Stations that never stop, wait or block tell nothing, and outlets only what comes before them does. */
static bool tells_something(const ef_shift *shift, int station)
{
    const ef_shift_station *of = &shift->stations[station];
    double told = 0.0;
    for (int h = EF_SHIFT_CLEAN_DOWN; h < EF_SHIFT_SLOW; h++)
        told += of->hours[h];
    for (int o = 0; o < shift->outlet_count; o++)
        if (strcmp(shift->outlets[o], of->name) == 0)
            return false;
    return station == shift->account || told / shift->counted_h >= 0.001;
}

static void draw_station(efi_text *out, const ef_shift *shift, int station, const efi_axis *x, double top)
{
    const ef_shift_station *of = &shift->stations[station];
    efi_svg_text(out, x->at_from - 8.0, top + 13.0, "end", station == shift->account ? "name" : "label",
                 of->name);
    double from_h = 0.0;
    for (int i = 0; i < EF_SHIFT_HOURS_COUNT; i++) {
        const ef_shift_hours h = drawn(i);
        const double to_h = from_h + of->hours[h];
        if (!(of->hours[h] > 0.0))
            continue;
        efi_text words = {0};
        efi_text_addf(&words, "%s: %s ", of->name, ef_shift_hours_word(h));
        add_share(&words, shift, of->hours[h]);
        efi_text classes = {0};
        efi_text_addf(&classes, "part %s", looks[h]);
        efi_frame_bar(out, efi_text_get(&classes), efi_axis_at(x, from_h), top, efi_axis_at(x, to_h),
                      top + BAR, efi_text_get(&words));
        out->failed = out->failed || words.failed || classes.failed;
        efi_text_free(&words);
        efi_text_free(&classes);
        from_h = to_h;
    }
}

/* Names of the states that any of the stations spends time in, beside their colours; returns the height. */
static double draw_states(efi_text *out, const ef_shift *shift, double top)
{
    double x = EFI_FRAME_MARGIN;
    double y = top;
    for (int i = 0; i < EF_SHIFT_HOURS_COUNT; i++) {
        const ef_shift_hours h = drawn(i);
        bool used = false;
        for (int n = 0; n < shift->station_count; n++)
            used = used || (tells_something(shift, n) && shift->stations[n].hours[h] > 0.0);
        if (!used)
            continue;
        const char *word = ef_shift_hours_word(h);
        const double width = 18.0 + efi_svg_width(word, EFI_FRAME_NOTE) + 16.0;
        if (x + width > WIDTH - EFI_FRAME_MARGIN) {
            x = EFI_FRAME_MARGIN;
            y += 16.0;
        }
        efi_frame_bar(out, looks[h], x, y, x + 12.0, y + 12.0, ef_shift_hours_meaning(h));
        efi_svg_text(out, x + 18.0, y + 10.0, "start", "legend", word);
        x += width;
    }
    return y + 24.0 - top;
}

ef_status ef_report_hours_svg(const ef_shift *shift, char **text)
{
    int rows = 0;
    double names = 0.0;
    for (int n = 0; n < shift->station_count; n++) {
        if (!tells_something(shift, n))
            continue;
        rows++;
        names = fmax(names, efi_svg_width(shift->stations[n].name, 13.0));
    }
    const double top = EFI_FRAME_HEAD;
    const double bottom = top + rows * ROW;
    const double left = fmin(EFI_FRAME_MARGIN + names + 10.0, 0.4 * WIDTH);
    const efi_axis x = efi_axis_make(0.0, shift->counted_h, left, WIDTH - 24.0, 8, false);
    efi_text out = {0};
    efi_text title = {0};
    efi_text below = {0};
    efi_text legend = {0};
    const double legend_height = draw_states(&legend, shift, bottom + 40.0);
    efi_text_addf(&title, "Where the hours go: %s", shift->crop);
    efi_text_addf(&below, "%s, mean of %d simulated %s; the account of %s is the line's", shift->plant,
                  shift->runs * shift->parts, shift->on_calendar ? "stretches of the calendar" : "shifts",
                  shift->stations[shift->account].name);
    efi_frame_begin(&out, WIDTH, bottom + 40.0 + legend_height, efi_text_get(&title), efi_text_get(&below),
                    "A bar for each station that stops or waits, parted by what it is doing.");
    efi_axis_draw_below(&out, &x, bottom, top - 4.0,
                        shift->on_calendar ? "hours of the calendar" : "hours of a shift");
    double y = top;
    for (int n = 0; n < shift->station_count; n++) {
        if (!tells_something(shift, n))
            continue;
        draw_station(&out, shift, n, &x, y);
        y += ROW;
    }
    efi_text_add(&out, efi_text_get(&legend));
    efi_frame_end(&out);
    out.failed = out.failed || title.failed || below.failed || legend.failed;
    efi_text_free(&title);
    efi_text_free(&below);
    efi_text_free(&legend);
    return efi_report_give(&out, text);
}
