/* SPDX-License-Identifier: GPL-3.0-or-later
 * The dimensions of a bin's elevation, and the words below it. */
#include "base/base.h"
#include "base/number.h"
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/elevation.h"
#include "report/words_list.h"

#include <math.h>
#include <string.h>

#define FIRST_CHAIN  24.0  /* px from the wall to the dimensions of the parts */
#define CHAIN_GAP    116.0 /* px from there to the height of the whole */
#define LEAST_LINE   14.0  /* px between two words of one column */
#define ARROW_LENGTH 7.0
#define ARROW_HALF   2.6
#define LEAST_PART   1e-6 /* m: a part not as high as this is not there */
enum {
    MOST_LABELS = 4
};

static efi_piece metres(const efi_elevation *e, double value_m)
{
    return efi_piece_alone(EFI_KIND_LENGTH, e->units, value_m, 0.0, NULL);
}

static efi_piece cubic(const efi_elevation *e, double value_m3)
{
    return efi_piece_alone(EFI_KIND_VOLUME, e->units, value_m3, 0.0, NULL);
}

static efi_piece degrees_of(double degrees)
{
    efi_piece piece = {""};
    efi_text words = efi_text_fixed(piece.words, sizeof piece.words);
    efi_number_say_significant(&words, degrees, 2);
    efi_text_add(&words, "\xc2\xb0");
    return piece;
}

/* ---- in words -------------------------------------------------------------------------------------------
 */

void efi_elevation_describe(efi_text *words, const efi_elevation *e)
{
    const ef_steel_size *size = e->size;
    efi_words_list list = {0};
    if (size->length_m == size->width_m || e->across)
        efi_words_list_addf(&list, efi_tr("width %s"), metres(e, e->wide_m).words);
    else
        efi_words_list_addf(&list, efi_tr("length %s"), metres(e, e->wide_m).words);
    efi_words_list_addf(&list, efi_tr("walls %s"), metres(e, size->wall_m).words);
    if (size->hopper_m > LEAST_PART)
        efi_words_list_addf(&list, efi_tr("hopper %s"), metres(e, size->hopper_m).words);
    if (size->clearance_m > LEAST_PART)
        efi_words_list_addf(&list, efi_tr("outlet above the floor %s"), metres(e, size->clearance_m).words);
    efi_words_list_addf(&list, efi_tr("outlet %s"), metres(e, e->outlet_m).words);
    efi_words_list_addf(&list, efi_tr("freeboard %s"), metres(e, size->freeboard_m).words);
    if (size->has_headroom)
        efi_words_list_addf(&list, efi_tr("headroom %s"), metres(e, size->headroom_m).words);
    efi_words_list_addf(&list, efi_tr("top above the floor %s"), metres(e, size->height_m).words);
    efi_text_addf(words, efi_tr("The bin from the side, with its dimensions: %s."),
                  efi_words_list_get(&list, EFI_JOINT_COMMAS));
    efi_words_list_free(&list, words);
}

/* ---- lines ----------------------------------------------------------------------------------------------
 */

/* An arrow head at a point, pointing along (dx, dy), one of which is 0 and the other 1 or -1. */
static void add_arrow(efi_text *out, double x, double y, double dx, double dy)
{
    efi_text_add(out, "<path class=\"arrow\" d=\"");
    efi_svg_step(out, 'M', (double[]){x, y}, 2);
    efi_svg_step(out, 'L',
                 (double[]){x - ARROW_LENGTH * dx - ARROW_HALF * dy, y - ARROW_LENGTH * dy + ARROW_HALF * dx},
                 2);
    efi_svg_step(out, 'L',
                 (double[]){x - ARROW_LENGTH * dx + ARROW_HALF * dy, y - ARROW_LENGTH * dy - ARROW_HALF * dx},
                 2);
    efi_text_add(out, "Z\"/>\n");
}

/* A line between two points level or upright with each other; its arrows point outwards, or, where they have
 * no room, from outside inwards. */
