/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed bins`: how much live volume keeps the steady feed steady. */
#include "base/quantity.h"
#include "cli/cli.h"

#include <errno.h>
#include <evenfeed/bins.h>
#include <evenfeed/report.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- progress -------------------------------------------------------------------------------------------
 */

typedef struct progress {
    bool shown; /* standard error is a terminal */
    int percent;
    const char *doing;
} progress;

static bool go_on(void *context, const ef_bins_progress *at)
{
    progress *p = context;
    const int percent = (int)(at->share * 100.0);
    if (p->shown && (percent != p->percent || at->doing != p->doing)) {
        fprintf(stderr, "\r\033[K%3d %%  %s: %s", percent, at->crop, at->doing);
        (void)fflush(stderr);
        p->percent = percent;
        p->doing = at->doing;
    }
    return !cli_interrupted();
}

static void clear(const progress *p)
{
    if (p->shown)
        fputs("\r\033[K", stderr);
}

/* ---- options --------------------------------------------------------------------------------------------
 */

static bool parse(const char *text, size_t length, efi_kind kind, double *value)
{
    efi_quantity quantity;
    efi_quantity_error error;
    if (!efi_quantity_parse(text, length, EFI_KIND_SET(kind), &quantity, &error))
        return false;
    *value = quantity.value;
    return true;
}

/* --target: none; a duration; a share of shifts and a duration; a price. */
static int read_target(const cli_call *call, ef_bins_settings *settings)
{
    const char *text = cli_value(call, "target");
    if (!text)
        return 0;
    const char *comma = strchr(text, ',');
    char *end = NULL;
    bool good = false;
    if (strcmp(text, "none") == 0) {
        settings->aim = EF_BINS_NONE_SHORT;
        good = true;
    } else if (strncmp(text, "price=", 6) == 0) {
        settings->aim = EF_BINS_PRICE;
        settings->price = strtod(text + 6, &end);
        good = end != text + 6 && *end == '\0' && settings->price >= 0.0 && settings->price < 1e15;
    } else if (comma) {
        settings->aim = EF_BINS_TAIL;
        good = parse(text, (size_t)(comma - text), EFI_KIND_SHARE, &settings->tail_share) &&
               settings->tail_share > 0.0 && settings->tail_share < 1.0 &&
               parse(comma + 1, strlen(comma + 1), EFI_KIND_DURATION, &settings->aim_h) &&
               settings->aim_h > 0.0;
    } else {
        settings->aim = EF_BINS_MEAN;
        good = parse(text, strlen(text), EFI_KIND_DURATION, &settings->aim_h) && settings->aim_h >= 0.0;
    }
    if (good)
        return 0;
    return cli_usage(
        call->command,
        "--target \"%s\" is none of: none; minutes of full feed short a shift, say \"2 min\"; the worst "
        "shifts and minutes, say \"5 %%,10 min\"; a price for each tonne short a shift, say price=2000",
        text);
}

static int read_rate(const cli_call *call, ef_bins_settings *settings)
{
    const char *text = cli_value(call, "set-rate");
    if (!text || (parse(text, strlen(text), EFI_KIND_SHARE, &settings->rate_share) &&
                  settings->rate_share > 0.0 && settings->rate_share <= 1.0))
        return 0;
    return cli_usage(call->command,
                     "--set-rate takes a share of the rate in the steady balance, say \"95 %%\", not \"%s\"",
                     text);
}

static int read_settings(const cli_call *call, const ef_scenario *scenario, ef_bins_settings *settings)
{
    long long traces = settings->traces;
    long long shifts = settings->shifts;
    long long seed = (long long)settings->seed;
    long long threads = 0;
    int code = cli_crop(call, scenario, &settings->crop);
    if (code == 0)
        code = cli_number(call, "traces", 1, 1000000, &traces);
    if (code == 0)
        code = cli_number(call, "shifts", 1, 100, &shifts);
    if (code == 0)
        code = cli_number(call, "seed", 0, 1000000000000LL, &seed);
    if (code == 0)
        code = cli_number(call, "threads", 1, 256, &threads);
    if (code == 0)
        code = cli_duration(call, "rule", &settings->has_rule, &settings->rule_h);
    if (code == 0)
        code = read_target(call, settings);
    if (code == 0)
        code = read_rate(call, settings);
    settings->traces = (int)traces;
    settings->shifts = (int)shifts;
    settings->seed = (uint64_t)seed;
    settings->threads = (int)threads;
    settings->with_receipts = cli_value(call, "receipts") != NULL;
    settings->write_lp = cli_value(call, "write-lp");
    settings->overwrite = cli_value(call, "force") != NULL;
    if (code == 0 && settings->write_lp && settings->crop < 0 && ef_scenario_crops(scenario) > 1)
        return cli_usage(call->command, "--write-lp writes the program of one crop; say which with --crop");
    return code;
}

/* ---- the answer -----------------------------------------------------------------------------------------
 */

static int exit_code_of(const ef_bins *bins)
{
    if (bins->stopped)
        return 130;
    for (int c = 0; c < bins->crop_count; c++)
        if (bins->crops[c].feasible && !bins->crops[c].trouble)
            return 0;
    return 1;
}

static int print(const cli_call *call, const ef_bins *bins, ef_units units)
{
    char *text;
    const ef_status status = cli_value(call, "json") ? ef_report_bins_json(bins, &text)
                                                     : ef_report_bins_text(bins, units, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_print(text, exit_code_of(bins));
    ef_report_free(text);
    return code;
}

/* Is any steady feed sized by the program of the whole network? */
static bool any_network(const ef_bins *bins)
{
    for (int c = 0; c < bins->crop_count; c++)
        for (int f = 0; f < bins->crops[c].feed_count; f++)
            if (bins->crops[c].feeds[f].form == EF_BINS_TRACE_PROGRAMS)
                return true;
    return false;
}

static int verify(const ef_scenario *scenario, const ef_bins *bins)
{
    char *differences = NULL;
    const ef_status status = ef_bins_verify(scenario, bins, &differences);
    if (status == EF_OK && any_network(bins))
        fputs(
            "evenfeed: verified: flows, rule and volumes agree; the shortfall of a network that is no series "
            "line is not recomputed\n",
            stderr);
    else if (status == EF_OK)
        fputs("evenfeed: verified: flows, rule, volumes and their shortfall on every trace agree\n", stderr);
    return cli_verified(status, differences);
}

static int answer(const cli_call *call, const ef_scenario *scenario)
{
    ef_bins_settings settings = ef_bins_defaults();
    ef_units units;
    int code = read_settings(call, scenario, &settings);
    if (code == 0)
        code = cli_units(call, scenario, &units);
    const ef_picture *picture = NULL;
    if (code == 0)
        code = cli_picture(call, EF_PICTURE_OF_BINS, &picture);
    if (code != 0)
        return code;
    progress p = {.shown = isatty(STDERR_FILENO) == 1, .percent = -1};
    settings.go_on = go_on;
    settings.context = &p;
    ef_bins *bins;
    errno = 0;
    const ef_status status = ef_bins_run(scenario, &settings, &bins);
    clear(&p);
    if (status != EF_OK)
        return cli_fail(status, status == EF_FILE ? settings.write_lp : NULL);
    const ef_picture_source source = {.bins = bins};
    code = cli_draw(call, picture, &source, units, cli_value(call, "of"));
    if (code == 0)
        code = print(call, bins, units);
    if (cli_value(call, "verify") && (code == 0 || code == 1)) {
        const int verified = verify(scenario, bins);
        code = verified != 0 ? verified : code;
    }
    ef_bins_free(bins);
    return code;
}

static int run(const cli_call *call)
{
    cli_catch_signals();
    return cli_with_scenario(call, answer);
}

static const cli_option options[] = {
    {"crop", "NAME", "size for this crop alone; else for all, each bin as the crop that needs most asks"},
    {"target", "TARGET",
     "how steady: none (nothing short that volume can prevent); \"1 min\" (of full feed short a shift in the "
     "mean, "
     "which is the target when none is given); \"5 %,10 min\" (the worst 5 % of shifts in the mean); "
     "price=2000 (for "
     "each tonne short a shift, in the unit of the bins' costs, m3 where they have none)"},
    {"rule", "TIME", "the rule to compare with; else that of the scenario, 15 min"},
    {"set-rate", "SHARE",
     "set steady-feed stations to this share of their feed in the steady balance; else to what the line "
     "holds"},
    {"receipts", NULL,
     "let loads be late, as the scenario says; without this material is always there, and bins are for stops "
     "alone"},
    {"traces", "N", "how many traces to size on, and as many to try on; 200 when not given"},
    {"shifts", "N", "shifts in a row in each trace; 5 when not given, 1 for the worst shifts"},
    {"seed", "N", "another seed gives other chances; 1 when not given"},
    {"threads", "N", "how many processors to use; the answer does not depend on it"},
    {"units", "metric|us", "units of the printed text; else those of the scenario"},
    CLI_LANG_OPTION,
    {"json", NULL, "everything as JSON, all digits, for other programs"},
    {"write-lp", "FILE",
     "write the plain linear program of all traces, as CPLEX LP text (.lp) or as MPS; it is large: take few "
     "traces"},
    {"verify", NULL,
     "recompute the answer independently and say whether it agrees; exit code 5 when it does not"},
    {"svg", "FILE", "draw volume against minutes short, or what --picture names"},
    {"picture", "NAME",
     "what --svg draws: curve (volume against minutes short) or elevation (a bin of steel)"},
    {"of", "NAME", "which of several pictures to draw: a bin, or \"Separator on wheat\""},
    {"force", NULL, "let --write-lp and --svg replace existing files"},
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_bins = {
    .name = "bins",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary =
        "how much live volume keeps the steady feed steady, in which bins, and how the usual rule compares",
    .about = "Finds the live volumes of least cost that keep each steady-feed station at its set rate while "
             "what is "
             "before and behind it stops, on traces of stops drawn from the scenario, and says for each bin "
             "which stop "
             "or coincidence of stops sets it. Present volumes, those by the rule and those recommended are "
             "tried on "
             "fresh traces in the event engine. FILE may be - for standard input.",
    .options = options,
    .example = "bins scenarios/cereal-seed.yaml --crop wheat",
    .run = run,
};
