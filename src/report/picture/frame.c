/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/picture/frame.h"
#include "base/number.h"

#include <math.h>

/* Colours that stay apart for colour-blind readers (after the set of M. Okabe and K. Ito, "Color universal
 * design", 2008, darkened for contrast on white and lightened on black); what they tell apart differs in
 * stroke, place or words too. */
static const char style[] =
    "<style>\n"
    ".ef{font-family:system-ui,sans-serif;--ink:#1c2733;--soft:#4a5866;--paper:#fff;--box:#f4f6f8;"
    "--line:#7b8896;--faint:#d9dfe5;--product:#0a6aa6;--reject:#9a5b00;--returns:#7d3f86;--limit:#b3261e;"
    "--wait:#c79a00;--stop:#5c6773}\n"
    "@media(prefers-color-scheme:dark){.ef{--ink:#e8edf2;--soft:#b4c0cc;--paper:#14191f;--box:#202830;"
    "--line:#748292;--faint:#333d47;--product:#62b5ea;--reject:#e0a04a;--returns:#cf9ad8;--limit:#ff8a80;"
    "--wait:#e6c34d;--stop:#98a5b2}}\n"
    "@media print{.ef{--ink:#000;--soft:#333;--paper:#fff;--box:#fff;--line:#555;--faint:#ccc;"
    "--product:#0a6aa6;--reject:#9a5b00;--returns:#7d3f86;--limit:#b3261e;--wait:#c79a00;--stop:#5c6773}}\n"
    ".ef .ground{fill:var(--paper)}\n"
    ".ef .box{fill:var(--box);stroke:var(--line);stroke-width:1.2}\n"
    ".ef .box.steady{stroke:var(--ink);stroke-width:2}\n"
    ".ef .box.limits{stroke:var(--limit);stroke-width:3}\n"
    ".ef .load{fill:var(--line)}.ef .load.limits{fill:var(--limit)}\n"
    ".ef .stream{fill:none}\n"
    ".ef .stream.product{stroke:var(--product)}.ef .head.product{fill:var(--product)}\n"
    ".ef .stream.reject{stroke:var(--reject);stroke-dasharray:3 2.5}.ef .head.reject{fill:var(--reject)}\n"
    ".ef .stream.returns{stroke:var(--returns);stroke-dasharray:10 4}.ef .head.returns{fill:var(--returns)}\n"
    ".ef .grid{stroke:var(--faint)}.ef .edge{stroke:var(--line)}\n"
    ".ef .mark{stroke:var(--limit);stroke-width:1.5;stroke-dasharray:5 3}\n"
    ".ef .bar{fill:var(--product)}.ef .bar.now{fill:var(--line)}\n"
    ".ef .runs{fill:var(--product)}.ef .slow{fill:var(--product);opacity:.55}\n"
    ".ef .warm{fill:var(--returns)}.ef .starved{fill:var(--wait)}.ef .truck{fill:var(--wait);opacity:.55}.ef "
    ".blocked{fill:var(--reject)}\n"
    ".ef .fails{fill:var(--limit)}.ef .crew{fill:var(--limit);opacity:.55}.ef .planned{fill:var(--stop)}.ef "
    ".closed{fill:var(--faint)}\n"
    ".ef .part{stroke:var(--paper);stroke-width:1}\n"
    ".ef .level{fill:none;stroke:var(--product);stroke-width:1.6;stroke-linejoin:round}\n"
    ".ef .below{fill:var(--product);opacity:.18}\n"
    ".ef text{fill:var(--ink)}\n"
    ".ef .title{font-size:16px;font-weight:600}\n"
    ".ef .name{font-size:13px;font-weight:600}\n"
    ".ef .label,.ef .inside{font-size:12px}.ef .inside{fill:var(--paper)}\n"
    ".ef .note,.ef .rate,.ef .legend{font-size:11px;fill:var(--soft)}\n"
    ".ef .note.strong{fill:var(--limit);font-weight:600}\n"
    ".ef .rate{paint-order:stroke;stroke:var(--paper);stroke-width:3px;stroke-linejoin:round}\n"
    "</style>\n";

void efi_frame_begin(efi_text *out, double width, double height, const char *title, const char *below,
                     const char *description)
{
    efi_text_add(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"ef\" role=\"img\"");
    efi_svg_attribute(out, "width", width);
    efi_svg_attribute(out, "height", height);
    efi_text_add(out, " viewBox=\"0 0 ");
    efi_svg_number(out, width);
    efi_text_add(out, " ");
    efi_svg_number(out, height);
    efi_text_add(out, "\">\n<title>");
    efi_svg_words(out, title);
    efi_text_add(out, "</title>\n<desc>");
    efi_svg_words(out, description);
    efi_text_addf(out, "</desc>\n%s<rect class=\"ground\" width=\"100%%\" height=\"100%%\"/>\n", style);
    efi_svg_text(out, EFI_FRAME_MARGIN, 22.0, "start", "title", title);
    if (below)
        efi_svg_text(out, EFI_FRAME_MARGIN, 39.0, "start", "note", below);
}