static void draw_measure(efi_text *out, double from_x, double from_y, double to_x, double to_y)
{
    const double length = hypot(to_x - from_x, to_y - from_y);
    if (!(length > 0.0))
        return;
    const double dx = (to_x - from_x) / length;
    const double dy = (to_y - from_y) / length;
    const bool inside = length > 2.5 * ARROW_LENGTH;
    const double more = inside ? 0.0 : 2.0 * ARROW_LENGTH;
    efi_frame_line(out, "measure", from_x - more * dx, from_y - more * dy, to_x + more * dx,
                   to_y + more * dy);
    add_arrow(out, from_x, from_y, inside ? -dx : dx, inside ? -dy : dy);
    add_arrow(out, to_x, to_y, inside ? dx : -dx, inside ? dy : -dy);
}

/* Words at a point, to its right ("start") or about it ("middle"). */
static void write_at(efi_text *out, const efi_elevation *e, const char *words, double x, double y,
                     const char *anchor)
{
    const efi_letters letters = {"count", EFI_FRAME_LABEL, false};
    const double room = strcmp(anchor, "start") == 0 ? e->right - x : 2.0 * fmin(x - e->left, e->right - x);
    efi_frame_fit(out, &letters, x, y, anchor, room, words);
}

/* ---- columns of words -----------------------------------------------------------------------------------
 */

/* Words that belong to a height, and the height at which there is room for them. */
typedef struct label {
    efi_text words;
    double at;    /* px: the middle of what they belong to */
    double found; /* px */
} label;

typedef struct column {
    label label[MOST_LABELS];
    int count;
} column;

/* Adds words to a column, by rising y, for the caller to fill. */
static efi_text *add_label(column *of, double at)
{
    int i = of->count++;
    for (; i > 0 && of->label[i - 1].at > at; i--)
        of->label[i] = of->label[i - 1];
    of->label[i] = (label){.at = at};
    return &of->label[i].words;
}

/* Writes the words of a column and frees them: moved down, from the top one, and then up again from the
 * bottom, until they keep apart. */
static void write_column(efi_text *out, column *of, double x, const char *anchor, double room, double bottom)
{
    const efi_letters letters = {"count", EFI_FRAME_LABEL, false};
    for (int i = 0; i < of->count; i++)
        of->label[i].found = i > 0 ? fmax(of->label[i].at, of->label[i - 1].found + LEAST_LINE)
                                   : of->label[i].at;
    for (int i = of->count - 1; i >= 0; i--)
        of->label[i].found = fmin(of->label[i].found,
                                  i + 1 < of->count ? of->label[i + 1].found - LEAST_LINE : bottom);
    for (int i = 0; i < of->count; i++) {
        efi_frame_fit(out, &letters, x, of->label[i].found + 4.0, anchor, room,
                      efi_text_get(&of->label[i].words));
        out->failed = out->failed || of->label[i].words.failed;
        efi_text_free(&of->label[i].words);
    }
}

/* The name of a part with its height: walls, hopper, what is clear below it. */
static void add_part(efi_text *words, size_t part, efi_piece height)
{
    if (part == 0)
        efi_text_addf(words, efi_tr("walls %s"), height.words);
    else if (part == 1)
        efi_text_addf(words, efi_tr("hopper %s"), height.words);
    else
        efi_text_addf(words, efi_tr("clear %s"), height.words);
}

/* Heights of the parts at the right, from the top down, and the height of the whole beside them. */
static void draw_heights(efi_text *out, const efi_elevation *e)
{
    const ef_steel_size *size = e->size;
    const double parts_m[] = {size->wall_m, size->hopper_m, size->clearance_m};
    const double x = efi_elevation_x(e, 0.5 * e->wide_m) + FIRST_CHAIN;
    const double whole = x + CHAIN_GAP;
    const double top = efi_elevation_y(e, size->hopper_m + size->wall_m);
    column words = {.count = 0};
    double y = top;
    efi_frame_line(out, "help", efi_elevation_x(e, 0.5 * e->wide_m) + 4.0, top, whole + 6.0, top);
    for (size_t i = 0; i < EF_COUNT(parts_m); i++) {
        const double end = y + e->scale * parts_m[i];
        if (parts_m[i] <= LEAST_PART)
            continue;
        const double edge = i == 0 ? 0.5 * e->wide_m : 0.5 * e->outlet_m;
        if (end < e->floor - 0.5)
            efi_frame_line(out, "help", efi_elevation_x(e, edge) + 4.0, end, x + 6.0, end);
        draw_measure(out, x, y, x, end);
        add_part(add_label(&words, 0.5 * (y + end)), i, metres(e, parts_m[i]));
        y = end;
    }
    write_column(out, &words, x + 8.0, "start", whole - x - 12.0, e->floor - 8.0);
    draw_measure(out, whole, top, whole, e->floor);
    write_at(out, e, metres(e, size->height_m).words, whole + 8.0, 0.5 * (top + e->floor) + 4.0, "start");
}

