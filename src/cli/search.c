/* SPDX-License-Identifier: GPL-3.0-or-later
 * What commands that search have in common: how long, with which seed, on how many threads, until when. */
#include "base/quantity.h"
#include "cli/cli.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static volatile sig_atomic_t interrupted;

static void on_signal(int number)
{
    (void)number;
    interrupted = 1;
}

void cli_catch_signals(void)
{
    struct sigaction action = {.sa_handler = on_signal};
    (void)sigaction(SIGINT, &action, NULL);
    (void)sigaction(SIGTERM, &action, NULL);
}

bool cli_interrupted(void)
{
    return interrupted != 0;
}

double cli_now_s(void)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

cli_search cli_search_begin(void)
{
    cli_catch_signals();
    return (cli_search){.began_s = cli_now_s(), .seed = 1, .shown = isatty(STDERR_FILENO) == 1};
}

int cli_search_read(const cli_call *call, cli_search *search)
{
    const int code = cli_number(call, "seed", 0, 1000000000000LL, &search->seed);
    return code != 0 ? code : cli_number(call, "threads", 1, 256, &search->threads);
}

double cli_search_lasted_s(const cli_search *search)
{
    return cli_now_s() - search->began_s;
}

bool cli_search_goes_on(const cli_search *search, uint64_t steps)
{
    return !interrupted && !(search->seconds > 0.0 && cli_search_lasted_s(search) >= search->seconds) &&
           !(search->steps > 0 && steps >= (uint64_t)search->steps);
}

void cli_search_clear(const cli_search *search)
{
    if (search->shown)
        fputs("\r\033[K", stderr);
}

int cli_amount(const cli_call *call, const char *option, double least, double most, double *value)
{
    const char *word = cli_value(call, option);
    if (!word)
        return 0;
    const efi_number number = efi_number_parse(word, strlen(word));
    if (number.fault != EFI_NUMBER_FINE || word[number.used] != '\0' ||
        !(number.value >= least && number.value <= most))
        return cli_usage(call->command, "--%s takes a number from %.0f to %.0f, not \"%s\"", option, least,
                         most, word);
    *value = number.value;
    return 0;
}

int cli_read_plan(const cli_call *call, const ef_scenario *scenario, ef_season_plan **plan)
{
    const char *path = cli_value(call, "plan");
    *plan = NULL;
    if (!path)
        return 0;
    ef_diags *diags = ef_diags_new();
    if (!diags)
        return cli_fail(EF_MEMORY, NULL);
    errno = 0;
    const ef_status status = ef_season_plan_load(scenario, path, diags, plan);
    int code = status == EF_OK || status == EF_SCENARIO ? ef_status_exit_code(status)
                                                        : cli_fail(status, path);
    const int printed = cli_print_findings(diags);
    ef_diags_free(diags);
    if (printed == 0)
        return code;
    if (status == EF_OK)
        ef_season_plan_free(*plan);
    return printed;
}
