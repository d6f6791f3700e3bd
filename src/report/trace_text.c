/* SPDX-License-Identifier: GPL-3.0-or-later
 * A trace for people. */
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/paper.h"
#include "report/report.h"
#include "report/shift_lots_view.h"
#include "report/trace_view.h"

#include <evenfeed/trace.h>
#include <math.h>
#include <string.h>

enum {
    PICTURE = 60, /* columns of the picture of levels */
    STEPS = 8,    /* heights of a block */
    BIN_COLUMNS = 5,
    MARK_COLUMNS = 10,
    OF_THE_TIME = 72 /* of what a station did */
};

/* "2:07:13" from the start, or where the calendar holds "mon 2026-09-14 06:12:30". */
static void add_clock(efi_text *out, const ef_trace *trace, double hours)
{
    const long long seconds = llround(hours * EFI_HOUR_S);
    if (!trace->on_calendar) {
        efi_text_addf(out, "%lld:%02lld:%02lld", seconds / 3600, seconds / 60 % 60, seconds % 60);
        return;
    }
    const int64_t moment_s = trace->from_moment_s + seconds;
    const int64_t day = efi_moment_day(moment_s);
    const int clock_s = efi_moment_clock(moment_s);
    efi_text_addf(out, "%s %s %02d:%02d:%02d", efi_piece_weekday_short(efi_day_weekday(day)),
                  efi_piece_day(day).words, clock_s / 3600, clock_s / 60 % 60, clock_s % 60);
}

/* ---- the picture ----------------------------------------------------------------------------------------
 */

/* Level of a bin at a moment, on the straight line between the moments at which it is known. `*from` is where
 * the search begins, and goes on from there. */
static double level_at(const ef_trace *trace, int bin, double at_h, int *from)
{
    while (*from + 2 < trace->level_count && trace->level_h[*from + 1] <= at_h)
        (*from)++;
    const int i = *from;
    const size_t bins = (size_t)trace->bin_count;
    const double here = trace->level_t[(size_t)i * bins + (size_t)bin];
    if (i + 1 >= trace->level_count)
        return here;
    const double there = trace->level_t[(size_t)(i + 1) * bins + (size_t)bin];
    const double span = trace->level_h[i + 1] - trace->level_h[i];
    return span > 0.0 ? here + (there - here) * (at_h - trace->level_h[i]) / span : here;
}