void efi_frame_end(efi_text *out)
{
    efi_text_add(out, "</svg>\n");
}

/* ---- scales ---------------------------------------------------------------------------------------------
 */

/* The roundest step that gives about so many marks. */
static double round_step(double span, int marks)
{
    const double rough = span / marks;
    const double ten = pow(10.0, floor(log10(rough)));
    const double part = rough / ten;
    return ten * (part <= 1.0 ? 1.0 : part <= 2.0 ? 2.0 : part <= 5.0 ? 5.0 : 10.0);
}

efi_axis efi_axis_make(double from, double to, double at_from, double at_to, int marks, bool outward)
{
    const double span = to > from ? to - from : 1.0;
    efi_axis axis = {.from = from, .to = from + span, .at_from = at_from, .at_to = at_to};
    axis.step = round_step(span, marks);
    const int power = (int)floor(log10(axis.step) + 1e-9);
    axis.decimals = power < 0 ? -power : 0;
    if (outward) {
        axis.from = axis.step * floor(axis.from / axis.step + 1e-9);
        axis.to = axis.step * ceil(axis.to / axis.step - 1e-9);
    }
    return axis;
}

double efi_axis_at(const efi_axis *axis, double value)
{
    return axis->at_from + (value - axis->from) / (axis->to - axis->from) * (axis->at_to - axis->at_from);
}

/* Value of mark `i`, from the first one on the scale. */
static double mark_value(const efi_axis *axis, int i)
{
    return axis->step * (ceil(axis->from / axis->step - 1e-9) + i);
}

static bool is_on(const efi_axis *axis, double value)
{
    return value <= axis->to + 1e-9 * axis->step;
}

static void add_mark_words(efi_text *out, const efi_axis *axis, double value, double x, double y,
                           const char *anchor)
{
    efi_text words = {0};
    efi_number_add_fixed(&words, value, axis->decimals);
    efi_svg_text(out, x, y, anchor, "note", efi_text_get(&words));
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

void efi_axis_draw_below(efi_text *out, const efi_axis *axis, double y, double across, const char *words)
{
    for (int i = 0; is_on(axis, mark_value(axis, i)); i++) {
        const double x = efi_axis_at(axis, mark_value(axis, i));
        efi_frame_line(out, "grid", x, y, x, across);
        add_mark_words(out, axis, mark_value(axis, i), x, y + 14.0, "middle");
    }
    efi_frame_line(out, "edge", axis->at_from, y, axis->at_to, y);
    efi_svg_text(out, axis->at_to, y + 28.0, "end", "note", words);
}

void efi_axis_draw_left(efi_text *out, const efi_axis *axis, double x, double across, const char *words)
{
    for (int i = 0; is_on(axis, mark_value(axis, i)); i++) {
        const double y = efi_axis_at(axis, mark_value(axis, i));
        efi_frame_line(out, "grid", x, y, across, y);
        add_mark_words(out, axis, mark_value(axis, i), x - 5.0, y + 4.0, "end");
    }
    efi_frame_line(out, "edge", x, axis->at_from, x, axis->at_to);
    if (words)
        efi_svg_text(out, x - 5.0, axis->at_to - 8.0, "start", "note", words);
}

/* ---- shapes ---------------------------------------------------------------------------------------------
 */

void efi_frame_bar(efi_text *out, const char *classes, double left, double top, double right, double bottom,
                   const char *words)
{
    efi_text_addf(out, "<rect class=\"%s\"", classes);
    efi_svg_attribute(out, "x", left);
    efi_svg_attribute(out, "y", top);
    efi_svg_attribute(out, "width", fmax(0.0, right - left));
    efi_svg_attribute(out, "height", fmax(0.0, bottom - top));
    efi_text_add(out, "><title>");
    efi_svg_words(out, words);
    efi_text_add(out, "</title></rect>\n");
}

void efi_frame_line(efi_text *out, const char *classes, double from_x, double from_y, double to_x,
                    double to_y)
{
    efi_text_addf(out, "<line class=\"%s\"", classes);
    efi_svg_attribute(out, "x1", from_x);
    efi_svg_attribute(out, "y1", from_y);
    efi_svg_attribute(out, "x2", to_x);
    efi_svg_attribute(out, "y2", to_y);
    efi_text_add(out, "/>\n");
}
