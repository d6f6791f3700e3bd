/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed balance`: the rate the line holds, crop by crop. */
#include "cli/cli.h"

#include <errno.h>
#include <evenfeed/balance.h>
#include <evenfeed/report.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    USUAL_RUNGS = 5 /* of a ladder that is drawn */
};

static int verify(const ef_scenario *scenario, const ef_balance *balance)
{
    char *differences = NULL;
    const ef_status status = ef_balance_verify(scenario, balance, &differences);
    if (status == EF_OK)
        fputs("evenfeed: verified: recomputed from the scenario without the solver, all numbers agree\n",
              stderr);
    return cli_verified(status, differences);
}

static int print(const cli_call *call, const ef_balance *balance, ef_units units, int exit_code)
{
    char *text;
    const ef_status status = cli_value(call, "json") ? ef_report_balance_json(balance, &text)
                                                     : ef_report_balance_text(balance, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_print(text, exit_code);
    ef_report_free(text);
    return code;
}

static int read_aim(const cli_call *call, ef_balance_aim *aim)
{
    const char *word = cli_value(call, "objective");
    for (int i = EF_BALANCE_RATE; word && i <= EF_BALANCE_VALUE; i++) {
        if (strcmp(word, ef_balance_aim_word((ef_balance_aim)i)) == 0) {
            *aim = (ef_balance_aim)i;
            return 0;
        }
    }
    return word ? cli_usage(call->command, "--objective is rate or value, not \"%s\"", word) : 0;
}

static int answer(const cli_call *call, const ef_scenario *scenario)
{
    ef_balance_settings settings = ef_balance_defaults();
    long long rungs = 0;
    ef_units units;
    int code = cli_crop(call, scenario, &settings.crop);
    if (code == 0)
        code = cli_units(call, scenario, &units);
    if (code == 0)
        code = cli_duration(call, "rule", &settings.has_surge_rule, &settings.surge_rule_h);
    if (code != 0)
        return code;
    code = read_aim(call, &settings.aim);
    if (code == 0)
        code = cli_number(call, "ladder", 1, 100, &rungs);
    if (code != 0)
        return code;
    settings.ladder = (int)rungs;
    settings.write_lp = cli_value(call, "write-lp");
    settings.overwrite = cli_value(call, "force") != NULL;
    const char *file = settings.write_lp ? "--write-lp writes the program" : "--svg draws a picture";
    if ((settings.write_lp || cli_value(call, "svg")) && settings.crop < 0 && ef_scenario_crops(scenario) > 1)
        return cli_usage(call->command, "%s of one crop; say which with --crop", file);
    const ef_picture *picture;
    code = cli_picture(call, EF_PICTURE_OF_BALANCE, &picture);
    if (code != 0)
        return code;
    if (picture && settings.ladder == 0 && strcmp(picture->name, "ladder") == 0)
        settings.ladder = USUAL_RUNGS;
    ef_balance *balance;
    errno = 0;
    const ef_status status = ef_balance_solve(scenario, &settings, &balance);
    if (status != EF_OK && status != EF_NO_ANSWER)
        return cli_fail(status, status == EF_FILE ? settings.write_lp : NULL);
    const ef_picture_source source = {.balance = balance};
    code = cli_draw(call, status == EF_OK ? picture : NULL, &source, units, NULL);
    if (code == 0)
        code = print(call, balance, units, ef_status_exit_code(status));
    if (cli_value(call, "verify") && (code == 0 || code == 1)) {
        const int verified = verify(scenario, balance);
        code = verified != 0 ? verified : code;
    }
    ef_balance_free(balance);
    return code;
}

static int run(const cli_call *call)
{
    return cli_with_scenario(call, answer);
}

static const cli_option options[] = {
    {"crop", "NAME", "only this crop; else all of them"},
    {"units", "metric|us",
     "units of the printed text; else those of the scenario. JSON is always in t, h, m3"},
    CLI_LANG_OPTION,
    {"rule", "TIME", "compare bins with a rule of this much feed, say \"20 min\"; else with the scenario's"},
    {"ladder", "N",
     "up to N rungs: which station limits next, at what rate, and how much to buy to get there"},
    {"objective", "rate|value",
     "what to make as large as possible: the rate of intake (the default), or the value of what leaves, less "
     "receipt and "
     "energy"},
    {"json", NULL, "everything as JSON, all digits, for other programs"},
    {"write-lp", "FILE", "write the linear program too: MPS when FILE ends in .mps, else CPLEX LP text"},
    {"svg", "FILE",
     "draw one crop: its line as a flow diagram, strokes as wide as their t/h, or what --picture names"},
    {"picture", "NAME", "what --svg draws: flow, or ladder (five rungs when --ladder says nothing)"},
    {"force", NULL, "let --write-lp and --svg replace existing files"},
    {"verify", NULL,
     "recompute every flow, limit and balance without the solver, and say whether all agrees"},
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_balance = {
    .name = "balance",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "the rate the line holds for each crop, what limits it, what every station and outlet gets",
    .about = "Finds, for each crop, the greatest intake rate at which no station gets more than its "
             "capacity, returns "
             "included. Tells which station limits and what one more unit of capacity there is worth, the "
             "load of every "
             "station, the composition of every outlet, tonnes per shift before stops, and the surge rule "
             "for each bin "
             "above a steady-feed station. FILE may be - for standard input.",
    .options = options,
    .example = "balance scenarios/cereal-seed.yaml --crop wheat",
    .run = run,
};
