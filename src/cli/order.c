/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed order`: lots and changeovers in two tables, the order in which to run them. */
#include "cli/cli.h"

#include <errno.h>
#include <evenfeed/order.h>
#include <evenfeed/report.h>
#include <stdio.h>

static bool go_on(void *context, const ef_order_progress *progress)
{
    (void)progress;
    return cli_search_goes_on(context, 0);
}

static int read_settings(const cli_call *call, ef_order_settings *settings, cli_search *search)
{
    long long rounds = settings->rounds;
    bool timed = false;
    double hours = 0.0;
    int code = cli_amount(call, "changeover-price", 0.0, 1e6, &settings->changeover_price);
    if (code == 0)
        code = cli_amount(call, "late-price", 0.0, 1e6, &settings->late_price);
    if (code == 0)
        code = cli_amount(call, "end-price", 0.0, 1e6, &settings->end_price);
    search->threads = 1;
    if (code == 0)
        code = cli_search_read(call, search);
    if (code == 0)
        code = cli_number(call, "rounds", 1, 1000000, &rounds);
    if (code == 0)
        code = cli_duration(call, "time", &timed, &hours);
    settings->threads = (int)search->threads;
    settings->seed = (unsigned long long)search->seed;
    settings->rounds = timed && !cli_value(call, "rounds") ? 1000000 : (int)rounds;
    settings->closed = cli_value(call, "closed") != NULL;
    settings->cleaned_before_arrival = cli_value(call, "clean-early") != NULL;
    search->seconds = timed ? hours * 3600.0 : 0.0;
    return code;
}

static const char *table_name(int index)
{
    return index == 0 ? "order.csv" : NULL;
}

static ef_status make_table(const void *order, int index, char **text)
{
    (void)index; /* there is one */
    return ef_report_order_csv(order, text);
}

static int print(const cli_call *call, const ef_order *order)
{
    char *text = NULL;
    int code = cli_value(call, "csv") ? cli_write_tables(call, table_name, make_table, order) : 0;
    if (code != 0)
        return code;
    const ef_status status = cli_value(call, "json") ? ef_report_order_json(order, &text)
                                                     : ef_report_order_text(order, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    code = cli_print(text, cli_interrupted() ? ef_status_exit_code(EF_STOPPED) : 0);
    ef_report_free(text);
    return code;
}

static int answer(const cli_call *call, const ef_lots *lots)
{
    ef_order_settings settings = ef_order_defaults();
    cli_search search = cli_search_begin();
    int code = read_settings(call, &settings, &search);
    if (code == 0)
        code = cli_check_comma(call, cli_value(call, "csv") != NULL);
    if (code == 0)
        code = cli_lang(call);
    if (code != 0)
        return code;
    settings.go_on = go_on;
    settings.context = &search;
    ef_order *order = NULL;
    bool proven = false;
    const ef_status status = ef_order_solve(lots, &settings, &order, &proven);
    if (status == EF_USAGE)
        return cli_usage(call->command,
                         "these prices do not go together with these tables; --closed needs --late-price 0 "
                         "and tables without start, end, arrival, latest times and after");
    if (status == EF_NO_ANSWER) {
        fputs(proven ? "evenfeed: no order keeps the latest times, the pairs and the changeovers that are "
                       "allowed; this is proven\n"
                     : "evenfeed: no order was found that keeps all limits; more --time or --rounds may find "
                       "one\n",
              stderr);
        return cli_interrupted() ? ef_status_exit_code(EF_STOPPED) : ef_status_exit_code(status);
    }
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int printed = print(call, order);
    ef_order_free(order);
    return printed;
}

static int run(const cli_call *call)
{
    const char *changeovers = cli_value(call, "changeovers");
    if (!changeovers)
        return cli_usage(call->command, "--changeovers FILE is missing");
    ef_diags *diags = ef_diags_new();
    if (!diags)
        return cli_fail(EF_MEMORY, NULL);
    ef_lots *lots = NULL;
    const char *failed = NULL;
    errno = 0;
    const ef_status status = ef_lots_load(call->operands[0], changeovers, diags, &lots, &failed);
    int code = status == EF_OK || status == EF_SCENARIO ? ef_status_exit_code(status)
                                                        : cli_fail(status, failed);
    const int printed = cli_print_findings(diags);
    code = printed != 0 ? printed : code;
    ef_diags_free(diags);
    if (code == 0)
        code = answer(call, lots);
    ef_lots_free(lots);
    return code;
}

static const cli_option options[] = {
    {"changeovers", "FILE",
     "the table of changeovers: names of lots as heading and first column, times such as 90 min, \"-\" where "
     "a lot must "
     "not follow; a row start and a column end are optional"},
    {"changeover-price", "N", "price of an hour of changeover; 1 unless given"},
    {"late-price", "N", "price of an hour late of a lot of priority 1; 1 unless given"},
    {"end-price", "N", "price of each hour until the end of the last lot; 0 unless given"},
    {"clean-early", NULL, "a changeover may begin before the next lot has arrived"},
    {"closed", NULL, "after the last lot comes the first again"},
    {"time", "TIME", "search no longer than this, say \"10 s\"; the clock is looked at between rounds"},
    {"rounds", "N",
     "rounds of search, 200 unless given; the same number gives the same order on every machine"},
    {"seed", "N", "another seed, another search; 1 unless given"},
    {"threads", "N", "threads to use, 1 unless given; the order does not depend on it"},
    CLI_LANG_OPTION,
    {"json", NULL, "everything as JSON, all digits, for other programs"},
    {"csv", "DIR", "write the order as a table, order.csv, into a folder"},
    CLI_COMMA_OPTION,
    {"force", NULL, "let --csv replace what is there"},
    {NULL, NULL, NULL},
};

const cli_command cli_order = {
    .name = "order",
    .operands = "LOTS",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "the order in which to run lots, from a table of lots and a table of changeovers",
    .about = "Finds the order of least value: hours of changeover, hours late times priority, and the end of "
             "the last "
             "lot, each times its price. LOTS is a CSV table with the columns lot and hours, and where "
             "wanted arrival, "
             "due, priority, latest start, latest end and after (names of lots that come before, with + "
             "between them); "
             "times count from the beginning of the plan. Prints the order with its times, its value, a "
             "bound that no "
             "order goes below, and the gap between them. When interrupted it prints the best order so far.",
    .options = options,
    .example = "order scenarios/order/lots.csv --changeovers scenarios/order/changeovers.csv",
    .run = run,
};