static void add_picture(efi_text *out, const ef_trace *trace, int bin)
{
    static const char *const blocks[STEPS + 1] = {"_", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    int from = 0;
    for (int column = 0; column < PICTURE; column++) {
        const double at_h = trace->hours * (column + 0.5) / PICTURE;
        const double share = level_at(trace, bin, at_h, &from) / trace->bins[bin].full_t;
        const int step = share <= 0.0 ? 0 : share >= 1.0 ? STEPS : 1 + (int)(share * (STEPS - 1));
        efi_text_add(out, blocks[step]);
    }
}

/* Hours between two marks of the ruler, at least ten columns. */
static double mark_step_h(double hours)
{
    static const double steps_h[] = {1.0 / 60.0, 1.0 / 30.0, 1.0 / 12.0, 1.0 / 6.0, 0.25, 0.5,
                                     1.0,        2.0,        3.0,        6.0,       12.0, 24.0,
                                     48.0,       168.0,      336.0,      672.0};
    const int count = (int)(sizeof steps_h / sizeof steps_h[0]);
    int i = 0;
    while (i + 1 < count && steps_h[i] * PICTURE < MARK_COLUMNS * hours)
        i++;
    return steps_h[i];
}

/* "06:30" or, where marks are days apart, "09-14"; without a calendar the time from the start, "6:30". */
static void add_mark(efi_text *out, const ef_trace *trace, long long second, bool days)
{
    if (!trace->on_calendar) {
        efi_text_addf(out, "|%lld:%02lld", second / 3600, second / 60 % 60);
        return;
    }
    const int64_t moment_s = trace->from_moment_s + second;
    const efi_civil civil = efi_civil_of(efi_moment_day(moment_s));
    const int clock_s = efi_moment_clock(moment_s);
    if (days)
        efi_text_addf(out, efi_tr_in("month and day", "|%02d-%02d"), civil.month, civil.day);
    else
        efi_text_addf(out, "|%02d:%02d", clock_s / 3600, clock_s / 60 % 60);
}

/* The ruler above the pictures: a mark where each step of time begins. */
static void add_ruler(efi_text *out, const ef_trace *trace)
{
    const double step_h = mark_step_h(trace->hours);
    const long long step_s = llround(step_h * EFI_HOUR_S);
    const long long phase_s = trace->on_calendar ? trace->from_moment_s % step_s : 0;
    size_t column = 0;
    for (long long at_s = phase_s > 0 ? step_s - phase_s : 0;; at_s += step_s) {
        const double place = (double)at_s / EFI_HOUR_S / trace->hours * PICTURE;
        efi_text mark = {0};
        add_mark(&mark, trace, at_s, step_h >= 24.0);
        if (!(place + (double)mark.length <= PICTURE)) {
            efi_text_free(&mark);
            break;
        }
        for (; column < (size_t)place; column++)
            efi_text_add(out, " ");
        out->failed = out->failed || mark.failed;
        efi_text_add(out, efi_text_get(&mark));
        column += mark.length;
        efi_text_free(&mark);
    }
}

/* What the plant as a whole does: works, or what it stops for. */
static void add_plant_picture(efi_text *out, const ef_trace *trace)
{
    int stop = 0;
    for (int column = 0; column < PICTURE; column++) {
        const double at_h = trace->hours * (column + 0.5) / PICTURE;
        while (stop < trace->stop_count && (trace->stops[stop].station || trace->stops[stop].to_h <= at_h))
            stop++;
        const bool stands = stop < trace->stop_count && trace->stops[stop].from_h <= at_h;
        efi_text_add(out, !stands                             ? "─"
                          : trace->stops[stop].kind[0] == 'b' ? "b"
                          : trace->stops[stop].kind[0] == 'p' ? "m"
                                                              : " ");
    }
}

static void add_picture_row(efi_paper *paper, const char *name, void (*add)(efi_text *, const ef_trace *),
                            const ef_trace *trace)
{
    efi_text cell = {0};
    add(&cell, trace);
    efi_paper_cell(paper, name);
    efi_paper_take(paper, &cell);
    for (int i = 2; i < BIN_COLUMNS; i++)
        efi_paper_cell(paper, "");
}

static void show_mass(efi_paper *paper, const ef_trace *trace, ef_units units, double tonnes)
{
    const efi_display mass = efi_display_choose(EFI_KIND_MASS, units, tonnes, trace->trade_weight_tpbu, NULL);
    efi_paper_show(paper, &mass, tonnes);
}

static void add_bins(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    static const efi_table_form form = {
        .name = "levels", .caption = EFI_TR("Levels of the bins"), .quiet = true};
    static const efi_column columns[BIN_COLUMNS] = {{EFI_TR("Bin"), 'l', 0, false},
                                                    {EFI_TR("Level"), 'l', 0, true},
                                                    {EFI_TR("Full"), 'r', 0, false},
                                                    {EFI_TR("Mean"), 'r', 0, false},
                                                    {EFI_TR("Empty for"), 'r', 0, false}};
    const efi_piece column = efi_piece_duration(trace->hours / PICTURE);
    if (trace->on_calendar)
        efi_paper_wordsf(
            paper, EFI_NOTE,
            efi_tr("Levels of the bins, from the start to the end; each column is %s, _ is empty and █ "
                   "full; the plant works where a line is drawn, b is a break, m maintenance"),
            column.words);
    else
        efi_paper_wordsf(
            paper, EFI_NOTE,
            efi_tr("Levels of the bins, from the start to the end; each column is %s, _ is empty and █ "
                   "full"),
            column.words);
    paper->depth = 1;
    efi_paper_table(paper, &form, columns, BIN_COLUMNS);
    add_picture_row(paper, "", add_ruler, trace);
    if (trace->on_calendar)
        add_picture_row(paper, efi_tr("The plant"), add_plant_picture, trace);
    for (int b = 0; b < trace->bin_count; b++) {
        const ef_trace_bin *bin = &trace->bins[b];
        efi_text cell = {0};
        efi_paper_cell(paper, bin->name);
        add_picture(&cell, trace, b);
        efi_paper_take(paper, &cell);
        show_mass(paper, trace, units, bin->full_t);
        efi_paper_percent(paper, bin->mean_t / bin->full_t, 0);
        efi_paper_duration(paper, bin->empty_h);
    }
    efi_paper_gap(paper);
    paper->depth = 0;
}

/* ---- stations -------------------------------------------------------------------------------------------
 */

/* What a station did, an item each, most first: "full rate 81 %". */
static void add_states(efi_text *out, const ef_trace *trace, const ef_trace_station *station)
{
    bool first = true;
    double last = INFINITY;
    int last_index = -1;
    for (int said = 0; said < trace->state_count; said++) {
        int best = -1;
        for (int s = 0; s < trace->state_count; s++) {
            const double hours = station->state_h[s];
            const bool left = hours < last || (hours == last && s > last_index);
            if (left && (best < 0 || hours > station->state_h[best]))
                best = s;
        }
        if (best < 0 || !(station->state_h[best] / trace->hours >= 0.0005))
            return;
        efi_text_addf(out, "%s%s %s", first ? "" : "\n", efi_tr(trace->states[best]),
                      efi_piece_percent(station->state_h[best] / trace->hours, 1).words);
        first = false;
        last = station->state_h[best];
        last_index = best;
    }
}

static void add_stations(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    static const efi_table_form form = {
        .name = "stations", .caption = EFI_TR("What each station took and did"), .quiet = true};
    static const efi_column columns[] = {{EFI_TR("Station"), 'l', 0, false},
                                         {EFI_TR("Taken"), 'r', 0, false},
                                         {EFI_TR("Of the time"), 'l', OF_THE_TIME, false}};
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int s = 0; s < trace->station_count; s++) {
        efi_text states = {0};
        efi_paper_cell(paper, trace->stations[s].name);
        show_mass(paper, trace, units, trace->stations[s].taken_t);
        add_states(&states, trace, &trace->stations[s]);
        efi_paper_take(paper, &states);
    }
    efi_paper_gap(paper);
}

