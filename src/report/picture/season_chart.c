/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season by lines and days: lots, clean-downs, arrivals and due dates, closed time; late ones stand out.
 */
#include "base/base.h"
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/bands.h"
#include "report/report.h"
#include "report/season_view.h"
#include "report/words_list.h"

#include <evenfeed/season.h>
#include <math.h>
#include <string.h>

#define BAR        31.0 /* px: height of a lot, two lines of words */
#define MARKS      9.0  /* px above a lot for due dates, and below it for arrivals */
#define ROW        (BAR + 2.0 * MARKS)
#define BAND_GAP   18.0
#define BESIDE     42.0 /* px that a lot should have in the mean beside its name */
#define LEAST_NAME 16.0 /* px: in narrower lots nothing is written */
#define MOST_ROOM  80.0 /* px: longer names do not count */
#define SAMPLE     26.0
enum {
    MOST_CROPS = 64,
    MOST_NAMED = 12 /* late lots named in the description */
};

typedef struct chart {
    const ef_season *season;
    ef_units units;
    efi_bands bands;
    const char *crop[MOST_CROPS];
    int crops;
    efi_text *out;
} chart;

static const ef_season_lot *lot_of(const chart *c, const ef_season_run *run)
{
    return &c->season->lots[run->lot];
}

static int crop_of(const chart *c, const char *name)
{
    for (int i = 0; i < c->crops; i++)
        if (strcmp(c->crop[i], name) == 0)
            return i;
    return MOST_CROPS;
}

static void find_crops(chart *c)
{
    for (int r = 0; r < c->season->run_count; r++) {
        const char *name = lot_of(c, &c->season->runs[r])->crop;
        if (c->crops < MOST_CROPS && crop_of(c, name) == MOST_CROPS)
            c->crop[c->crops++] = name;
    }
}

static bool is_late(const ef_season_run *run)
{
    return run->late_days > 0.0 || run->wet_days > 0.0;
}

static bool lacks_room(const ef_season_run *run)
{
    return run->raw_missing_t > 0.0 || run->finished_missing_t > 0.0;
}

static bool is_impossible(const ef_season_run *run)
{
    return run->forbidden || !run->fits;
}

/* ---- words ----------------------------------------------------------------------------------------------
 */

/* "2.4 d" */
static efi_piece days_of(double days)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_text_addf(&text, "%s d", efi_piece_fixed(days, days < 9.95 ? 1 : 0).words);
    return piece;
}

/* What is wrong with a lot, in a word or two; "" when nothing is. */
static void add_trouble(efi_text *words, const ef_season_run *run)
{
    if (run->forbidden)
        efi_text_add(words, efi_tr("forbidden"));
    else if (!run->fits)
        efi_text_add(words, efi_tr("does not fit"));
    else if (run->late_days > 0.0)
        efi_text_addf(words, efi_tr("late %s"), days_of(run->late_days).words);
    else if (run->wet_days > 0.0)
        efi_text_addf(words, efi_tr("wet %s"), days_of(run->wet_days).words);
    else if (lacks_room(run))
        efi_text_add(words, efi_tr("no room"));
}

/* All that is known of a lot, for who points at it. */
static void add_lot_words(efi_text *words, const chart *c, const ef_season_run *run)
{
    const ef_season_lot *lot = lot_of(c, run);
    efi_words_list list = {0};
    efi_text trouble = {0};
    efi_words_list_addf(&list, efi_tr("%s: %s, %s, on %s from %s to %s"), lot->name, lot->crop,
                        efi_piece_alone(EFI_KIND_MASS, c->units, lot->amount_t, 0.0, NULL).words,
                        efi_season_line_said(c->season, run->line), efi_piece_when(run->start).words,
                        efi_piece_when(run->end).words);
    if (lot->state != EF_SEASON_WAITING)
        efi_words_list_add(&list, efi_season_state_said(lot->state));
    if (lot->arrives != EF_SEASON_NONE)
        efi_words_list_addf(&list, efi_tr("arrives %s"), efi_piece_when(lot->arrives).words);
    if (lot->due != EF_SEASON_NONE)
        efi_words_list_addf(&list, efi_tr("due %s"), efi_piece_when(lot->due).words);
    add_trouble(&trouble, run);
    if (trouble.length > 0 || trouble.failed)
        efi_words_list_take(&list, &trouble);
    efi_text_add(words, efi_words_list_get(&list, EFI_JOINT_COMMAS));
    efi_words_list_free(&list, words);
}