static void draw_widths(efi_text *out, const efi_elevation *e)
{
    const double half = 0.5 * e->wide_m;
    const double top = efi_elevation_y(e, e->size->hopper_m + e->size->wall_m);
    const double above = top - 14.0;
    const double below = e->floor + 14.0;
    const double outlet = efi_elevation_y(e, 0.0);
    for (int side = -1; side <= 1; side += 2) {
        const double wall = efi_elevation_x(e, side * half);
        const double edge = efi_elevation_x(e, side * 0.5 * e->outlet_m);
        efi_frame_line(out, "help", wall, above - 5.0, wall, top - 3.0);
        efi_frame_line(out, "help", edge, outlet + 3.0, edge, below + 5.0);
    }
    draw_measure(out, efi_elevation_x(e, -half), above, efi_elevation_x(e, half), above);
    efi_text words = {0};
    const efi_piece wide = metres(e, e->wide_m);
    if (e->size->length_m == e->size->width_m)
        efi_text_add(&words, wide.words);
    else if (e->across)
        efi_text_addf(&words, efi_tr("across %s"), wide.words);
    else
        efi_text_addf(&words, efi_tr("along %s"), wide.words);
    write_at(out, e, efi_text_get(&words), e->middle, above - 6.0, "middle");
    draw_measure(out, efi_elevation_x(e, -0.5 * e->outlet_m), below, efi_elevation_x(e, 0.5 * e->outlet_m),
                 below);
    words.length = 0;
    efi_text_addf(&words, efi_tr("outlet %s"), metres(e, e->outlet_m).words);
    write_at(out, e, efi_text_get(&words), e->middle, below + 18.0, "middle");
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

/* Headroom, freeboard, heap and hopper at the left. */
static void draw_left(efi_text *out, const efi_elevation *e)
{
    const ef_steel_size *size = e->size;
    const double wall = efi_elevation_x(e, -0.5 * e->wide_m);
    const double x = wall - 12.0;
    const double peak_m = size->hopper_m + size->wall_m - size->freeboard_m;
    const double top = efi_elevation_y(e, size->hopper_m + size->wall_m);
    const double peak = efi_elevation_y(e, peak_m);
    const double fall_m = tan(e->crop->repose_deg * EF_PI / 180.0) * (0.5 * e->wide_m + e->inlet_m);
    column words = {.count = 0};
    if (size->freeboard_m > LEAST_PART) {
        efi_frame_line(out, "help", x - 6.0, top, wall - 3.0, top);
        efi_frame_line(out, "help", x - 6.0, peak, efi_elevation_x(e, e->inlet_m), peak);
        draw_measure(out, x, top, x, peak);
        efi_text_addf(add_label(&words, 0.5 * (top + peak)), efi_tr("freeboard %s"),
                      metres(e, size->freeboard_m).words);
    }
    if (e->shows_roof) {
        const double roof = e->floor - e->scale * size->headroom_m;
        efi_frame_line(out, "roof", e->left, roof, e->right, roof);
        efi_text_addf(add_label(&words, roof - 9.0), efi_tr("headroom %s"),
                      metres(e, size->headroom_m).words);
    }
    const double middle = efi_elevation_y(e, 0.5 * size->hopper_m);
    efi_text_addf(add_label(&words, fmin(efi_elevation_y(e, peak_m - fall_m), middle)), efi_tr("heap at %s"),
                  degrees_of(e->crop->repose_deg).words);
    if (size->hopper_m > LEAST_PART)
        efi_text_addf(add_label(&words, middle), efi_tr("hopper at %s"), degrees_of(size->hopper_deg).words);
    write_column(out, &words, x - 8.0, "end", x - 8.0 - e->left, e->floor - 8.0);
}

void efi_elevation_draw_dimensions(efi_text *out, const efi_elevation *e)
{
    efi_frame_line(out, "floor", e->left, e->floor, e->right, e->floor);
    efi_svg_text(out, e->left, e->floor + 14.0, "start", "note", efi_tr("floor"));
    draw_heights(out, e);
    draw_widths(out, e);
    draw_left(out, e);
}

/* ---- words below ----------------------------------------------------------------------------------------
 */

static void add_crop_words(efi_text *words, const efi_elevation *e, const ef_steel_crop *crop)
{
    const efi_piece live = cubic(e, crop->live_m3);
    const efi_piece asked = cubic(e, crop->asked_m3);
    const efi_piece above = cubic(e, crop->headspace_m3);
    const efi_piece behind = cubic(e, crop->dead_m3);
    const bool is_asked = crop->asked_m3 > 0.0;
    if (is_asked && crop->dead_m3 > 0.0)
        efi_text_addf(
            words,
            efi_tr("%s: %s live of %s asked, %s empty above the heap, %s stays behind when it runs empty."),
            crop->crop, live.words, asked.words, above.words, behind.words);
    else if (is_asked)
        efi_text_addf(
            words,
            efi_tr(
                "%s: %s live of %s asked, %s empty above the heap, nothing stays behind when it runs empty."),
            crop->crop, live.words, asked.words, above.words);
    else if (crop->dead_m3 > 0.0)
        efi_text_addf(words,
                      efi_tr("%s: %s live, %s empty above the heap, %s stays behind when it runs empty."),
                      crop->crop, live.words, above.words, behind.words);
    else
        efi_text_addf(
            words, efi_tr("%s: %s live, %s empty above the heap, nothing stays behind when it runs empty."),
            crop->crop, live.words, above.words);
}

static void say_rest(efi_text *words, const efi_elevation *e)
{
    const ef_steel_size *size = e->size;
    if (size->length_m != size->width_m && e->across)
        efi_words_say(words, efi_tr("Length %s, outlet along it %s."), metres(e, size->length_m).words,
                      metres(e, size->outlet_length_m).words);
    else if (size->length_m != size->width_m)
        efi_words_say(words, efi_tr("Width %s, outlet across it %s."), metres(e, size->width_m).words,
                      metres(e, size->outlet_m).words);
    efi_words_say(words, efi_tr("Filled level to the top it would hold %s."), cubic(e, size->level_m3).words);
    efi_words_say(words, efi_tr("Inside dimensions, to scale."));
    if (size->has_headroom && !e->shows_roof)
        efi_words_say(words, efi_tr("The headroom is %s."), metres(e, size->headroom_m).words);
    if (size->side_gate)
        efi_words_say(words, efi_tr("The outlet is a side gate."));
}

double efi_elevation_write_notes(efi_text *out, const efi_elevation *e, const ef_steel *steel, double y)
{
    const double width = e->right - e->left;
    for (int k = 0; k < steel->crop_count; k++) {
        efi_text words = {0};
        add_crop_words(&words, e, &steel->crops[k]);
        y = efi_frame_wrap(out, &efi_letters_note, e->left, y, width, efi_text_get(&words));
        out->failed = out->failed || words.failed;
        efi_text_free(&words);
    }
    efi_text words = {0};
    say_rest(&words, e);
    y = efi_frame_wrap(out, &efi_letters_note, e->left, y, width, efi_text_get(&words)) + 5.0;
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
    for (int i = 0; i < steel->caution_count; i++)
        y = efi_frame_wrap(out, &efi_letters_note, e->left, y, width, efi_tr(steel->cautions[i]));
    return y - EFI_FRAME_LINE;
}