static efi_piece alone(const ef_trace *trace, ef_units units, efi_kind kind, double value)
{
    return efi_piece_alone(kind, units, value, trace->trade_weight_tpbu, NULL);
}

static void add_steady(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    for (int s = 0; s < trace->station_count; s++) {
        const ef_trace_station *station = &trace->stations[s];
        if (!station->steady_feed)
            continue;
        efi_paper_wordsf(
            paper, EFI_DETAIL,
            efi_tr("%s, set to %s, was short of %s while it was not stopped, and ran outside its band "
                   "for %s."),
            station->name, alone(trace, units, EFI_KIND_MASS_RATE, station->set_rate_tph).words,
            alone(trace, units, EFI_KIND_MASS, station->shortfall_t).words,
            efi_piece_duration(station->out_of_band_h).words);
    }
}

static void add_receipts(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    for (int i = 0; i < trace->receipts_count; i++) {
        const ef_trace_receipts *one = &trace->receipts[i];
        const long long taken = one->arrivals - one->turned_away;
        efi_text words = {0};
        efi_text_addf(&words, efi_tr_n("%s: %lld load came", "%s: %lld loads came", one->arrivals), one->name,
                      one->arrivals);
        if (one->turned_away > 0)
            efi_text_addf(&words, efi_tr(", %lld of them turned away"), one->turned_away);
        if (one->spilled_t > 0.0)
            efi_text_addf(&words, efi_tr(", %s did not fit"),
                          alone(trace, units, EFI_KIND_MASS, one->spilled_t).words);
        if (taken > 0 && one->queue_h > 0.0)
            efi_text_addf(&words, efi_tr("; a load that was taken was there for %s in the mean"),
                          efi_piece_duration(one->queue_h / (double)taken).words);
        efi_text_add(&words, ".");
        efi_paper_say(paper, EFI_DETAIL, &words);
    }
}