/* ---- one row --------------------------------------------------------------------------------------------
 */

/* What is drawn of the calendar; NULL for shifts. */
static const char *hours_said(ef_season_time state)
{
    switch (state) {
    case EF_SEASON_CLOSED:
        return efi_tr_in("calendar", "closed");
    case EF_SEASON_OVERTIME_TIME:
        return efi_tr_in("calendar", "overtime");
    case EF_SEASON_BREAK:
        return efi_tr_in("calendar", "break");
    case EF_SEASON_MAINTENANCE:
        return efi_tr_in("calendar", "maintenance");
    case EF_SEASON_DAILY_CLEAN:
        return efi_tr_in("calendar", "daily cleaning");
    case EF_SEASON_SHIFT:
        break;
    }
    return NULL;
}

static const char *hours_classes(ef_season_time state)
{
    return state == EF_SEASON_CLOSED ? "closed" : state == EF_SEASON_OVERTIME_TIME ? "overtime" : "break";
}

static void draw_calendar(const chart *c, int band, int line, double top)
{
    for (int i = 0; i < c->season->stretch_count; i++) {
        const ef_season_stretch *of = &c->season->stretches[i];
        efi_spot spot = {0.0, top, 0.0, top + ROW};
        const char *words = hours_said(of->state);
        if (of->line != line || !words ||
            !efi_bands_clip(&c->bands, band, of->from, of->to, &spot.left, &spot.right))
            continue;
        efi_frame_bar(c->out, hours_classes(of->state), spot.left, spot.top, spot.right, spot.bottom, words);
        if (of->state == EF_SEASON_MAINTENANCE)
            efi_frame_hatch(c->out, EFI_HATCH_DOTS, true, &spot);
    }
}

static void draw_cleaning(const chart *c, int band, int64_t from, int64_t to, const char *rule,
                          bool forbidden, double top)
{
    efi_spot spot = {0.0, top + MARKS + 6.0, 0.0, top + MARKS + BAR - 6.0};
    if (!efi_bands_clip(&c->bands, band, from, to, &spot.left, &spot.right))
        return;
    const efi_piece takes = efi_piece_duration((double)(to - from) / 3600.0);
    efi_text words = {0};
    if (rule[0])
        efi_text_addf(&words, efi_tr("clean-down: %s, %s"), rule, takes.words);
    else
        efi_text_addf(&words, efi_tr("clean-down, %s"), takes.words);
    efi_frame_bar(c->out, forbidden ? "part fails" : "part planned", spot.left, spot.top, spot.right,
                  spot.bottom, efi_text_get(&words));
    efi_frame_hatch(c->out, forbidden ? EFI_HATCH_CROSS : EFI_HATCH_RISING, false, &spot);
    c->out->failed = c->out->failed || words.failed;
    efi_text_free(&words);
}

/* The same in one word, for a narrow bar; "" when nothing is wrong. */
static const char *trouble_in_brief(const ef_season_run *run)
{
    if (run->forbidden)
        return efi_tr("forbidden");
    if (!run->fits)
        return efi_tr("does not fit");
    if (run->late_days > 0.0)
        return efi_tr_in("in brief", "late");
    if (run->wet_days > 0.0)
        return efi_tr_in("in brief", "wet");
    return lacks_room(run) ? efi_tr_in("room in brief", "no") : "";
}

/* Name and crop, or what is wrong, in a lot's bar; where there is no room for all of that, one word of it. */
static void write_lot(const chart *c, const ef_season_run *run, const efi_spot *spot)
{
    const double room = spot->right - spot->left - 6.0;
    if (room < LEAST_NAME)
        return;
    const efi_letters name = {"rate strong on", EFI_FRAME_NOTE, true};
    const efi_letters plain = {"rate on", EFI_FRAME_NOTE, false};
    const efi_letters bad = {"rate strong alert", EFI_FRAME_NOTE, true};
    efi_text words = {0};
    add_trouble(&words, run);
    const efi_letters *letters = words.length > 0 ? &bad : &plain;
    const char *said = words.length > 0 ? efi_text_get(&words) : lot_of(c, run)->crop;
    if (words.length > 0 && efi_letters_width(letters, said) > room)
        said = trouble_in_brief(run);
    efi_frame_fit(c->out, &name, spot->left + 3.0, spot->top + 12.0, "start", room, lot_of(c, run)->name);
    efi_frame_fit(c->out, letters, spot->left + 3.0, spot->top + 26.0, "start", room, said);
    c->out->failed = c->out->failed || words.failed;
    efi_text_free(&words);
}

