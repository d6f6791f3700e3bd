/* SPDX-License-Identifier: GPL-3.0-or-later
 * The levels of the bins over a simulated stretch, a strip for each bin. */
#include "base/display.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <evenfeed/trace.h>
#include <math.h>

#define WIDTH        760.0
#define STRIP        58.0
#define STRIP_HEIGHT 40.0
enum {
    SLOTS = 700 /* columns of pixels of the plot; two points are kept of each at the most */
};

static double level_of(const ef_trace *trace, int bin, int i)
{
    return trace->level_t[(size_t)i * (size_t)trace->bin_count + (size_t)bin];
}

/* Which column of pixels a moment falls into. */
static int slot_of(const ef_trace *trace, int i)
{
    return (int)(trace->level_h[i] / trace->hours * SLOTS);
}

/* The path of a level: of the moments that fall into one column of pixels the lowest and the highest are
 * kept, in their order, and the first and last of all. */
static void draw_path(efi_text *out, const ef_trace *trace, int bin, const efi_axis *x, const efi_axis *y)
{
    int i = 0;
    bool first = true;
    while (i < trace->level_count) {
        int low = i;
        int high = i;
        int end = i;
        for (; end < trace->level_count && slot_of(trace, end) == slot_of(trace, i); end++) {
            low = level_of(trace, bin, end) < level_of(trace, bin, low) ? end : low;
            high = level_of(trace, bin, end) > level_of(trace, bin, high) ? end : high;
        }
        const int kept[2] = {low < high ? low : high, low < high ? high : low};
        for (int k = 0; k < (low == high ? 1 : 2); k++) {
            const double at[2] = {efi_axis_at(x, trace->level_h[kept[k]]),
                                  efi_axis_at(y, level_of(trace, bin, kept[k]))};
            efi_svg_step(out, first ? 'M' : 'L', at, 2);
            first = false;
        }
        i = end;
    }
}

static void draw_bin(efi_text *out, const ef_trace *trace, int bin, ef_units units, const efi_axis *x,
                     double top)
{
    const ef_trace_bin *of = &trace->bins[bin];
    const double bottom = top + STRIP_HEIGHT;
    const efi_axis y = efi_axis_make(0.0, of->full_t, bottom, top, 2, false);
    efi_svg_text(out, x->at_from - 8.0, top + 15.0, "end", "label", of->name);
    efi_text words = {0};
    efi_text_add(&words, "full: ");
    efi_display_add_alone(&words, EFI_KIND_MASS, units, of->full_t, trace->trade_weight_tpbu, NULL);
    efi_svg_text(out, x->at_from - 8.0, top + 30.0, "end", "note", efi_text_get(&words));
    efi_frame_line(out, "grid", x->at_from, top, x->at_to, top);
    efi_frame_line(out, "edge", x->at_from, bottom, x->at_to, bottom);
    words.length = 0;
    efi_text_addf(&words, "%s: empty for ", of->name);
    efi_display_add_duration(&words, of->empty_h);
    efi_text_add(&words, ", full for ");
    efi_display_add_duration(&words, of->full_h);
    efi_text_add(out, "<g><title>");
    efi_svg_words(out, efi_text_get(&words));
    efi_text_add(out, "</title><path class=\"below\" d=\"");
    draw_path(out, trace, bin, x, &y);
    efi_svg_step(out, 'L', (double[]){x->at_to, bottom, x->at_from, bottom}, 4);
    efi_text_add(out, "Z\"/><path class=\"level\" d=\"");
    draw_path(out, trace, bin, x, &y);
    efi_text_add(out, "\"/></g>\n");
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

ef_status ef_report_levels_svg(const ef_trace *trace, ef_units units, char **text)
{
    if (trace->bin_count == 0 || trace->level_count < 2)
        return EF_NO_ANSWER;
    double names = 0.0;
    for (int b = 0; b < trace->bin_count; b++)
        names = fmax(names, efi_svg_width(trace->bins[b].name, 12.0));
    const double top = EFI_FRAME_HEAD;
    const double bottom = top + trace->bin_count * STRIP - (STRIP - STRIP_HEIGHT);
    const double left = fmin(EFI_FRAME_MARGIN + fmax(names, 70.0) + 10.0, 0.4 * WIDTH);
    const efi_axis x = efi_axis_make(0.0, trace->hours, left, WIDTH - 24.0, 8, false);
    efi_text out = {0};
    efi_text title = {0};
    efi_text below = {0};
    efi_text_addf(&title, "Levels of the bins: %s", trace->crop);
    efi_text_addf(&below, "%s, ", trace->plant);
    efi_display_add_duration(&below, trace->hours);
    efi_text_addf(&below, " simulated, seed %llu; each strip from empty to full",
                  (unsigned long long)trace->seed);
    efi_frame_begin(&out, WIDTH, bottom + 40.0, efi_text_get(&title), efi_text_get(&below),
                    "A strip for each bin: its level over the hours.");
    efi_axis_draw_below(&out, &x, bottom, top, "hours");
    for (int b = 0; b < trace->bin_count; b++)
        draw_bin(&out, trace, b, units, &x, top + b * STRIP);
    efi_frame_end(&out);
    out.failed = out.failed || title.failed || below.failed;
    efi_text_free(&title);
    efi_text_free(&below);
    return efi_report_give(&out, text);
}