static void add_crews(efi_paper *paper, const ef_trace *trace)
{
    static const efi_table_form form = {.name = "crews", .caption = EFI_TR("Crews"), .quiet = true};
    static const efi_column columns[] = {
        {EFI_TR("Crew"), 'l', 0, false},    {EFI_TR("Teams"), 'r', 0, false},
        {EFI_TR("Stops"), 'r', 0, false},   {EFI_TR("Waited for it"), 'r', 0, false},
        {EFI_TR("Waiting"), 'r', 0, false}, {EFI_TR("At work"), 'r', 0, false}};
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int c = 0; c < trace->crew_count; c++) {
        const ef_trace_crew *crew = &trace->crews[c];
        efi_paper_cell(paper, crew->name);
        efi_paper_count(paper, crew->teams);
        efi_paper_count(paper, crew->stops);
        efi_paper_count(paper, crew->waited);
        efi_paper_duration(paper, crew->wait_h);
        efi_paper_duration(paper, crew->busy_h);
    }
    efi_paper_gap(paper);
}

/* ---- events ---------------------------------------------------------------------------------------------
 */

static void add_event(efi_paper *paper, const ef_trace *trace, const ef_trace_event *event)
{
    efi_text cell = {0};
    add_clock(&cell, trace, event->at_h);
    efi_paper_take(paper, &cell);
    if (event->machine > 0)
        efi_paper_cellf(paper, efi_tr("%s, machine %d"), event->station, event->machine);
    else if (event->station && event->line)
        efi_paper_cellf(paper, "%s (%s)", event->station, event->line);
    else
        efi_paper_cell(paper, event->station ? event->station
                              : event->line  ? efi_paper_phrase(paper, efi_tr("Line %s"), event->line)
                                             : efi_tr("The plant"));
    if (event->cause && (event->station || strcmp(event->cause, "closed") != 0))
        efi_paper_cellf(paper, "%s (%s)", efi_tr(event->what), event->cause);
    else
        efi_paper_cell(paper, efi_tr(event->what));
}

static void add_events(efi_paper *paper, const ef_trace *trace, int most)
{
    static const efi_table_form form = {.name = "events", .caption = EFI_TR("What happened"), .quiet = true};
    static const efi_column columns[] = {
        {EFI_TR("At"), 'r', 0, false}, {EFI_TR("Station"), 'l', 0, false}, {EFI_TR("What"), 'l', 0, false}};
    int routine = 0;
    for (int e = 0; e < trace->event_count; e++)
        routine += !efi_trace_is_shown(trace, &trace->events[e]);
    const int others = trace->event_count - routine;
    if (others == 0 || most == 0)
        return;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    int shown = 0;
    for (int e = 0; e < trace->event_count && shown < most; e++) {
        if (!efi_trace_is_shown(trace, &trace->events[e]))
            continue;
        add_event(paper, trace, &trace->events[e]);
        shown++;
    }
    if (trace->events_cut)
        efi_paper_linef(paper,
                        efi_tr("... and at least %d more; --events N shows more, --csv DIR writes all"),
                        others - shown);
    else if (others > shown)
        efi_paper_linef(paper, efi_tr("... and %d more; --events N shows more, --csv DIR writes all"),
                        others - shown);
    if (routine > 0 && trace->lot_count > 0)
        efi_paper_linef(paper, efi_tr("%d other events are not shown; --csv DIR writes them too"), routine);
    else if (routine > 0)
        efi_paper_linef(paper, efi_tr("%d steps of batches are not shown; --csv DIR writes them too"),
                        routine);
    efi_paper_gap(paper);
}

