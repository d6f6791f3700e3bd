/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed shift`: tonnes a shift, where the hours go, what a tonne costs, what to mend first. */
#include "base/date.h"
#include "cli/shift.h"
#include "model/scenario.h"

#include <evenfeed/report.h>
#include <evenfeed/shift.h>
#include <stdio.h>

static ef_status make_table(const void *shift, int index, char **text)
{
    return ef_report_shift_csv(shift, index, text);
}

static int print(const cli_call *call, const ef_shift *shift, ef_units units)
{
    char *text;
    const ef_status status = cli_value(call, "json") ? ef_report_shift_json(shift, &text)
                                                     : ef_report_shift_text(shift, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_print(text, 0);
    ef_report_free(text);
    return code == 0 && cli_value(call, "csv")
               ? cli_write_tables(call, ef_report_shift_table, make_table, shift)
               : code;
}

static int print_comparison(const cli_call *call, const ef_shift_comparison *comparison, ef_units units)
{
    char *text;
    const ef_status status = cli_value(call, "json")
                                 ? ef_report_shift_comparison_json(comparison, &text)
                                 : ef_report_shift_comparison_text(comparison, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_print(text, 0);
    ef_report_free(text);
    return code;
}

static int say_verified(ef_status status, char *differences)
{
    if (status == EF_OK)
        fputs("evenfeed: verified: recomputed from the scenario and the tonnes of every shift without the "
              "engine, all "
              "numbers agree\n",
              stderr);
    return cli_verified(status, differences);
}

static int verify(const ef_scenario *scenario, const ef_shift *shift)
{
    char *differences = NULL;
    const ef_status status = ef_shift_verify(scenario, shift, &differences);
    return say_verified(status, differences);
}

/* ---- settings -------------------------------------------------------------------------------------------
 */

static int read_calendar(const cli_call *call, ef_shift_settings *settings)
{
    bool is_day = true;
    int64_t moment_s = 0;
    long long days = 0;
    int code = cli_moment(call, "from", &settings->has_from, &is_day, &moment_s);
    if (code == 0 && !is_day)
        return cli_usage(call->command, "--from takes a day, such as 2026-11-25");
    if (code == 0)
        code = cli_number(call, "days", 1, 366, &days);
    settings->from_day = settings->has_from ? efi_moment_day(moment_s) : 0;
    settings->days = (int)days;
    return code;
}

static int read_settings(const cli_call *call, const ef_scenario *scenario, ef_shift_settings *settings)
{
    long long runs = settings->runs;
    long long shifts = settings->shifts;
    long long seed = (long long)settings->seed;
    long long threads = 0;
    int code = cli_crop(call, scenario, &settings->crop);
    if (code == 0)
        code = read_calendar(call, settings);
    if (code == 0)
        code = cli_number(call, "runs", 2, 1000000, &runs);
    if (code == 0)
        code = cli_number(call, "shifts", 1, 20000000, &shifts);
    if (code == 0 && runs > 0 && shifts > 0)
        code = cli_usage(call->command,
                         "--runs and --shifts both say how much to simulate: give one of them");
    if (code == 0)
        code = cli_share(call, "precision", &settings->precision);
    if (code == 0)
        code = cli_number(call, "seed", 0, 1000000000000LL, &seed);
    if (code == 0)
        code = cli_number(call, "threads", 1, 256, &threads);
    settings->crop = settings->crop < 0 ? 0 : settings->crop;
    settings->runs = (int)runs;
    settings->shifts = (int)shifts;
    settings->seed = (uint64_t)seed;
    settings->threads = (int)threads;
    settings->remedies = cli_value(call, "no-remedies") == NULL;
    settings->without_calendar = cli_value(call, "without-calendar") != NULL;
    return code;
}

/* Settings that cannot be; the reason (NULL: out of range) is freed. */
static int refuse(const cli_call *call, const ef_scenario *scenario, const ef_shift_settings *settings,
                  char *reason)
{
    const bool asked = settings->has_from || settings->days > 0;
    if (asked && (settings->without_calendar || !scenario->calendar->is_given))
        return cli_usage(call->command, "--from and --days go with a calendar, which %s",
                         settings->without_calendar ? "--without-calendar leaves out"
                                                    : "the scenario does not give");
    const int code = cli_usage(call->command, "%s", reason ? reason : "a setting is out of range");
    ef_report_free(reason);
    return code;
}

/* ---- the command ----------------------------------------------------------------------------------------
 */

/* Against another scenario. */
static int compare(const cli_call *call, const ef_scenario *here, const ef_scenario *there,
                   const ef_shift_settings *settings, ef_units units)
{
    ef_shift_comparison *comparison;
    char *reason = NULL;
    char *differences = NULL;
    if (ef_scenario_find_crop(there, ef_scenario_crop(here, settings->crop)) < 0)
        return cli_usage(call->command, "%s has no crop \"%s\"", cli_value(call, "against"),
                         ef_scenario_crop(here, settings->crop));
    if (!settings->without_calendar && here->calendar->is_given != there->calendar->is_given)
        return cli_usage(call->command,
                         "only one of the two scenarios has a calendar; --without-calendar leaves it "
                         "out");
    const ef_status status = ef_shift_compare(here, there, settings, &comparison, &reason);
    if (status == EF_USAGE)
        return refuse(call, here, settings, reason);
    if (status != EF_OK)
        return cli_cannot_run(status, reason);
    int code = print_comparison(call, comparison, units);
    if (code == 0 && cli_value(call, "verify")) {
        const ef_status verified = ef_shift_comparison_verify(here, there, comparison, &differences);
        code = say_verified(verified, differences);
    }
    ef_shift_comparison_free(comparison);
    return code;
}

static int load_and_compare(const cli_call *call, const ef_scenario *here, ef_shift_settings *settings,
                            ef_units units)
{
    ef_scenario *there;
    if (cli_value(call, "csv"))
        return cli_usage(call->command, "--csv writes the tables of one plant, so it goes without --against");
    if (cli_value(call, "svg"))
        return cli_usage(call->command, "--svg draws one plant, so it goes without --against");
    int code = cli_load_other(cli_value(call, "against"), &there);
    if (code != 0)
        return code;
    settings->remedies = false;
    code = compare(call, here, there, settings, units);
    ef_scenario_free(there);
    return code;
}

static int answer(const cli_call *call, const ef_scenario *scenario)
{
    if (cli_value(call, "lots"))
        return cli_shift_lots(call, scenario);
    if (cli_value(call, "plan"))
        return cli_usage(call->command, "--plan is the order of a list of lots, so it goes with --lots");
    ef_shift_settings settings = ef_shift_defaults();
    ef_units units;
    int code = cli_units(call, scenario, &units);
    if (code == 0)
        code = read_settings(call, scenario, &settings);
    if (code == 0)
        code = cli_check_comma(call, cli_value(call, "csv") != NULL);
    const ef_picture *picture = NULL;
    if (code == 0)
        code = cli_picture(call, EF_PICTURE_OF_SHIFT, &picture);
    if (code != 0)
        return code;
    if (cli_value(call, "against"))
        return load_and_compare(call, scenario, &settings, units);
    ef_shift *shift;
    char *reason = NULL;
    const ef_status status = ef_shift_run(scenario, &settings, &shift, &reason);
    if (status == EF_USAGE)
        return refuse(call, scenario, &settings, reason);
    if (status != EF_OK)
        return cli_cannot_run(status, reason);
    const ef_picture_source source = {.shift = shift};
    code = cli_draw(call, picture, &source, units, NULL);
    if (code == 0)
        code = print(call, shift, units);
    if (code == 0 && cli_value(call, "verify"))
        code = verify(scenario, shift);
    ef_shift_free(shift);
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
    {"from", "DATE", "with a calendar: the first day; else the calendar's start"},
    {"days", "N", "with a calendar: how many days a run has; 7 when not given"},
    {"without-calendar", NULL,
     "shifts one after the other, without the calendar's breaks, closed times and maintenance"},
    {"shifts", "N",
     "how many shifts to simulate, made up to whole runs; 2000 when not given, without a calendar"},
    {"runs", "N",
     "in place of that: how many runs, independent of each other, of 50 shifts or a stretch of the calendar; "
     "200 stretches when not given"},
    {"precision", "SHARE",
     "stop as soon as the 95 % limits of mean and middle product are within this of them, say 1%; at "
     "--shifts "
     "or --runs at the latest"},
    {"seed", "N", "another seed gives other chances; 1 when not given"},
    {"threads", "N", "how many processors to use; the answer does not depend on it"},
    {"against", "OTHER",
     "compare with another scenario, or with the same one as its file says while --set changes this one, on "
     "the same "
     "random numbers"},
    {"no-remedies", NULL, "leave out what to mend first, which takes all runs again for each stop and bin"},
    {"units", "metric|us", "units of the printed text; else those of the scenario. JSON and CSV are in t, h"},
    CLI_LANG_OPTION,
    {"json", NULL, "everything but single shifts as JSON, all digits, for other programs"},
    {"csv", "DIR", "write everything as tables into a folder, every simulated shift among them"},
    CLI_COMMA_OPTION,
    {"svg", "FILE", "draw the tonnes of a shift, or what --picture names"},
    {"picture", "NAME",
     "what --svg draws: tonnes, hours (where they go) or envelope (how the bins fill and empty)"},
    {"force", NULL, "let --csv and --svg replace files that are there already"},
    {"verify", NULL, "recompute the answer without the engine, and say whether all agrees"},
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_shift = {
    .name = "shift",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "tonnes a shift makes, a poor, a middling and a good one; where the hours go; what a tonne "
               "costs; what "
               "to mend first",
    .about =
        "Simulates many shifts of one crop with the stops of the scenario, or its own weeks where it has a "
        "calendar, and tells how many tonnes a poor, a middling and a good shift makes, with confidence "
        "limits, "
        "where the hours go, what a tonne costs, how the bins fill and empty, and what a shift would gain if "
        "each "
        "kind of stop were half as long or each bin half as large again. With --lots it runs the lots of the "
        "scenario "
        "one after the other instead, and tells how long the list takes, what a shift makes of it and what "
        "each lot "
        "does. FILE may be - for standard input.",
    .options = options,
    .example = "shift scenarios/cereal-seed.yaml --crop wheat",
    .run = run,
};
