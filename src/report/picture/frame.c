/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/picture/frame.h"
#include "base/base.h"
#include "base/letter.h"
#include "base/number.h"
#include "report/picture/style.h"
#include "report/report.h"

#include <math.h>
#include <string.h>

#define TITLE_SIZE 16.0
#define TITLE_LINE 20.0
enum {
    HOUR_MARKS = 8
};
#define ELLIPSIS "\xe2\x80\xa6"

const efi_letters efi_letters_title = {"title", TITLE_SIZE, true};
const efi_letters efi_letters_name = {"name", EFI_FRAME_NAME, true};
const efi_letters efi_letters_label = {"label", EFI_FRAME_LABEL, false};
const efi_letters efi_letters_note = {"note", EFI_FRAME_NOTE, false};

/* ---- the sheet ------------------------------------------------------------------------------------------
 */

void efi_frame_take(efi_text *out, efi_text *words)
{
    efi_text_add(out, efi_text_get(words));
    out->failed = out->failed || words->failed;
    efi_text_free(words);
}

void efi_sheet_begin(efi_sheet *sheet)
{
    const double room = sheet->width - 2.0 * EFI_FRAME_MARGIN;
    double y = efi_frame_wrap(&sheet->out, &efi_letters_title, EFI_FRAME_MARGIN, 24.0, room,
                              efi_text_get(&sheet->title));
    if (sheet->below.length > 0)
        y = efi_frame_wrap(&sheet->out, &efi_letters_note, EFI_FRAME_MARGIN, y - 3.0, room,
                           efi_text_get(&sheet->below));
    sheet->top = y;
}

/* What stands before the drawing: it needs the height. */
static void add_head(efi_text *out, const efi_sheet *sheet, double height)
{
    efi_text_add(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"ef\" role=\"img\"");
    efi_svg_attribute(out, "width", sheet->width);
    efi_svg_attribute(out, "height", height);
    efi_text_add(out, " viewBox=\"0 0 ");
    efi_svg_number(out, sheet->width);
    efi_text_add(out, " ");
    efi_svg_number(out, height);
    efi_text_add(out, "\">\n<title>");
    efi_svg_words(out, efi_text_get(&sheet->title));
    efi_text_add(out, "</title>\n<desc>");
    efi_svg_words(out, efi_text_get(&sheet->description));
    efi_text_add(out, "</desc>\n");
    efi_style_add(out);
    efi_text_add(out, "<rect class=\"ground\" width=\"100%\" height=\"100%\"/>\n");
}

ef_status efi_sheet_give(efi_sheet *sheet, double bottom, char **text)
{
    efi_text whole = {0};
    add_head(&whole, sheet, bottom + EFI_FRAME_MARGIN);
    efi_frame_take(&whole, &sheet->out);
    efi_text_add(&whole, "</svg>\n");
    whole.failed = whole.failed || sheet->title.failed || sheet->below.failed || sheet->description.failed;
    efi_sheet_free(sheet);
    return efi_report_give(&whole, text);
}

void efi_sheet_free(efi_sheet *sheet)
{
    efi_text_free(&sheet->title);
    efi_text_free(&sheet->below);
    efi_text_free(&sheet->description);
    efi_text_free(&sheet->out);
}

/* ---- words ----------------------------------------------------------------------------------------------
 */

double efi_letters_width(const efi_letters *letters, const char *words)
{
    return letters->bold ? efi_svg_width_bold(words, letters->size) : efi_svg_width(words, letters->size);
}

/* May a line end behind the word [start, end)? Not between a number and its unit, and not before "+2 t/h". */
static bool may_break(const char *words, size_t start, size_t end)
{
    const char first = words[start];
    const char last = end > start ? words[end - 1] : ' ';
    const bool is_number = (first == '+' || efi_is_digit(first)) && efi_is_digit(last);
    return !is_number && words[end + 1] != '+';
}

static double width_of(const efi_letters *letters, const char *words, size_t length)
{
    return efi_svg_width_of(words, length, letters->size) * (letters->bold ? EFI_SVG_BOLD : 1.0);
}

/* Bytes of the line that begins at `words`: up to the last blank before it is too wide, at least one word. */
static size_t line_length(const efi_letters *letters, const char *words, double width)
{
    size_t best = 0;
    for (size_t start = 0;;) {
        const size_t end = start + strcspn(words + start, " ");
        if (best > 0 && width_of(letters, words, end) > width)
            return best;
        if (words[end] == '\0')
            return end;
        if (may_break(words, start, end))
            best = end;
        start = end + 1;
    }
}

double efi_frame_wrap(efi_text *out, const efi_letters *letters, double x, double y, double width,
                      const char *words)
{
    const double step = letters->size > EFI_FRAME_NAME ? TITLE_LINE : EFI_FRAME_LINE;
    while (*words) {
        const size_t length = line_length(letters, words, width);
        efi_text line = {0};
        efi_text_add_bytes(&line, words, length);
        if (out)
            efi_frame_fit(out, letters, x, y, "start", width, efi_text_get(&line));
        if (out && line.failed)
            out->failed = true;
        efi_text_free(&line);
        y += step;
        words += length + (words[length] == ' ');
    }
    return y;
}

