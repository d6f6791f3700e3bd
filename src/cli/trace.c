/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed trace`: one simulated stretch, to see it happen. */
#include "base/base.h"
#include "cli/shift.h"

#include <errno.h>
#include <evenfeed/report.h>
#include <evenfeed/trace.h>
#include <stdio.h>
#include <stdlib.h>

enum {
    USUAL_EVENTS = 40
};

static const struct {
    const char *name;
    ef_status (*make)(const ef_trace *trace, char **text);
} tables[] = {{"events.csv", ef_report_trace_events_csv},
              {"stops.csv", ef_report_trace_stops_csv},
              {"levels.csv", ef_report_trace_levels_csv},
              {"feeds.csv", ef_report_trace_feeds_csv}};

static const char *table_name(int index)
{
    return index < (int)EF_COUNT(tables) ? tables[index].name : NULL;
}

static ef_status make_table(const void *trace, int index, char **text)
{
    return tables[index].make(trace, text);
}

static int print(const cli_call *call, const ef_trace *trace, ef_units units, int most_events)
{
    char *text;
    const ef_status status = ef_report_trace_text(trace, units, most_events, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    int code = cli_print(text, 0);
    ef_report_free(text);
    if (code == 0 && cli_value(call, "csv"))
        code = cli_write_tables(call, table_name, make_table, trace);
    return code;
}

static int verify(const ef_scenario *scenario, const ef_trace *trace)
{
    char *differences = NULL;
    const ef_status status = ef_trace_verify(scenario, trace, &differences);
    if (status == EF_OK)
        fputs("evenfeed: verified: mass, levels, stops and hours recomputed without the engine, all numbers "
              "agree\n",
              stderr);
    return cli_verified(status, differences);
}

/* One crop, or the scenario's lots in an order for the caller to free. */
static int read_what(const cli_call *call, const ef_scenario *scenario, ef_trace_settings *settings,
                     cli_lot_order *order)
{
    *order = (cli_lot_order){0};
    settings->lots = cli_value(call, "lots") != NULL;
    if (settings->lots && cli_value(call, "crop"))
        return cli_usage(call->command, "--lots runs each lot with its own crop, so it goes without --crop");
    if (!settings->lots && cli_value(call, "plan"))
        return cli_usage(call->command, "--plan is the order of a list of lots, so it goes with --lots");
    const int code = settings->lots ? cli_plan_order(call, scenario, order)
                                    : cli_crop(call, scenario, &settings->crop);
    settings->crop = settings->crop < 0 ? 0 : settings->crop;
    settings->order = order->lots;
    settings->order_lines = order->lines;
    settings->order_count = order->count;
    return code;
}

static int answer(const cli_call *call, const ef_scenario *scenario)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_units units;
    bool given = false;
    bool is_day = false;
    long long seed = (long long)settings.seed;
    long long events = USUAL_EVENTS;
    cli_lot_order order;
    int code = read_what(call, scenario, &settings, &order);
    if (code == 0)
        code = cli_units(call, scenario, &units);
    if (code == 0)
        code = cli_duration(call, "hours", &given, &settings.hours);
    if (code == 0)
        code = cli_moment(call, "from", &given, &is_day, &settings.from_moment_s);
    if (code == 0 && given)
        settings.from = is_day ? EF_TRACE_FROM_DAY : EF_TRACE_FROM_MOMENT;
    if (code == 0)
        code = cli_number(call, "seed", 0, 1000000000000LL, &seed);
    if (code == 0)
        code = cli_number(call, "events", 0, 100000, &events);
    if (code == 0)
        code = cli_check_comma(call, cli_value(call, "csv") != NULL);
    const ef_picture *picture = NULL;
    if (code == 0)
        code = cli_picture(call, EF_PICTURE_OF_TRACE, &picture);
    if (code != 0) {
        cli_lot_order_free(&order);
        return code;
    }
    settings.seed = (uint64_t)seed;
    settings.without_calendar = cli_value(call, "without-calendar") != NULL;
    settings.without_stops = cli_value(call, "without-stops") != NULL;
    ef_trace *trace;
    char *reason = NULL;
    const ef_status status = ef_trace_run(scenario, &settings, &trace, &reason);
    cli_lot_order_free(&order);
    if (status == EF_USAGE)
        return cli_usage(call->command, "--hours is from a moment to 10000 h");
    if (status != EF_OK)
        return settings.lots ? cli_cannot_run_list(status, reason) : cli_cannot_run(status, reason);
    const ef_picture_source source = {.trace = trace};
    if (picture && trace->line_count > 0)
        code = cli_usage(call->command, "--svg draws the bins of one line; with lists on several lines, "
                                        "--csv writes the levels of all");
    else
        code = cli_draw(call, picture, &source, units, NULL);
    if (code == 0)
        code = print(call, trace, units, (int)events);
    if (code == 0 && cli_value(call, "verify"))
        code = verify(scenario, trace);
    ef_trace_free(trace);
    return code;
}

static int run(const cli_call *call)
{
    return cli_with_scenario(call, answer);
}

static const cli_option options[] = {
    {"crop", "NAME", "the crop to run; else the first of the scenario"},
    {"lots", NULL,
     "run the scenario's waiting lots one after the other, cleaned between by its rules, in place of one "
     "crop"},
    {"plan", "PLAN", "with --lots: take the lines and the order of a plan that evenfeed season has written"},
    {"from", "WHEN", "a day, from its first shift on, or a moment: 2026-11-25T06:30; else the first shift"},
    {"hours", "TIME",
     "how long, say \"24 h\"; else to the end of the shift, with --lots to the end of the list"},
    {"seed", "N", "another seed gives another stretch of chance; 1 when not given"},
    {"events", "N", "how many events to print; 40 when not given"},
    {"without-stops", NULL, "nothing stops and material is always there: the steady rates, reached"},
    {"without-calendar", NULL, "the plant works day and night: no closed times, breaks or maintenance"},
    {"units", "metric|us", "units of the printed text; else those of the scenario"},
    CLI_LANG_OPTION,
    {"csv", "DIR", "write events.csv, stops.csv, levels.csv and feeds.csv into a folder, hours and tonnes"},
    CLI_COMMA_OPTION,
    {"verify", NULL, "recompute the stretch without the engine, and say whether all agrees"},
    {"svg", "FILE", "draw the levels of the bins"},
    {"picture", "NAME", "what --svg draws: levels"},
    {"force", NULL, "let --csv and --svg replace files that are there already"},
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_trace = {
    .name = "trace",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "one simulated stretch with its stops: levels of the bins, what each station did, every event",
    .about = "Runs the line of one crop through time with the stops of the scenario, from event to event, "
             "and shows what "
             "happened: the levels of the bins as a picture, what each station did with its time, and the "
             "events one by "
             "one. FILE may be - for standard input.",
    .options = options,
    .example = "trace scenarios/cereal-seed.yaml --crop wheat --hours \"24 h\"",
    .run = run,
};
