/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed season`: the lots of a scenario in order, and `evenfeed when`: where one more would go. */
#include "base/date.h"
#include "base/tongue.h"
#include "cli/cli.h"
#include "model/scenario.h"

#include <evenfeed/report.h>
#include <evenfeed/season.h>
#include <stdio.h>
#include <string.h>

enum {
    USUAL_SECONDS = 20,
    NO_END = 1000000000 /* rounds: the clock ends the search */
};

/* ---- the search -----------------------------------------------------------------------------------------
 */

static bool go_on(void *context, const ef_season_progress *progress)
{
    cli_search *search = context;
    if (progress->rounds == 0) /* what comes before, planning rates above all, is not counted */
        search->began_s = cli_now_s();
    if (search->shown) {
        fprintf(stderr, "\r\033[K%3.0f s  cost %.0f, bound %.0f", cli_search_lasted_s(search), progress->cost,
                progress->bound);
        if (progress->forbidden > 0)
            fprintf(stderr, ", %d that must not be", progress->forbidden);
        (void)fflush(stderr);
    }
    return cli_search_goes_on(search, progress->steps);
}

static int read_limits(const cli_call *call, ef_season_settings *settings, cli_search *search)
{
    bool is_day;
    search->seconds = cli_value(call, "steps") ? 0.0 : USUAL_SECONDS;
    int code = cli_amount(call, "seconds", 0.0, 1e6, &search->seconds);
    if (code == 0)
        code = cli_number(call, "steps", 0, INT64_MAX, &search->steps);
    if (code == 0)
        code = cli_search_read(call, search);
    if (code == 0)
        code = cli_moment(call, "at", &settings->has_at, &is_day, &settings->at);
    if (code == 0 && cli_value(call, "seconds") && cli_value(call, "steps"))
        code = cli_usage(call->command, "--seconds or --steps, not both");
    if (code == 0 && cli_value(call, "keep-order") && !cli_value(call, "plan"))
        code = cli_usage(call->command, "--keep-order says what --plan costs as it is, so it needs --plan");
    const bool none = (cli_value(call, "seconds") && search->seconds == 0.0) ||
                      (cli_value(call, "steps") && search->steps == 0);
    settings->rounds = none ? 0 : NO_END;
    settings->seed = (uint64_t)search->seed;
    settings->threads = (int)search->threads;
    settings->go_on = go_on;
    settings->context = search;
    return code;
}

static int refuse(ef_status status, char *reason)
{
    if (status == EF_NO_ANSWER) {
        fputs("evenfeed: ", stderr);
        fprintf(stderr, efi_tr("there is no plan: %s"),
                efi_tr(reason ? reason : EFI_TR("no reason is known")));
        fputs("\n", stderr);
    }
    ef_report_free(reason);
    return status == EF_NO_ANSWER ? ef_status_exit_code(status) : cli_fail(status, NULL);
}

/* ---- season ---------------------------------------------------------------------------------------------
 */

/* The tables of a season, then the plan. */
static int count_tables(void)
{
    int count = 0;
    while (ef_report_season_table(count))
        count++;
    return count;
}

static const char *table_name(int index)
{
    const int tables = count_tables();
    return index < tables ? ef_report_season_table(index) : index == tables ? "plan.csv" : NULL;
}

static ef_status make_table(const void *season, int index, char **text)
{
    return index < count_tables() ? ef_report_season_csv(season, index, text)
                                  : ef_report_season_plan(season, text);
}

static int write_ics(const cli_call *call, const ef_season *season, ef_units units)
{
    char *text;
    const ef_status status = ef_report_season_ics(season, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_write_file(cli_value(call, "ics"), text, cli_value(call, "force") != NULL);
    ef_report_free(text);
    return code;
}

static int write_plan(const cli_call *call, const ef_season *season)
{
    char *text = NULL;
    const ef_status status = cli_table(call, ef_report_season_plan(season, &text), &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_write_file(cli_value(call, "write-plan"), text, cli_value(call, "force") != NULL);
    ef_report_free(text);
    return code;
}

static int print(const cli_call *call, const ef_season *season, ef_units units)
{
    char *text;
    const ef_status status = cli_value(call, "json") ? ef_report_season_json(season, &text)
                                                     : ef_report_season_text(season, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    int code = cli_print(text, 0);
    ef_report_free(text);
    if (code == 0 && cli_value(call, "write-plan"))
        code = write_plan(call, season);
    if (code == 0 && cli_value(call, "csv"))
        code = cli_write_tables(call, table_name, make_table, season);
    if (code == 0 && cli_value(call, "ics"))
        code = write_ics(call, season, units);
    return code;
}

static int verify(const ef_scenario *scenario, const ef_season *season)
{
    char *differences = NULL;
    const ef_status status = ef_season_verify(scenario, season, &differences);
    if (status == EF_OK)
        fputs("evenfeed: verified: times, rules, stores and cost recomputed from the scenario and the order "
              "alone, all numbers agree\n",
              stderr);
    return cli_verified(status, differences);
}

static int plan_and_print(const cli_call *call, const ef_scenario *scenario,
                          const ef_season_settings *settings, ef_units units, const ef_picture *picture)
{
    ef_season *season;
    char *reason = NULL;
    const ef_status status = ef_season_run_plan(scenario, settings, &season, &reason);
    cli_search_clear(settings->context);
    if (status != EF_OK)
        return refuse(status, reason);
    season->stopped = cli_interrupted(); /* and not when its time was over */
    const ef_picture_source source = {.season = season};
    int code = cli_draw(call, picture, &source, units, NULL);
    if (code == 0)
        code = print(call, season, units);
    if (code == 0 && cli_value(call, "verify"))
        code = verify(scenario, season);
    ef_season_free(season);
    return code == 0 && cli_interrupted() ? ef_status_exit_code(EF_STOPPED) : code;
}

static int answer_season(const cli_call *call, const ef_scenario *scenario)
{
    cli_search search = cli_search_begin();
    ef_season_settings settings = ef_season_defaults();
    ef_season_plan *plan = NULL;
    const ef_picture *picture = NULL;
    ef_units units;
    int code = cli_units(call, scenario, &units);
    if (code == 0)
        code = read_limits(call, &settings, &search);
    if (code == 0)
        code = cli_picture(call, EF_PICTURE_OF_SEASON, &picture);
    if (code == 0)
        code = cli_check_comma(call, cli_value(call, "csv") || cli_value(call, "write-plan"));
    if (code == 0)
        code = cli_read_plan(call, scenario, &plan);
    if (code != 0)
        return code;
    settings.plan = plan;
    settings.keep_order = cli_value(call, "keep-order") != NULL;
    code = plan_and_print(call, scenario, &settings, units, picture);
    ef_season_plan_free(plan);
    return code;
}

static int run_season(const cli_call *call)
{
    return cli_with_scenario(call, answer_season);
}

/* clang-format off */
#define SEARCH_OPTIONS                                                                                       \
    {"seconds", "S", "search so many seconds, 20 when not given; 0 gives the first plan"},                   \
    {"steps", "N", "search so many steps instead, after which the round is ended: the same number and "      \
                   "seed give the same plan on every machine"},                                              \
    {"seed", "N", "another seed, another search and other chances; 1 when not given"},                       \
    {"threads", "N", "how many processors to use; with --steps the plan does not depend on it"}
/* clang-format on */

static const cli_option season_options[] = {
    {"plan", "PREV",
     "take up an earlier plan, or one made by hand: a table with the columns lot and line, in order; each "
     "lot "
     "that is moved against it has its price"},
    {"at", "DATE",
     "plan from this day or moment on: what the plan has ended by then is done, what it has begun is "
     "running"},
    {"keep-order", NULL,
     "say what the order of --plan costs as it is, and beside it the best that was found"},
    SEARCH_OPTIONS,
    {"units", "metric|us", "units of the printed text; else those of the scenario. JSON and CSV are in t, h"},
    CLI_LANG_OPTION,
    {"json", NULL, "everything as JSON, all digits, for other programs"},
    {"csv", "DIR", "write everything as tables into a new folder, the plan that --plan reads among them"},
    {"write-plan", "FILE", "write the plan that --plan reads"},
    CLI_COMMA_OPTION,
    {"ics", "FILE", "write the plan as a calendar file (RFC 5545)"},
    {"svg", "FILE", "draw the season by lines and days"},
    {"picture", "NAME", "what --svg draws: season, or stores by days"},
    {"force", NULL, "let --csv, --write-plan, --ics and --svg replace what is there"},
    {"verify", NULL, "recompute the plan from the scenario and the order alone, and say whether all agrees"},
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_season = {
    .name = "season",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "which lot runs when, on which line, from and into which store, and what is in trouble",
    .about = "Plans the lots of a scenario: an order for each line in which days late, clean-downs, flushed "
             "seed, overtime and lots without room cost least. Prints the plan as a work order, trouble "
             "first, with each term of the cost and a bound that no plan goes below. When interrupted it "
             "prints the best plan so far. FILE may be - for standard input.",
    .options = season_options,
    .example = "season scenarios/seasons/cereal-seed.yaml --seconds 5",
    .run = run_season,
};

/* ---- when -----------------------------------------------------------------------------------------------
 */

static int read_tonnes(const cli_call *call, double *amount_t)
{
    if (!cli_value(call, "tonnes"))
        return cli_usage(call->command, "--tonnes N is missing");
    const int code = cli_amount(call, "tonnes", 0.0, 1e6, amount_t);
    if (code == 0 && !(*amount_t > 0.0))
        return cli_usage(call->command, "--tonnes takes more than 0, not \"%s\"", cli_value(call, "tonnes"));
    return code;
}

static int read_question(const cli_call *call, const ef_scenario *scenario, ef_season_question *question)
{
    bool given = false;
    bool is_day = false;
    int code = cli_crop(call, scenario, &question->crop);
    if (code == 0 && question->crop < 0 && scenario->crop_count > 1)
        code = cli_usage(call->command, "--crop NAME is missing");
    if (code == 0)
        code = read_tonnes(call, &question->amount_t);
    question->crop = question->crop < 0 ? 0 : question->crop;
    question->variety = cli_value(call, "variety");
    question->seed_class = cli_value(call, "class");
    question->treatment = cli_value(call, "treatment");
    question->arrives = question->due = EF_SEASON_NONE;
    if (code == 0)
        code = cli_moment(call, "arrives", &given, &is_day, &question->arrives);
    if (code == 0)
        code = cli_moment(call, "due", &given, &is_day, &question->due);
    if (code == 0 && given && is_day)
        question->due += EFI_DAY_S; /* the end of that day */
    return code;
}

static int find_and_print(const cli_call *call, const ef_scenario *scenario,
                          const ef_season_settings *settings, const ef_season_question *question,
                          ef_units units)
{
    ef_season_answer *found;
    char *reason = NULL;
    char *text;
    ef_status status = ef_season_when(scenario, settings, question, &found, &reason);
    cli_search_clear(settings->context);
    if (status != EF_OK)
        return refuse(status, reason);
    found->season->stopped = cli_interrupted();
    status = cli_value(call, "json") ? ef_report_when_json(found, &text)
                                     : ef_report_when_text(found, units, &text);
    const int code = status == EF_OK ? cli_print(text, 0) : cli_fail(status, NULL);
    if (status == EF_OK)
        ef_report_free(text);
    ef_season_answer_free(found);
    return code == 0 && cli_interrupted() ? ef_status_exit_code(EF_STOPPED) : code;
}

static int answer_when(const cli_call *call, const ef_scenario *scenario)
{
    cli_search search = cli_search_begin();
    ef_season_settings settings = ef_season_defaults();
    ef_season_question question = {0};
    ef_season_plan *plan = NULL;
    ef_units units;
    int code = cli_units(call, scenario, &units);
    if (code == 0)
        code = read_question(call, scenario, &question);
    if (code == 0)
        code = read_limits(call, &settings, &search);
    if (code == 0)
        code = cli_read_plan(call, scenario, &plan);
    if (code != 0)
        return code;
    settings.plan = plan;
    settings.keep_order = plan != NULL; /* it is asked of that plan */
    settings.simulated = 0;
    code = find_and_print(call, scenario, &settings, &question, units);
    ef_season_plan_free(plan);
    return code;
}

static int run_when(const cli_call *call)
{
    return cli_with_scenario(call, answer_when);
}

static const cli_option when_options[] = {
    {"crop", "NAME", "the crop of the lot"},
    {"tonnes", "T", "how much of it, as received"},
    {"variety", "NAME", "its variety"},
    {"class", "NAME", "its seed class"},
    {"treatment", "NAME", "what it is treated with"},
    {"arrives", "DATE", "when it is there; from the start unless given"},
    {"due", "DATE", "by when its run must have ended; a day is the end of that day"},
    {"plan", "PREV", "the plan into which it is to go, as it is; else one is searched for"},
    {"at", "DATE", "plan from this day or moment on, as for season"},
    SEARCH_OPTIONS,
    {"units", "metric|us", "units of the printed text; else those of the scenario"},
    CLI_LANG_OPTION,
    {"json", NULL, "the answer as JSON, all digits, for other programs"},
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_when = {
    .name = "when",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "when one more lot could be run, and what that costs the others",
    .about = "Plans the season as `season` does, or takes the plan that is given, and tries a lot that might "
             "come in every place of every line: where it costs least, where it is done first, and what the "
             "other lots lose. FILE may be - for standard input.",
    .options = when_options,
    .example = "when scenarios/seasons/cereal-seed.yaml --crop wheat --tonnes 120 --due 2026-10-10",
    .run = run_when,
};
