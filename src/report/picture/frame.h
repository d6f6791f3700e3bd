/* SPDX-License-Identifier: GPL-3.0-or-later
 * What all pictures share: the sheet with its heading and style, words that stay inside it, axes, bars,
 * hatching. */
#ifndef EFI_FRAME_H
#define EFI_FRAME_H

#include "base/display.h"
#include "report/picture/svg.h"

#include <evenfeed/status.h>
#include <stdbool.h>

#define EFI_FRAME_MARGIN 14.0 /* px around everything */
#define EFI_FRAME_NOTE   11.0 /* px: size of small letters: classes note, rate, legend */
#define EFI_FRAME_LABEL  12.0 /* px: classes label, inside, count */
#define EFI_FRAME_NAME   13.0 /* px: class name, bold */
#define EFI_FRAME_LINE   15.0 /* px from one line of small letters to the next */

/* ---- the sheet ------------------------------------------------------------------------------------------
 */

/* A picture that is being drawn. Zero it, set what is given, then efi_sheet_begin; efi_sheet_give ends it. */
typedef struct efi_sheet {
    double width;   /* given, px */
    efi_text title; /* given: the heading */
    efi_text below; /* given: a line below it; may be empty */
    efi_text
        description; /* given, until the end: what is to be seen, in words, for those who do not see it */
    efi_text out;    /* what is drawn so far */
    double top;      /* found by efi_sheet_begin, px: drawing begins here, below the heading */
} efi_sheet;

void efi_sheet_begin(efi_sheet *sheet);

/* Ends a picture whose drawing reaches down to `bottom` and hands its text over; frees the sheet. Needs no
 * ids, so that any number of pictures may stand on one page. EF_OK or EF_MEMORY. */
ef_status efi_sheet_give(efi_sheet *sheet, double bottom, char **text);

void efi_sheet_free(efi_sheet *sheet);

/* Takes the words of a text into `out` and frees it; one that has failed makes `out` fail. */
void efi_frame_take(efi_text *out, efi_text *words);

/* ---- words ----------------------------------------------------------------------------------------------
 */

/* How letters of a class look; the classes are those of the style sheet. */
typedef struct efi_letters {
    const char *classes;
    double size; /* px */
    bool bold;
} efi_letters;

extern const efi_letters efi_letters_title, efi_letters_name, efi_letters_label, efi_letters_note;

double efi_letters_width(const efi_letters *letters, const char *words);

/* Writes words from x on, broken at blanks into lines no wider than `width`; the first baseline is y, the
 * next ones EFI_FRAME_LINE apart. Returns the baseline of the line that would follow. `out` NULL: only
 * measures. */
double efi_frame_wrap(efi_text *out, const efi_letters *letters, double x, double y, double width,
                      const char *words);

/* Writes one line; words wider than `width` are cut and end with an ellipsis, told whole when pointed at. */
void efi_frame_fit(efi_text *out, const efi_letters *letters, double x, double y, const char *anchor,
                   double width, const char *words);

/* A place that something takes, px. */
typedef struct efi_spot {
    double left, top, right, bottom;
} efi_spot;

bool efi_spot_meets(const efi_spot *a, const efi_spot *b);

/* A row of samples with words after them that goes on in the next row where there is no room. */
typedef struct efi_legend {
    double left, right; /* given, px */
    double x, y;        /* given: where the next sample begins, and the baseline of its words */
} efi_legend;

/* Writes words and returns the place of the sample, `sample` px wide, before them; the caller draws it. */
efi_spot efi_legend_add(efi_text *out, efi_legend *legend, double sample, const char *words);

/* ---- axes -----------------------------------------------------------------------------------------------
 */

/* A scale: values `from` .. `to` (in the unit shown) lie at pixels at_from .. at_to; marks every `step`. */
typedef struct efi_axis {
    double from, to;
    double at_from, at_to;
    double step;
    int decimals;
} efi_axis;

/* A scale with some `marks` marks at round numbers (1, 2 or 5 times a power of ten); from < to. With
 * `outward` its ends move out to marks. */
efi_axis efi_axis_make(double from, double to, double at_from, double at_to, int marks, bool outward);

/* A scale of hours from 0 on, with some 8 marks at halves and quarters of a day where they do not suit in
 * tens. */
efi_axis efi_axis_hours(double to, double at_from, double at_to);

double efi_axis_at(const efi_axis *axis, double value);

/* Draws a scale below (at height y) or to the left (at x) of a plot, a thin line across the plot at each mark
 * to `across`, and its words with the unit (NULL: none). A scale below reaches EFI_AXIS_HEIGHT further down.
 */
#define EFI_AXIS_HEIGHT 38.0
void efi_axis_draw_below(efi_text *out, const efi_axis *axis, double y, double across, const char *words);
void efi_axis_draw_left(efi_text *out, const efi_axis *axis, double x, double across, const char *words);

/* ---- shapes ---------------------------------------------------------------------------------------------
 */

/* A filled rectangle that tells `words` when pointed at. */
void efi_frame_bar(efi_text *out, const char *classes, double left, double top, double right, double bottom,
                   const char *words);

/* A straight line. */
void efi_frame_line(efi_text *out, const char *classes, double from_x, double from_y, double to_x,
                    double to_y);

/* Lines across an area, for readers who do not see its colour. */
typedef enum efi_hatch {
    EFI_HATCH_NONE,
    EFI_HATCH_RISING,
    EFI_HATCH_FALLING,
    EFI_HATCH_LEVEL,
    EFI_HATCH_UPRIGHT,
    EFI_HATCH_CROSS,
    EFI_HATCH_DOTS
} efi_hatch;

/* Hatches a rectangle: `dark` in the colour of the ink, else in that of the paper. */
void efi_frame_hatch(efi_text *out, efi_hatch hatch, bool dark, const efi_spot *area);

#endif