/* Cuts a text behind a whole character so that it fits with an ellipsis after it. */
static void cut(efi_text *line, const efi_letters *letters, double width)
{
    while (line->length > 0 && efi_letters_width(letters, efi_text_get(line)) + letters->size > width) {
        do
            line->length--;
        while (line->length > 0 && ((unsigned char)line->bytes[line->length] & 0xc0) == 0x80);
        line->bytes[line->length] = '\0';
    }
    efi_text_add(line, ELLIPSIS);
}

void efi_frame_fit(efi_text *out, const efi_letters *letters, double x, double y, const char *anchor,
                   double width, const char *words)
{
    if (efi_letters_width(letters, words) <= width) {
        efi_svg_text(out, x, y, anchor, letters->classes, words);
        return;
    }
    efi_text line = {0};
    efi_text_add(&line, words);
    if (!line.failed)
        cut(&line, letters, width);
    efi_text_add(out, "<g><title>");
    efi_svg_words(out, words);
    efi_text_add(out, "</title>");
    efi_svg_text(out, x, y, anchor, letters->classes, efi_text_get(&line));
    efi_text_add(out, "</g>\n");
    out->failed = out->failed || line.failed;
    efi_text_free(&line);
}

bool efi_spot_meets(const efi_spot *a, const efi_spot *b)
{
    return a->left < b->right && b->left < a->right && a->top < b->bottom && b->top < a->bottom;
}

efi_spot efi_legend_add(efi_text *out, efi_legend *legend, double sample, const char *words)
{
    const double width = sample + 6.0 + efi_svg_width(words, EFI_FRAME_NOTE);
    if (legend->x > legend->left && legend->x + width > legend->right) {
        legend->x = legend->left;
        legend->y += 1.15 * EFI_FRAME_LINE;
    }
    const efi_letters letters = {"legend", EFI_FRAME_NOTE, false};
    const efi_spot spot = {legend->x, legend->y - 10.0, legend->x + sample, legend->y + 2.0};
    efi_frame_fit(out, &letters, legend->x + sample + 6.0, legend->y, "start",
                  legend->right - legend->x - sample - 6.0, words);
    legend->x += width + 16.0;
    return spot;
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

efi_axis efi_axis_hours(double to, double at_from, double at_to)
{
    static const double steps[] = {1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0, 168.0};
    efi_axis axis = efi_axis_make(0.0, to, at_from, at_to, HOUR_MARKS, false);
    for (size_t i = 0; axis.step >= 1.0 && i < EF_COUNT(steps); i++) {
        if (to / steps[i] > HOUR_MARKS)
            continue;
        axis.step = steps[i];
        break;
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

static void add_mark_words(efi_text *words, const efi_axis *axis, double value)
{
    words->length = 0;
    efi_number_say_fixed(words, value, axis->decimals);
}

/* Every which mark has room for its number, `taken` px a letter's height or, with 0, its width. */
static int marks_apart(efi_text *out, const efi_axis *axis, double height)
{
    const double apart = fabs(axis->at_to - axis->at_from) * axis->step / (axis->to - axis->from);
    double widest = height;
    efi_text words = {0};
    for (int i = 0; !(height > 0.0) && is_on(axis, mark_value(axis, i)); i++) {
        add_mark_words(&words, axis, mark_value(axis, i));
        widest = fmax(widest, efi_svg_width(efi_text_get(&words), EFI_FRAME_NOTE) + 8.0);
    }
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
    return apart >= widest ? 1 : apart * 2.0 >= widest ? 2 : 5;
}

void efi_axis_draw_below(efi_text *out, const efi_axis *axis, double y, double across, const char *words)
{
    const int every = marks_apart(out, axis, 0.0);
    efi_text number = {0};
    for (int i = 0; is_on(axis, mark_value(axis, i)); i++) {
        const double x = efi_axis_at(axis, mark_value(axis, i));
        efi_frame_line(out, "grid", x, y, x, across);
        add_mark_words(&number, axis, mark_value(axis, i));
        if (i % every == 0)
            efi_svg_text(out, x, y + 16.0, "middle", "note", efi_text_get(&number));
    }
    out->failed = out->failed || number.failed;
    efi_text_free(&number);
    efi_frame_line(out, "edge", axis->at_from, y, axis->at_to, y);
    if (words)
        efi_svg_text(out, axis->at_to, y + 31.0, "end", "note", words);
}

void efi_axis_draw_left(efi_text *out, const efi_axis *axis, double x, double across, const char *words)
{
    const int every = marks_apart(out, axis, 13.0);
    efi_text number = {0};
    for (int i = 0; is_on(axis, mark_value(axis, i)); i++) {
        const double y = efi_axis_at(axis, mark_value(axis, i));
        efi_frame_line(out, "grid", x, y, across, y);
        add_mark_words(&number, axis, mark_value(axis, i));
        if (i % every == 0)
            efi_svg_text(out, x - 5.0, y + 4.0, "end", "note", efi_text_get(&number));
    }
    out->failed = out->failed || number.failed;
    efi_text_free(&number);
    efi_frame_line(out, "edge", x, axis->at_from, x, axis->at_to);
    if (words)
        efi_svg_text(out, x - 5.0, axis->at_to - 10.0, "start", "note", words);
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
