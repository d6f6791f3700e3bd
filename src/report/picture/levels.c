/* SPDX-License-Identifier: GPL-3.0-or-later
 * The levels of the bins, a strip for each bin: of a trace, and of many shifts. */
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/strip.h"
#include "report/report.h"

#include <evenfeed/shift.h>
#include <evenfeed/trace.h>
#include <math.h>

#define TRACE_HEIGHT    52.0 /* px of a strip */
#define ENVELOPE_HEIGHT 84.0

/* ---- a trace --------------------------------------------------------------------------------------------
 */

static void draw_trace_bin(efi_text *out, const ef_trace *trace, int bin, const efi_strip *strip,
                           const efi_axis *hours)
{
    const efi_strip_series level = {trace->level_h, trace->level_t + bin, (size_t)trace->bin_count,
                                    trace->level_count};
    const efi_axis tonnes = efi_strip_draw(out, strip, hours);
    const double bottom = strip->top + strip->height;
    efi_text words = {0};
    efi_text_addf(&words, efi_tr("%s: empty for %s, full for %s"), strip->name,
                  efi_piece_duration(strip->empty_h).words, efi_piece_duration(strip->full_h).words);
    efi_text_add(out, "<g><title>");
    efi_svg_words(out, efi_text_get(&words));
    efi_text_add(out, "</title><path class=\"below\" d=\"");
    efi_strip_path(out, &level, hours, &tonnes, 'M', false);
    efi_svg_step(out, 'V', (double[]){bottom}, 1);
    efi_svg_step(out, 'H', (double[]){efi_axis_at(hours, trace->level_h[0])}, 1);
    efi_text_add(out, "Z\"/><path class=\"level\" d=\"");
    efi_strip_path(out, &level, hours, &tonnes, 'M', false);
    efi_text_add(out, "\"/></g>\n");
    efi_strip_mark(out, &level, strip, hours);
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

ef_status ef_report_levels_svg(const ef_trace *trace, ef_units units, char **text)
{
    if (trace->bin_count == 0 || trace->level_count < 2)
        return EF_NO_ANSWER;
    efi_sheet sheet = {.width = EFI_STRIP_WIDTH};
    efi_text_addf(&sheet.title, efi_tr("Levels of the bins: %s"), trace->crop);
    efi_text_addf(&sheet.below, efi_tr("%s, %s simulated, seed %llu; each strip from empty to full"),
                  trace->plant, efi_piece_duration(trace->hours).words, (unsigned long long)trace->seed);
    efi_text_add(&sheet.description, efi_tr("A strip for each bin: its level over the hours."));
    double names = 0.0;
    for (int b = 0; b < trace->bin_count; b++)
        names = fmax(names, efi_svg_width(trace->bins[b].name, EFI_FRAME_LABEL));
    const efi_axis hours = efi_strip_hours(trace->hours, names);
    efi_sheet_begin(&sheet);
    const double top = sheet.top + 18.0;
    const double bottom = top + trace->bin_count * (TRACE_HEIGHT + EFI_STRIP_GAP) - EFI_STRIP_GAP + 8.0;
    efi_axis_draw_below(&sheet.out, &hours, bottom, top, efi_tr("hours"));
    for (int b = 0; b < trace->bin_count; b++) {
        const ef_trace_bin *of = &trace->bins[b];
        const efi_strip strip = {of->name,
                                 of->full_t,
                                 of->empty_h,
                                 of->full_h,
                                 trace->trade_weight_tpbu,
                                 units,
                                 top + b * (TRACE_HEIGHT + EFI_STRIP_GAP),
                                 TRACE_HEIGHT};
        efi_text_addf(&sheet.description, efi_tr(" %s stands empty for %s and full for %s."), of->name,
                      efi_piece_duration(of->empty_h).words, efi_piece_duration(of->full_h).words);
        draw_trace_bin(&sheet.out, trace, b, &strip, &hours);
    }
    efi_legend legend = {EFI_FRAME_MARGIN, EFI_STRIP_WIDTH - 24.0, EFI_FRAME_MARGIN,
                         bottom + EFI_AXIS_HEIGHT + 12.0};
    efi_strip_explain_marks(&sheet.out, &legend);
    return efi_sheet_give(&sheet, legend.y, text);
}

/* ---- many shifts ----------------------------------------------------------------------------------------
 */

static void draw_curve(efi_text *out, const char *classes, const efi_strip_series *series,
                       const efi_axis *hours, const efi_axis *tonnes)
{
    efi_text_addf(out, "<path class=\"%s\" d=\"", classes);
    efi_strip_path(out, series, hours, tonnes, 'M', false);
    efi_text_add(out, "\"/>\n");
}

static void draw_envelope(efi_text *out, const ef_shift *shift, int bin, const efi_strip *strip,
                          const efi_axis *hours)
{
    const ef_shift_bin *of = &shift->bins[bin];
    const efi_strip_series low = {shift->grid_h, of->p10_t, 1, shift->grid_count};
    const efi_strip_series middle = {shift->grid_h, of->p50_t, 1, shift->grid_count};
    const efi_strip_series high = {shift->grid_h, of->p90_t, 1, shift->grid_count};
    const efi_strip_series one = {shift->sample_h, of->sample_t, 1, shift->sample_count};
    const efi_axis tonnes = efi_strip_draw(out, strip, hours);
    efi_text_add(out, "<path class=\"band\" d=\"");
    efi_strip_path(out, &high, hours, &tonnes, 'M', false);
    efi_strip_path(out, &low, hours, &tonnes, 'L', true);
    efi_text_add(out, "Z\"/>\n");
    draw_curve(out, "level", &middle, hours, &tonnes);
    if (shift->sample_count > 1) {
        draw_curve(out, "one", &one, hours, &tonnes);
        efi_strip_mark(out, &one, strip, hours);
    }
}

static void explain_envelope(efi_text *out, const ef_shift *shift, efi_legend *legend)
{
    efi_spot spot = efi_legend_add(out, legend, 26.0, efi_tr("eight in ten lie here (P10 to P90)"));
    efi_frame_bar(out, "band", spot.left, spot.top, spot.right, spot.bottom, efi_tr("from P10 to P90"));
    spot = efi_legend_add(out, legend, 26.0, efi_tr("half lie below (P50)"));
    efi_frame_line(out, "level", spot.left, spot.top + 6.0, spot.right, spot.top + 6.0);
    if (shift->sample_count < 2)
        return;
    spot = efi_legend_add(out, legend, 26.0,
                          shift->on_calendar ? efi_tr("one simulated stretch, for example")
                                             : efi_tr("one simulated shift, for example"));
    efi_frame_line(out, "one", spot.left, spot.top + 6.0, spot.right, spot.top + 6.0);
    efi_strip_explain_marks(out, legend);
}

ef_status ef_report_envelope_svg(const ef_shift *shift, ef_units units, char **text)
{
    if (shift->bin_count == 0 || shift->grid_count < 2)
        return EF_NO_ANSWER;
    efi_sheet sheet = {.width = EFI_STRIP_WIDTH};
    efi_text_addf(&sheet.title, efi_tr("How the bins fill and empty: %s"), shift->crop);
    efi_text_addf(&sheet.below,
                  efi_tr("%s, the first %d of %d runs; hours at empty and full are means of all"),
                  shift->plant, shift->envelope_runs, shift->runs);
    efi_text_add(&sheet.description,
                 efi_tr("A strip for each bin: between which levels it lies at each hour."));
    double names = 0.0;
    for (int b = 0; b < shift->bin_count; b++)
        names = fmax(names, efi_svg_width(shift->bins[b].name, EFI_FRAME_LABEL));
    const efi_axis hours = efi_strip_hours(shift->counted_h, names);
    efi_sheet_begin(&sheet);
    const double top = sheet.top + 18.0;
    const double bottom = top + shift->bin_count * (ENVELOPE_HEIGHT + EFI_STRIP_GAP) - EFI_STRIP_GAP + 8.0;
    efi_axis_draw_below(&sheet.out, &hours, bottom, top,
                        shift->on_calendar ? efi_tr("hours of the calendar") : efi_tr("hours of a shift"));
    for (int b = 0; b < shift->bin_count; b++) {
        const ef_shift_bin *of = &shift->bins[b];
        const efi_strip strip = {of->name,
                                 of->full_t,
                                 of->empty_h,
                                 of->full_h,
                                 shift->trade_weight_tpbu,
                                 units,
                                 top + b * (ENVELOPE_HEIGHT + EFI_STRIP_GAP),
                                 ENVELOPE_HEIGHT};
        efi_text_addf(&sheet.description, efi_tr(" %s stands empty for %s and full for %s in the mean."),
                      of->name, efi_piece_duration(of->empty_h).words, efi_piece_duration(of->full_h).words);
        draw_envelope(&sheet.out, shift, b, &strip, &hours);
    }
    efi_legend legend = {EFI_FRAME_MARGIN, EFI_STRIP_WIDTH - 24.0, EFI_FRAME_MARGIN,
                         bottom + EFI_AXIS_HEIGHT + 12.0};
    explain_envelope(&sheet.out, shift, &legend);
    return efi_sheet_give(&sheet, legend.y, text);
}