/* A triangle that points down (due) or up (arrival) at a moment. */
static void draw_moment(const chart *c, int band, int64_t moment, const char *classes, const char *words,
                        double y, bool down)
{
    if (moment == EF_SEASON_NONE || !efi_bands_holds(&c->bands, band, moment))
        return;
    const double x = efi_bands_x(&c->bands, band, moment);
    efi_text_add(c->out, "<g><title>");
    efi_svg_words(c->out, words);
    efi_text_addf(c->out, "</title><path class=\"%s\" d=\"", classes);
    efi_svg_step(c->out, 'M', (double[]){x, down ? y + 7.0 : y}, 2);
    efi_text_add(c->out, down ? "l-4 -7h8Z\"/></g>\n" : "l-4 7h8Z\"/></g>\n");
}

static void draw_moments(const chart *c, int band, const ef_season_run *run, double top)
{
    const ef_season_lot *lot = lot_of(c, run);
    const bool late = run->late_days > 0.0;
    double left;
    double right;
    if (late && lot->due != EF_SEASON_NONE &&
        efi_bands_clip(&c->bands, band, lot->due, run->end, &left, &right))
        efi_frame_line(c->out, "late-way", left, top + 4.0, right, top + 4.0);
    efi_text words = {0};
    if (lot->due != EF_SEASON_NONE)
        efi_text_addf(&words, efi_tr("%s is due %s"), lot->name, efi_piece_when(lot->due).words);
    draw_moment(c, band, lot->due, late ? "due late" : "due", efi_text_get(&words), top + 1.0, true);
    words.length = 0;
    if (lot->arrives != EF_SEASON_NONE)
        efi_text_addf(&words, efi_tr("%s arrives %s"), lot->name, efi_piece_when(lot->arrives).words);
    draw_moment(c, band, lot->arrives, "arrival", efi_text_get(&words), top + MARKS + BAR + 1.0, false);
    c->out->failed = c->out->failed || words.failed;
    efi_text_free(&words);
}

static void draw_run(const chart *c, int band, const ef_season_run *run, double top)
{
    efi_spot spot = {0.0, top + MARKS, 0.0, top + MARKS + BAR};
    draw_cleaning(c, band, run->clean_from, run->clean_to, run->rule, run->forbidden, top);
    if (efi_bands_clip(&c->bands, band, run->start, run->end, &spot.left, &spot.right)) {
        const efi_crop_look look = efi_crop_look_of(crop_of(c, lot_of(c, run)->crop));
        efi_text words = {0};
        efi_text classes = {0};
        add_lot_words(&words, c, run);
        efi_text_addf(&classes, "lot %s%s", look.classes, is_late(run) || is_impossible(run) ? " bad" : "");
        efi_frame_bar(c->out, efi_text_get(&classes), spot.left, spot.top, spot.right, spot.bottom,
                      efi_text_get(&words));
        efi_frame_hatch(c->out, look.hatch, false, &spot);
        if (lacks_room(run))
            efi_frame_hatch(
                c->out, EFI_HATCH_CROSS, true,
                &(efi_spot){fmax(spot.left, spot.right - 8.0), spot.top, spot.right, spot.bottom});
        write_lot(c, run, &spot);
        c->out->failed = c->out->failed || words.failed || classes.failed;
        efi_text_free(&words);
        efi_text_free(&classes);
    }
    draw_moments(c, band, run, top);
}

