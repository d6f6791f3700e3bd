/* SPDX-License-Identifier: GPL-3.0-or-later
 * Results as text and JSON. A report computes nothing: it prints what the answer's struct holds. */
#ifndef EVENFEED_REPORT_H
#define EVENFEED_REPORT_H

#include <evenfeed/balance.h>
#include <evenfeed/bins.h>
#include <evenfeed/diag.h>
#include <evenfeed/learn.h>
#include <evenfeed/order.h>
#include <evenfeed/picture.h>
#include <evenfeed/scenario.h>
#include <evenfeed/season.h>
#include <evenfeed/shift.h>
#include <evenfeed/shift_lots.h>
#include <evenfeed/status.h>
#include <evenfeed/trace.h>
#include <evenfeed/units.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Every function below gives a new UTF-8 text in `*text`, closed by NUL, to be freed with ef_report_free; it
 * returns EF_OK, or EF_MEMORY with `*text` as it was. Any thread. */

void ef_report_free(char *text);

/* All findings, as lines for a terminal: place, message, the line itself, what is allowed, the likely fix;
 * then a count. */
ef_status ef_report_findings(const ef_diags *diags, char **text);

/* The reference of the scenario language, as Markdown, from the same table that reads the file. */
ef_status ef_report_language(char **text);

/* A balance for people, in one system of units. */
ef_status ef_report_balance_text(const ef_balance *balance, ef_units units, char **text);

/* The same as JSON: everything, base units, 12 significant digits, units in the names. */
ef_status ef_report_balance_json(const ef_balance *balance, char **text);

/*
 * The line of one crop (its number in the balance) as a flow diagram, SVG 1.1: a box for each station with
 * its load, strokes as wide as the t/h they carry, returns and rejects told apart by their dashes too. Also
 * EF_USAGE: no such crop; EF_NO_ANSWER: nothing flows.
 */
ef_status ef_report_flow_svg(const ef_balance *balance, int crop, ef_units units, char **text);

/* The ladder of one crop as bars. Also EF_USAGE: no such crop; EF_NO_ANSWER: no ladder was asked for. */
ef_status ef_report_ladder_svg(const ef_balance *balance, int crop, ef_units units, char **text);

/* A shift for a manager: the sentence to repeat first, then amounts, hours, what to mend first. */
ef_status ef_report_shift_text(const ef_shift *shift, ef_units units, char **text);

/* Sized bins for a designer: a sentence for each bin first, then how they do on fresh traces, volume against
 * minutes, and what else to know. */
ef_status ef_report_bins_text(const ef_bins *bins, ef_units units, char **text);

/* The same as JSON: everything, base units, 12 significant digits, units in the names. */
ef_status ef_report_bins_json(const ef_bins *bins, char **text);

/* The product of a shift as a histogram with a poor, a middling and a good shift marked (EF_NO_ANSWER when
 * all shifts make the same); where its hours go, a bar for each station that stops or waits. */
ef_status ef_report_tonnes_svg(const ef_shift *shift, ef_units units, char **text);
ef_status ef_report_hours_svg(const ef_shift *shift, char **text);

/* The levels of the bins of a trace, a strip for each. Also EF_NO_ANSWER: there are no bins. */
ef_status ef_report_levels_svg(const ef_trace *trace, ef_units units, char **text);

/* Volume against full-feed minutes short for one steady-feed station of one crop (numbers in the answer),
 * with the volumes now, by the rule and recommended. Also EF_USAGE: no such crop or station; EF_NO_ANSWER:
 * there is no curve. */
ef_status ef_report_curve_svg(const ef_bins *bins, int crop, int feed, ef_units units, char **text);

/* One bin (its number in the answer) of steel from the side, with its dimensions, the heap, what stays
 * behind, and the cautions. Also EF_USAGE: no such bin; EF_NO_ANSWER: none was found. */
ef_status ef_report_elevation_svg(const ef_bins *bins, int bin, ef_units units, char **text);

/* A season by lines and days: lots, clean-downs, arrivals, due dates, closed time, what is late. And by
 * stores and days: who lies where, how full it is, what found no room. `page` -1: all of it on one sheet,
 * which may be long; else that page, from 0 on, of sheets that print on one page of paper each. Also
 * EF_USAGE: no such page; EF_NO_ANSWER: no lot is planned; nothing lies in a store. */
ef_status ef_report_season_svg(const ef_season *season, int page, ef_units units, char **text);
ef_status ef_report_stores_svg(const ef_season *season, int page, ef_units units, char **text);

/* How the bins fill and empty in many shifts: between which levels eight in ten lie at each hour, the middle
 * one, and one shift as an example. Also EF_NO_ANSWER: there are no bins. */
ef_status ef_report_envelope_svg(const ef_shift *shift, ef_units units, char **text);

/* The same as JSON: everything but the tonnes of every simulated shift, base units, 12 significant digits. */
ef_status ef_report_shift_json(const ef_shift *shift, char **text);

/* The same as tables: the file name of a table, from 0 on, NULL behind the last; and the table as CSV (RFC
 * 4180, LF line ends, base units). `index` must be that of a table. */
const char *ef_report_shift_table(int index);
ef_status ef_report_shift_csv(const ef_shift *shift, int index, char **text);

/*
 * A table that one of these functions gave, as spreadsheets have it where numbers are written with a comma:
 * semicolons between the cells, decimal commas; text stays as it is. `csv` stays the caller's. EF_OK;
 * EF_MEMORY.
 */
ef_status ef_report_csv_with_comma(const char *csv, char **text);

