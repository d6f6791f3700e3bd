/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed shift --lots`: how long the list of lots takes, tonnes a shift, where the hours go. */
#include "cli/shift.h"

#include "base/date.h"
#include "model/scenario.h"

#include <evenfeed/report.h>
#include <evenfeed/shift_lots.h>
#include <stdio.h>
#include <stdlib.h>

static ef_status make_table(const void *lots, int index, char **text)
{
    return ef_report_shift_lots_csv(lots, index, text);
}

static int print(const cli_call *call, const ef_shift_lots *lots, ef_units units)
{
    char *text;
    const ef_status status = cli_value(call, "json") ? ef_report_shift_lots_json(lots, &text)
                                                     : ef_report_shift_lots_text(lots, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_print(text, 0);
    ef_report_free(text);
    return code == 0 && cli_value(call, "csv")
               ? cli_write_tables(call, ef_report_shift_lots_table, make_table, lots)
               : code;
}

static int verify(const ef_scenario *scenario, const ef_shift_lots *lots)
{
    char *differences = NULL;
    const ef_status status = ef_shift_lots_verify(scenario, lots, &differences);
    if (status == EF_OK)
        fputs("evenfeed: verified: lots, clean-downs, hours and tonnes recomputed from the scenario and "
              "every run "
              "without the engine, all numbers agree\n",
              stderr);
    return cli_verified(status, differences);
}

/* ---- settings -------------------------------------------------------------------------------------------
 */

/* Options that say something about one crop, or that have no meaning for a list. */
static int check_options(const cli_call *call)
{
    static const char *const others[] = {"days", "shifts", "precision", "against", "svg", "picture"};
    if (cli_value(call, "crop"))
        return cli_usage(call->command, "--lots runs each lot with its own crop, so it goes without --crop");
    for (size_t i = 0; i < EF_COUNT(others); i++)
        if (cli_value(call, others[i]))
            return cli_usage(call->command, "--lots runs a list to its end, so it goes without --%s",
                             others[i]);
    return 0;
}

void cli_lot_order_free(cli_lot_order *order)
{
    free(order->lots);
    free(order->lines);
    *order = (cli_lot_order){0};
}

/* Reads the lots of all lines into room for as many as the scenario has. */
static int read_order(const ef_season_plan *plan, int lines, size_t room, cli_lot_order *order)
{
    order->lots = malloc((room + 1) * sizeof *order->lots);
    order->lines = malloc((room + 1) * sizeof *order->lines);
    if (!order->lots || !order->lines)
        return cli_fail(EF_MEMORY, NULL);
    for (int line = 0; line < lines; line++) {
        const int count = ef_season_plan_order(plan, line, order->lots + order->count);
        for (int k = 0; k < count; k++)
            order->lines[order->count + k] = line;
        order->count += count;
    }
    return 0;
}

int cli_plan_order(const cli_call *call, const ef_scenario *scenario, cli_lot_order *order)
{
    ef_season_plan *plan;
    const int lines = scenario->line_count > 1 ? scenario->line_count : 1;
    *order = (cli_lot_order){0};
    int code = cli_read_plan(call, scenario, &plan);
    if (code != 0 || !plan)
        return code;
    code = read_order(plan, lines, (size_t)scenario->lot_count, order);
    ef_season_plan_free(plan);
    return code == 0 && order->count == 0
               ? cli_usage(call->command, "%s has no lots", cli_value(call, "plan"))
               : code;
}

int cli_cannot_run_list(ef_status status, char *reason)
{
    if (status != EF_NO_ANSWER || !reason)
        return cli_cannot_run(status, reason);
    fprintf(stderr, "evenfeed: the lots cannot be run one after the other: %s\n", reason);
    ef_report_free(reason);
    return ef_status_exit_code(status);
}

static int read_settings(const cli_call *call, ef_shift_lots_settings *settings)
{
    bool is_day = true;
    int64_t moment_s = 0;
    long long runs = settings->runs;
    long long seed = (long long)settings->seed;
    long long threads = 0;
    int code = cli_moment(call, "from", &settings->has_from, &is_day, &moment_s);
    if (code == 0 && !is_day)
        return cli_usage(call->command, "--from takes a day, such as 2026-11-25");
    if (code == 0)
        code = cli_number(call, "runs", 2, 100000, &runs);
    if (code == 0)
        code = cli_number(call, "seed", 0, 1000000000000LL, &seed);
    if (code == 0)
        code = cli_number(call, "threads", 1, 256, &threads);
    settings->from_day = settings->has_from ? efi_moment_day(moment_s) : 0;
    settings->runs = (int)runs;
    settings->seed = (uint64_t)seed;
    settings->threads = (int)threads;
    settings->without_calendar = cli_value(call, "without-calendar") != NULL;
    return code;
}

/* ---- the command ----------------------------------------------------------------------------------------
 */

static int run_list(const cli_call *call, const ef_scenario *scenario, const ef_shift_lots_settings *settings,
                    ef_units units)
{
    ef_shift_lots *lots;
    char *reason = NULL;
    const ef_status status = ef_shift_lots_run(scenario, settings, &lots, &reason);
    if (status == EF_USAGE && settings->has_from)
        return cli_usage(call->command, "--from goes with a calendar, which %s",
                         settings->without_calendar ? "--without-calendar leaves out"
                                                    : "the scenario does not give");
    if (status == EF_USAGE)
        return cli_usage(call->command, "a setting is out of range");
    if (status != EF_OK)
        return cli_cannot_run_list(status, reason);
    int code = print(call, lots, units);
    if (code == 0 && cli_value(call, "verify"))
        code = verify(scenario, lots);
    ef_shift_lots_free(lots);
    return code;
}

int cli_shift_lots(const cli_call *call, const ef_scenario *scenario)
{
    ef_shift_lots_settings settings = ef_shift_lots_defaults();
    ef_units units;
    cli_lot_order order = {0};
    int code = check_options(call);
    if (code == 0)
        code = cli_units(call, scenario, &units);
    if (code == 0)
        code = read_settings(call, &settings);
    if (code == 0)
        code = cli_check_comma(call, cli_value(call, "csv") != NULL);
    if (code == 0)
        code = cli_plan_order(call, scenario, &order);
    settings.lots = order.lots;
    settings.lines = order.lines;
    settings.lot_count = order.count;
    if (code == 0)
        code = run_list(call, scenario, &settings, units);
    cli_lot_order_free(&order);
    return code;
}