/* One line in one band. */
static void draw_row(const chart *c, int band, int line, double top)
{
    const ef_season_line *of = &c->season->lines[line];
    efi_frame_fit(c->out, &efi_letters_label, c->bands.left - 6.0, top + 0.5 * ROW + 4.0, "end",
                  c->bands.left - 6.0 - EFI_FRAME_MARGIN, efi_season_line_said(c->season, line));
    draw_calendar(c, band, line, top);
    for (int r = 0; r < c->season->run_count; r++)
        if (c->season->runs[r].line == line)
            draw_run(c, band, &c->season->runs[r], top);
    draw_cleaning(c, band, of->last_clean_from, of->last_clean_to, of->last_rule, false, top);
    efi_frame_line(c->out, "grid", c->bands.left, top + ROW, c->bands.right, top + ROW);
}

/* The moment from which it is planned. */
static void draw_now(const chart *c, int band, double top, double bottom)
{
    if (c->season->at <= c->season->from || !efi_bands_holds(&c->bands, band, c->season->at))
        return;
    const double x = efi_bands_x(&c->bands, band, c->season->at);
    efi_frame_line(c->out, "mark", x, top, x, bottom);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static double explain_crops(const chart *c, double top)
{
    efi_legend legend = {EFI_FRAME_MARGIN, EFI_BANDS_WIDTH - EFI_FRAME_MARGIN, EFI_FRAME_MARGIN, top};
    for (int i = 0; i < c->crops; i++) {
        const efi_crop_look look = efi_crop_look_of(i);
        const efi_spot spot = efi_legend_add(c->out, &legend, SAMPLE, c->crop[i]);
        efi_text classes = {0};
        efi_text_addf(&classes, "lot %s", look.classes);
        efi_frame_bar(c->out, efi_text_get(&classes), spot.left, spot.top, spot.right, spot.bottom,
                      c->crop[i]);
        efi_frame_hatch(c->out, look.hatch, false, &spot);
        c->out->failed = c->out->failed || classes.failed;
        efi_text_free(&classes);
    }
    return legend.y;
}

/* A bar with its words. */
static efi_spot explain_bar(const chart *c, efi_legend *legend, const char *classes, const char *words)
{
    const efi_spot spot = efi_legend_add(c->out, legend, SAMPLE, words);
    efi_frame_bar(c->out, classes, spot.left, spot.top, spot.right, spot.bottom, words);
    return spot;
}

/* Samples of all else. */
static double explain_marks(const chart *c, double top)
{
    efi_legend legend = {EFI_FRAME_MARGIN, EFI_BANDS_WIDTH - EFI_FRAME_MARGIN, EFI_FRAME_MARGIN, top};
    efi_spot spot = explain_bar(c, &legend, "part planned", efi_tr("clean-down"));
    efi_frame_hatch(c->out, EFI_HATCH_RISING, false, &spot);
    (void)explain_bar(c, &legend, "closed", efi_tr_in("calendar", "closed"));
    (void)explain_bar(c, &legend, "break", efi_tr_in("calendar", "break or maintenance"));
    (void)explain_bar(c, &legend, "overtime", efi_tr_in("calendar", "overtime"));
    spot = efi_legend_add(c->out, &legend, 10.0, efi_tr_in("lot", "arrives"));
    efi_text_add(c->out, "<path class=\"arrival\" d=\"");
    efi_svg_step(c->out, 'M', (double[]){spot.left + 5.0, spot.top + 3.0}, 2);
    efi_text_add(c->out, "l-4 7h8Z\"/>\n");
    spot = efi_legend_add(c->out, &legend, 10.0, efi_tr_in("lot", "due"));
    efi_text_add(c->out, "<path class=\"due\" d=\"");
    efi_svg_step(c->out, 'M', (double[]){spot.left + 5.0, spot.top + 10.0}, 2);
    efi_text_add(c->out, "l-4 -7h8Z\"/>\n");
    spot = efi_legend_add(c->out, &legend, SAMPLE, efi_tr("late: from the due date to the end"));
    efi_frame_line(c->out, "late-way", spot.left, spot.top + 6.0, spot.right, spot.top + 6.0);
    (void)explain_bar(c, &legend, "lot bad", efi_tr("late, wet or not possible"));
    return legend.y;
}

/* The late lots by name, as sentences. */
static void describe_late(const chart *c, efi_text *out)
{
    int named = 0;
    for (int r = 0; r < c->season->run_count; r++) {
        const ef_season_run *run = &c->season->runs[r];
        if (!(run->late_days > 0.0) || named++ >= MOST_NAMED)
            continue;
        efi_text_add(out, " ");
        efi_text_addf(out, efi_tr("%s is late by %s."), lot_of(c, run)->name, days_of(run->late_days).words);
    }
    if (named > MOST_NAMED) {
        efi_text_add(out, " ");
        efi_text_addf(out, efi_tr("And %d more."), named - MOST_NAMED);
    }
}

static void describe(const chart *c, efi_sheet *sheet)
{
    const ef_season *season = c->season;
    efi_text_addf(&sheet->title, efi_tr("The season: %s"), season->plant);
    efi_text_addf(&sheet->below,
                  efi_tr_n("%d lots on %d line, %d late, %d wet, %d without room; the last ends %s",
                           "%d lots on %d lines, %d late, %d wet, %d without room; the last ends %s",
                           season->line_count),
                  season->run_count, season->line_count, season->late_lots, season->wet_lots,
                  season->roomless_lots, efi_piece_when(season->end).words);
    if (season->forbidden > 0) {
        efi_text_add(&sheet->below, "; ");
        efi_text_addf(&sheet->below, efi_tr("%d must not be: no plan to follow"), season->forbidden);
    }
    efi_text_addf(&sheet->description, efi_tr("A row for each line, %d days in a row of days: %s."),
                  c->bands.days, efi_text_get(&sheet->below));
    describe_late(c, &sheet->description);
}

/* Mean width of the names of lots. */
static double name_width(const chart *c)
{
    double sum = 0.0;
    for (int r = 0; r < c->season->run_count; r++)
        sum += efi_svg_width_bold(lot_of(c, &c->season->runs[r])->name, EFI_FRAME_NOTE);
    return sum / c->season->run_count;
}

/* The last moment at which a line is at work. */
static int64_t last_of(const ef_season *season)
{
    int64_t last = season->from;
    for (int r = 0; r < season->run_count; r++)
        last = season->runs[r].end > last ? season->runs[r].end : last;
    for (int l = 0; l < season->line_count; l++)
        if (season->lines[l].last_clean_to != EF_SEASON_NONE && season->lines[l].last_clean_to > last)
            last = season->lines[l].last_clean_to;
    return last;
}

static int64_t first_of(const ef_season *season)
{
    int64_t first = season->from;
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        const int64_t begin = run->clean_from < run->clean_to ? run->clean_from : run->start;
        first = begin < first ? begin : first;
    }
    return first;
}