/* A list of lots for a manager: the sentences to repeat first; as JSON, everything but single runs; and as
 * tables in the way of ef_report_shift_table and ef_report_shift_csv. */
ef_status ef_report_shift_lots_text(const ef_shift_lots *lots, ef_units units, char **text);
ef_status ef_report_shift_lots_json(const ef_shift_lots *lots, char **text);
const char *ef_report_shift_lots_table(int index);
ef_status ef_report_shift_lots_csv(const ef_shift_lots *lots, int index, char **text);

/* Two plants on the same random numbers, for people and as JSON. */
ef_status ef_report_shift_comparison_text(const ef_shift_comparison *comparison, ef_units units, char **text);
ef_status ef_report_shift_comparison_json(const ef_shift_comparison *comparison, char **text);

/* An order of lots for people; as JSON: hours, 12 significant digits, units in the names; as CSV (RFC 4180,
 * LF line ends, hours). */
ef_status ef_report_order_text(const ef_order *order, char **text);
ef_status ef_report_order_json(const ef_order *order, char **text);
ef_status ef_report_order_csv(const ef_order *order, char **text);

/* A trace for people: levels of the bins as a picture, what each station did, and the first `most_events`
 * events. */
ef_status ef_report_trace_text(const ef_trace *trace, ef_units units, int most_events, char **text);

/* The events, the stops, the levels of the bins and the feeds of all stations at each event, as CSV (RFC
 * 4180, LF line ends, hours from the start of the stretch and tonnes; where the calendar holds, the moment by
 * the plant's clock too). */
ef_status ef_report_trace_events_csv(const ef_trace *trace, char **text);
ef_status ef_report_trace_stops_csv(const ef_trace *trace, char **text);
ef_status ef_report_trace_feeds_csv(const ef_trace *trace, char **text);
ef_status ef_report_trace_levels_csv(const ef_trace *trace, char **text);

/* An answer, or what it says of one crop, that could not be had. */
typedef struct ef_report_missing {
    const char *answer; /* "balance", "bins", "shift", "season" */
    const char *why;    /* a sentence */
} ef_report_missing;

/* All that goes into one report; answers that were not asked for are NULL and 0. */
typedef struct ef_report_answers {
    const char *plant;
    const char *scenario_file;
    const char *command; /* the call that makes this report again; NULL: not known */
    ef_units units;
    const ef_balance *balance;
    const ef_bins *bins;
    const ef_shift *const *shifts; /* shape [shift_count]: a crop each */
    int shift_count;
    const ef_season *season;
    const ef_report_missing *missing; /* shape [missing_count] */
    int missing_count;
} ef_report_answers;

/*
 * One report for all readers: a page of HTML that needs no network, and no script to be read. What everybody
 * wants to know first, then a part each for the plant designer, the scheduler and the manager, verdicts
 * before pictures before tables; cautions; and how to make it again.
 */
ef_status ef_report_html(const ef_report_answers *answers, char **text);

/*
 * The tables of such a report as CSV (RFC 4180, LF line ends; units as shown), those of the shifts
 * and the season left out: ef_report_shift_csv and ef_report_season_csv have more. `index` counts from 0.
 * `*name` is a name for the table, "balance-wheat- stations", to be freed too. EF_NO_ANSWER behind the last;
 * EF_MEMORY.
 */
ef_status ef_report_csv(const ef_report_answers *answers, int index, char **name, char **text);

/*
 * The same report as a workbook (Office Open XML): a sheet for each answer with real numbers, their units in
 * the headings, and charts fed by cells. Written to the file `path`, which is made or overwritten; the same
 * answers give the same bytes. EF_OK; EF_FILE with errno set; EF_MEMORY; on failure the file may be there in
 * part. Writes scratch files to the system's folder for them.
 */
ef_status ef_report_workbook(const ef_report_answers *answers, const char *path);

/* What was learned from logs, for people; the same as JSON; and the settings it suggests, as a file for
 * `--set
 * @FILE`. */
ef_status ef_report_learn_text(const ef_learn *learn, ef_units units, char **text);
ef_status ef_report_learn_json(const ef_learn *learn, char **text);
ef_status ef_report_learn_settings(const ef_learn *learn, char **text);

/* A season as a work order: the verdict and what is in trouble first, then for each line what runs when, the
 * chart, costs, rates, stores. */
ef_status ef_report_season_text(const ef_season *season, ef_units units, char **text);

/* The same as JSON: everything, base units, 12 significant digits, moments as ISO 8601 by the plant's clock.
 */
ef_status ef_report_season_json(const ef_season *season, char **text);

/* The plan file, which a person may edit and which ef_season_plan_load reads: CSV (RFC 4180, LF line ends), a
 * row for each lot in the order of its line. */
ef_status ef_report_season_plan(const ef_season *season, char **text);

/* The season as tables, in the way of ef_report_shift_table and ef_report_shift_csv. */
const char *ef_report_season_table(int index);
ef_status ef_report_season_csv(const ef_season *season, int index, char **text);

/* The season as a calendar file (RFC 5545): an event for each run and each clean-down, in the plant's own
 * time. The same season gives the same bytes. */
ef_status ef_report_season_ics(const ef_season *season, ef_units units, char **text);

/* Where a lot that might come would go, for people and as JSON. */
ef_status ef_report_when_text(const ef_season_answer *answer, ef_units units, char **text);
ef_status ef_report_when_json(const ef_season_answer *answer, char **text);

#ifdef __cplusplus
}
#endif
#endif
