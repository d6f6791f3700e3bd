/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed learn`: what a plant's logs say about its stops, rates and shares. */
#include "base/clock_change.h"
#include "base/file.h"
#include "cli/cli.h"

#include <errno.h>
#include <evenfeed/learn.h>
#include <evenfeed/report.h>
#include <stdio.h>
#include <string.h>

/* A date or a moment of the plant's own clock. */
static int read_moment(const cli_call *call, const char *option, bool *given, int64_t *moment_s)
{
    const char *text = cli_value(call, option);
    int64_t day;
    *given = text != NULL;
    if (!text)
        return 0;
    if (efi_date_parse(text, strlen(text), &day, NULL)) {
        *moment_s = day * EFI_DAY_S;
        return 0;
    }
    efi_date_error error;
    if (efi_moment_parse(text, strlen(text), moment_s, &error))
        return 0;
    return cli_usage(call->command, "--%s: \"%s\" %s; write 2026-11-25 or 2026-11-25T06:30", option, text,
                     efi_date_fault_words(error.fault));
}

static int read_clock_rule(const cli_call *call, int *rule)
{
    static const char *const words[] = {
#define WORD(name, word, meaning) [name] = word,
        EFI_CLOCK_RULE_LIST(WORD)
#undef WORD
    };
    const char *word = cli_value(call, "clock-change");
    if (!word)
        return 0;
    for (int i = 0; i < (int)(sizeof words / sizeof words[0]); i++) {
        if (strcmp(word, words[i]) == 0) {
            *rule = i;
            return 0;
        }
    }
    return cli_usage(call->command, "--clock-change is none, eu or us, not \"%s\"", word);
}

static int read_settings(const cli_call *call, const ef_scenario *scenario, ef_learn_settings *settings)
{
    long long seed = (long long)settings->seed;
    long long resamples = settings->resamples;
    int code = cli_crop(call, scenario, &settings->crop);
    if (code == 0)
        code = read_moment(call, "since", &settings->has_since, &settings->since_s);
    if (code == 0)
        code = read_moment(call, "until", &settings->has_until, &settings->until_s);
    if (code == 0)
        code = read_clock_rule(call, &settings->clock_rule);
    if (code == 0)
        code = cli_number(call, "seed", 0, 1000000000000LL, &seed);
    if (code == 0)
        code = cli_number(call, "resamples", 0, 100000, &resamples);
    settings->crop = settings->crop < 0 ? 0 : settings->crop;
    settings->stops.name = cli_value(call, "stops");
    settings->totals.name = cli_value(call, "totals");
    settings->seed = (uint64_t)seed;
    settings->resamples = (int)resamples;
    if (code == 0 && !settings->stops.name && !settings->totals.name)
        code = cli_usage(call->command, "--stops CSV, --totals CSV or both are missing");
    return code;
}

static int verify(const ef_scenario *scenario, const ef_learn *learn)
{
    char *differences = NULL;
    const ef_status status = ef_learn_verify(scenario, learn, &differences);
    if (status == EF_OK)
        fputs("evenfeed: verified: recomputed from the rows of the logs, all numbers agree\n", stderr);
    return cli_verified(status, differences);
}

static int print(const cli_call *call, const ef_learn *learn, ef_units units)
{
    char *text;
    const ef_status status = cli_value(call, "json") ? ef_report_learn_json(learn, &text)
                                                     : ef_report_learn_text(learn, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_print(text, 0);
    ef_report_free(text);
    return code;
}

static int write_settings(const cli_call *call, const ef_learn *learn)
{
    const char *path = cli_value(call, "write");
    char *text;
    if (!path)
        return 0;
    const ef_status status = ef_report_learn_settings(learn, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    errno = 0;
    const ef_status put = efi_file_put(path, text, strlen(text), false);
    ef_report_free(text);
    if (put == EF_FILE && errno == EEXIST) {
        fprintf(stderr,
                "evenfeed: %s: there is a file of that name, which is never replaced; give another name\n",
                path);
        return ef_status_exit_code(EF_FILE);
    }
    return put == EF_OK ? 0 : cli_fail(put, path);
}

static int show(const cli_call *call, const ef_scenario *scenario, const ef_learn *learn, ef_units units)
{
    int code = 0;
    if (cli_value(call, "verify"))
        code = verify(scenario, learn);
    if (code == 0)
        code = write_settings(call, learn);
    const int printed = print(call, learn, units);
    return printed != 0 ? printed : code;
}

static int answer(const cli_call *call, const ef_scenario *scenario)
{
    ef_learn_settings settings = ef_learn_defaults();
    ef_units units;
    int code = read_settings(call, scenario, &settings);
    if (code == 0)
        code = cli_units(call, scenario, &units);
    if (code != 0)
        return code;
    ef_diags *diags = ef_diags_new();
    if (!diags)
        return cli_fail(EF_MEMORY, NULL);
    ef_learn *learn = NULL;
    const char *failed = NULL;
    errno = 0;
    const ef_status status = ef_learn_solve(scenario, &settings, diags, &learn, &failed);
    if (status == EF_USAGE)
        code = cli_usage(call->command, "no time, or more than a hundred years, lies between the first and "
                                        "the last moment to be watched");
    else if (status != EF_OK && status != EF_SCENARIO)
        code = cli_fail(status, failed);
    else
        code = cli_print_findings(diags);
    ef_diags_free(diags);
    if (code == 0 && status == EF_OK)
        code = show(call, scenario, learn, units);
    ef_learn_free(learn);
    return code != 0 ? code : ef_status_exit_code(status);
}

static int run(const cli_call *call)
{
    return cli_with_scenario(call, answer);
}

static const cli_option options[] = {
    {"stops", "CSV",
     "the log of stops: a table with the columns station, from, to and, where wanted, reason"},
    {"totals", "CSV",
     "the log of scale totals: a table with the columns from, to, station (or outlet) and tonnes"},
    {"crop", "NAME",
     "the crop of the totals, for its ways and its trade weight; else the first of the scenario"},
    {"since", "TIME", "watch from this date or moment on, say 2026-09-01; else from the first row"},
    {"until", "TIME", "watch until then; else until the last row"},
    {"clock-change", "none|eu|us",
     "nights on which the plant's clock is put forward or back; without it such nights are only named"},
    {"seed", "N", "seed of the draws for tests of fit and limits of shares; 1 when not given"},
    {"resamples", "N", "how many draws those take; 400 when not given"},
    {"write", "FILE",
     "write what was learned as settings for --set @FILE; an existing file is never replaced"},
    {"json", NULL, "everything as JSON, for other programs"},
    {"verify", NULL, "recompute from the rows of the logs, and say whether all agrees"},
    {"units", "metric|us", "units of the printed text; else those of the scenario"},
    CLI_LANG_OPTION,
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_learn = {
    .name = "learn",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "what a plant's logs say about stops, rates and shares, and where the scenario says otherwise",
    .about =
        "Reads a log of stops, a log of scale totals or both, and tells for each station and reason how "
        "often and "
        "how long it stops, with confidence limits and the form that fits best; real rates and shares; where "
        "scenario and log disagree; and where the log is too short to say. Rows that cannot be used as they "
        "stand "
        "are named with their place and counted. FILE may be - for standard input.",
    .options = options,
    .example = "learn scenarios/cereal-seed.yaml --stops scenarios/logs/cereal-stops.csv",
    .run = run,
};