static double band_height(const void *context, int band)
{
    const chart *c = context;
    (void)band;
    return EFI_BANDS_HEAD + c->season->line_count * ROW + BAND_GAP;
}

/* Draws some bands; returns where they end. */
static double draw_bands(const chart *c, int first, int end, double y)
{
    for (int band = first; band < end; band++) {
        const double top = y + EFI_BANDS_HEAD;
        const double bottom = top + c->season->line_count * ROW;
        for (int l = 0; l < c->season->line_count; l++)
            draw_row(c, band, l, top + l * ROW);
        efi_bands_draw_days(c->out, &c->bands, band, top, bottom);
        draw_now(c, band, top, bottom);
        y = bottom + BAND_GAP;
    }
    return y - BAND_GAP;
}

ef_status ef_report_season_svg(const ef_season *season, int page, ef_units units, char **text)
{
    if (season->run_count == 0 || season->line_count == 0)
        return EF_NO_ANSWER;
    efi_sheet sheet = {.width = EFI_BANDS_WIDTH};
    chart c = {.season = season, .units = units, .out = &sheet.out};
    double names = 0.0;
    for (int l = 0; l < season->line_count; l++)
        names = fmax(names, efi_letters_width(&efi_letters_label, efi_season_line_said(season, l)));
    find_crops(&c);
    c.bands = efi_bands_make(first_of(season), last_of(season),
                             (double)season->run_count / season->line_count,
                             fmin(name_width(&c), MOST_ROOM) + BESIDE, names);
    int first;
    int end;
    if (!efi_bands_page(&c.bands, band_height, &c, page, &first, &end))
        return EF_USAGE;
    describe(&c, &sheet);
    efi_sheet_begin(&sheet);
    const double top = explain_marks(&c, explain_crops(&c, sheet.top + 2.0) + 20.0) + 14.0;
    return efi_sheet_give(&sheet, draw_bands(&c, first, end, top), text);
}