static void add_headline(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    const double worked_tph = trace->worked_h > 0.0 ? trace->intake_t / trace->worked_h : 0.0;
    const efi_piece hours = efi_piece_duration(trace->hours);
    const efi_piece intake = alone(trace, units, EFI_KIND_MASS, trace->intake_t);
    const efi_piece product = alone(trace, units, EFI_KIND_MASS, trace->product_t);
    const efi_piece rate = alone(trace, units, EFI_KIND_MASS_RATE, worked_tph);
    const efi_piece steady = alone(trace, units, EFI_KIND_MASS_RATE, trace->balance_tph);
    const int64_t day = efi_moment_day(trace->from_moment_s);
    if (trace->on_calendar)
        efi_paper_wordsf(
            paper, EFI_VERDICT,
            efi_tr("%s: %s from %s %s, of which %s are worked, took in %s and made %s of product: %s at "
                   "the intake in the hours worked, against %s in the steady balance without stops."),
            trace->crop, hours.words, efi_piece_weekday(efi_day_weekday(day)),
            efi_piece_moment(trace->from_moment_s).words, efi_piece_duration(trace->worked_h).words,
            intake.words, product.words, rate.words, steady.words);
    else
        efi_paper_wordsf(
            paper, EFI_VERDICT,
            efi_tr("%s: %s took in %s and made %s of product: %s at the intake, against %s in the "
                   "steady balance without stops."),
            trace->crop, hours.words, intake.words, product.words, rate.words, steady.words);
}

/* A loop that has choked, once. */
static void add_choked(efi_paper *paper, const ef_trace *trace)
{
    efi_text since = {0};
    const char *names = "";
    for (int i = 0; i < trace->choked_count; i++)
        names = efi_paper_phrase(paper, "%s%s%s", names, i ? ", " : "", trace->choked[i]);
    add_clock(&since, trace, trace->choked_h);
    if (trace->choked_count > 0)
        efi_paper_wordsf(
            paper, EFI_WARNING,
            efi_tr("A loop has choked: from %s on %s hold each other up, and nothing on it can move any "
                   "more. What comes round needs room: a bin of its own, or a place before what is "
                   "fresh."),
            efi_text_get(&since), names);
    paper->failed = paper->failed || since.failed;
    efi_text_free(&since);
}

static void add_tables(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    if (trace->lot_count > 0)
        efi_trace_add_lots(paper, trace, units);
    if (trace->bin_count > 0)
        add_bins(paper, trace, units);
    paper->depth = 1;
    add_stations(paper, trace, units);
    if (trace->crew_count > 0)
        add_crews(paper, trace);
    paper->depth = 0;
}

/* A list on each line of a plant of several: together, then line by line. */
static void add_lines(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    efi_trace_add_list(paper, trace, units);
    efi_trace_add_list_notes(paper, trace);
    efi_lots_say_beside(paper, trace->is_dealt);
    if (trace->shares_stations)
        efi_lots_say_shared(paper);
    efi_paper_gap(paper);
    for (int i = 0; i < trace->line_count; i++) {
        const ef_trace *line = &trace->lines[i];
        efi_paper_heading(paper, 2, false, efi_paper_phrase(paper, efi_tr("Line %s"), line->line));
        efi_paper_gap(paper);
        efi_trace_add_list(paper, line, units);
        add_choked(paper, line);
        add_steady(paper, line, units);
        efi_paper_gap(paper);
        add_tables(paper, line, units);
    }
}

static void add_line(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    if (trace->lot_count > 0) {
        efi_trace_add_list(paper, trace, units);
        efi_trace_add_list_notes(paper, trace);
    } else {
        add_headline(paper, trace, units);
    }
    add_choked(paper, trace);
    add_steady(paper, trace, units);
    add_receipts(paper, trace, units);
    efi_paper_gap(paper);
    add_tables(paper, trace, units);
}

ef_status ef_report_trace_text(const ef_trace *trace, ef_units units, int most_events, char **text)
{
    efi_paper paper = {0};
    efi_text words = {0};
    efi_text_addf(&words, efi_tr("%s: %s, seed %llu"), trace->plant, trace->scenario_file,
                  (unsigned long long)trace->seed);
    efi_paper_title(&paper, &words);
    if (trace->line_count > 0)
        add_lines(&paper, trace, units);
    else
        add_line(&paper, trace, units);
    paper.depth = 1;
    add_events(&paper, trace, most_events);
    paper.depth = 0;
    efi_paper_words(
        &paper, EFI_NOTE,
        trace->on_calendar
            ? efi_tr("This is one stretch of chance, not an average: another seed gives another. Flows "
                     "are exact between events; times are those of the plant's clock.")
            : efi_tr("This is one stretch of chance, not an average: another seed gives another. Flows "
                     "are exact between events; times are hours, minutes and seconds from the "
                     "start."));
    return efi_paper_give_text(&paper, text);
}
