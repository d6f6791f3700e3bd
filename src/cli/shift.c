/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed shift`: tonnes a shift, where the hours go, what to mend first. */
#include "cli/cli.h"

#include <evenfeed/report.h>
#include <evenfeed/shift.h>
#include <stdio.h>

static int print(const ef_shift *shift, ef_units units)
{
    char *text;
    const ef_status status = ef_report_shift_text(shift, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_print(text, 0);
    ef_report_free(text);
    return code;
}

static int answer(const cli_call *call, const ef_scenario *scenario)
{
    ef_shift_settings settings = ef_shift_defaults();
    ef_units units;
    long long runs = settings.runs;
    long long seed = (long long)settings.seed;
    long long threads = 0;
    int code = cli_crop(call, scenario, &settings.crop);
    if (code == 0)
        code = cli_units(call, scenario, &units);
    if (code == 0)
        code = cli_number(call, "runs", 2, 1000000, &runs);
    if (code == 0)
        code = cli_number(call, "seed", 0, 1000000000000LL, &seed);
    if (code == 0)
        code = cli_number(call, "threads", 1, 256, &threads);
    if (code != 0)
        return code;
    settings.crop = settings.crop < 0 ? 0 : settings.crop;
    settings.runs = (int)runs;
    settings.seed = (uint64_t)seed;
    settings.threads = (int)threads;
    settings.remedies = cli_value(call, "no-remedies") == NULL;
    ef_shift *shift;
    char *reason = NULL;
    const ef_status status = ef_shift_run(scenario, &settings, &shift, &reason);
    if (status == EF_NO_ANSWER)
        fprintf(stderr, "evenfeed: the line cannot run as described: %s\n",
                reason ? reason : "its demands contradict each other, see evenfeed balance");
    ef_report_free(reason);
    if (status != EF_OK)
        return status == EF_NO_ANSWER ? ef_status_exit_code(status) : cli_fail(status, NULL);
    code = print(shift, units);
    ef_shift_free(shift);
    return code;
}

static int run(const cli_call *call)
{
    ef_scenario *scenario;
    int code = cli_load(call, &scenario);
    if (code != 0)
        return code;
    code = answer(call, scenario);
    ef_scenario_free(scenario);
    return code;
}

static const cli_option options[] = {
    {"crop", "NAME", "the crop to run; else the first of the scenario"},
    {"runs", "N", "how many shifts to simulate; 2000 when not given"},
    {"seed", "N", "another seed gives other chances; 1 when not given"},
    {"threads", "N", "how many processors to use; the answer does not depend on it"},
    {"no-remedies", NULL, "leave out what to mend first, which takes a run for each stop and bin"},
    {"units", "metric|us", "units of the printed text; else those of the scenario"},
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_shift = {
    .name = "shift",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary =
        "tonnes a shift makes, a poor, a middling and a good one; where the hours go; what to mend first",
    .about = "Simulates many shifts of one crop with the stops of the scenario and tells how many tonnes a "
             "poor, a middling "
             "and a good shift makes, with confidence limits, where the hours go, and what a shift would "
             "gain if each kind "
             "of stop were half as long or each bin half as large again. FILE may be - for standard input.",
    .options = options,
    .example = "shift scenarios/cereal-seed.yaml --crop wheat",
    .run = run,
};
