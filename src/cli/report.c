/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed report`: the answers about a plant as one page for everybody, with tables and JSON beside it. */
#include "cli/report.h"
#include "base/base.h"
#include "base/tongue.h"
#include "model/scenario.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* ---- progress -------------------------------------------------------------------------------------------
 */

/* One line on a terminal, none when standard error goes elsewhere. */
static void tell(const char *answer, const char *crop)
{
    if (isatty(STDERR_FILENO) == 1) {
        fprintf(stderr, "\r\033[K%s%s%s", answer, crop ? ": " : "", crop ? crop : "");
        (void)fflush(stderr);
    }
}

static bool go_on(void *context, const ef_bins_progress *at)
{
    (void)context;
    tell("bins", at->crop);
    return !cli_interrupted();
}

/* ---- answers --------------------------------------------------------------------------------------------
 */

/* Notes an answer, or what it says of a crop, that cannot be had, and why; frees that text. */
static ef_status miss(cli_report_work *w, const char *answer, efi_text *why)
{
    char *kept = why->failed ? NULL : efi_arena_text(w->arena, efi_text_get(why), why->length);
    efi_text_free(why);
    if (!kept || efi_grow(&w->missing, (size_t)w->missing_count, &w->missing_room, sizeof *w->missing) != 0)
        return EF_MEMORY;
    w->missing[w->missing_count++] = (ef_report_missing){.answer = answer, .why = kept};
    return EF_OK;
}

static ef_status answer_balance(cli_report_work *w)
{
    ef_balance_settings settings = ef_balance_defaults();
    settings.crop = w->crop;
    settings.ladder = CLI_REPORT_RUNGS;
    const ef_status status = ef_balance_solve(w->scenario, &settings, &w->balance);
    return status == EF_NO_ANSWER ? EF_OK : status;
}

static ef_status answer_bins(cli_report_work *w)
{
    ef_bins_settings settings = ef_bins_defaults();
    settings.crop = w->crop;
    settings.seed = w->seed;
    settings.threads = w->threads;
    settings.traces = w->traces > 0 ? (int)w->traces : settings.traces;
    settings.go_on = go_on;
    return ef_bins_run(w->scenario, &settings, &w->bins);
}

/* Notes a crop whose shifts cannot be simulated; the reason (may be NULL) is freed. */
static ef_status miss_shift(cli_report_work *w, int crop, char *reason)
{
    efi_text why = {0};
    if (reason)
        efi_text_addf(&why, efi_tr("%s: the line cannot run as described: %s"),
                      ef_scenario_crop(w->scenario, crop), reason);
    else
        efi_text_addf(
            &why,
            efi_tr("%s: the demands on the steady balance contradict each other: see what the balance "
                   "says."),
            ef_scenario_crop(w->scenario, crop));
    ef_report_free(reason);
    return miss(w, EFI_TR("shift"), &why);
}

static ef_status run_shift(cli_report_work *w, int crop)
{
    ef_shift_settings settings = ef_shift_defaults();
    char *reason = NULL;
    settings.crop = crop;
    settings.seed = w->seed;
    settings.threads = w->threads;
    settings.runs = w->runs > 0 ? (int)w->runs : settings.runs;
    settings.remedies = w->remedies;
    tell("shift", ef_scenario_crop(w->scenario, crop));
    const ef_status status = ef_shift_run(w->scenario, &settings, &w->shifts[w->shift_count], &reason);
    if (status == EF_NO_ANSWER)
        return miss_shift(w, crop, reason);
    ef_report_free(reason);
    if (status != EF_OK)
        return status;
    w->shift_count++;
    return EF_OK;
}

static ef_status answer_shift(cli_report_work *w)
{
    for (int crop = 0; crop < ef_scenario_crops(w->scenario); crop++) {
        if (w->crop >= 0 && w->crop != crop)
            continue;
        if (cli_interrupted())
            return EF_STOPPED;
        EF_TRY(run_shift(w, crop));
    }
    return EF_OK;
}

static bool search_on(void *context, const ef_season_progress *at)
{
    const cli_report_work *w = context;
    tell("season", NULL);
    return !cli_interrupted() && at->steps < (uint64_t)w->steps;
}

static ef_status miss_season(cli_report_work *w, char *reason)
{
    efi_text why = {0};
    efi_text_addf(&why, efi_tr("There is no plan: %s."),
                  efi_tr(reason ? reason : EFI_TR("no reason is known")));
    ef_report_free(reason);
    return miss(w, EFI_TR("season"), &why);
}

static ef_status answer_season(cli_report_work *w)
{
    ef_season_settings settings = ef_season_defaults();
    char *reason = NULL;
    settings.seed = w->seed;
    settings.threads = w->threads;
    settings.rounds = w->steps > 0 ? CLI_REPORT_ROUNDS : 0;
    settings.plan = w->plan;
    settings.keep_order = cli_value(w->call, "keep-order") != NULL;
    settings.has_at = w->has_at;
    settings.at = w->at;
    settings.go_on = search_on;
    settings.context = w;
    const ef_status status = ef_season_run_plan(w->scenario, &settings, &w->season, &reason);
    if (status == EF_NO_ANSWER)
        return miss_season(w, reason);
    ef_report_free(reason);
    if (status == EF_OK)
        w->season->stopped = false; /* it had all its steps, or nothing is written */
    return status;
}

/* All answers, in the order in which they are found. */
static const struct {
    const char *name;
    ef_status (*answer)(cli_report_work *w);
} answers[] = {
    {"balance", answer_balance}, {"bins", answer_bins}, {"shift", answer_shift}, {"season", answer_season}};

/* Is `name` in a list with commas? NULL is all of them. */
static bool is_asked(const char *list, const char *name)
{
    const size_t length = strlen(name);
    while (list) {
        const size_t word = strcspn(list, ",");
        if (word == length && strncmp(list, name, length) == 0)
            return true;
        if (list[word] == '\0')
            return false;
        list += word + 1;
    }
    return true;
}

/* A season is no question about a scenario without lots, unless somebody asks it. */
static bool is_wanted(const cli_report_work *w, const char *name)
{
    const char *list = cli_value(w->call, "answers");
    return is_asked(list, name) && (list || strcmp(name, "season") != 0 || w->scenario->lot_count > 0);
}

/* Every word of --answers is one of ours. */
static int check_answers(const cli_call *call)
{
    const char *list = cli_value(call, "answers");
    while (list) {
        const size_t word = strcspn(list, ",");
        bool known = false;
        for (size_t i = 0; i < EF_COUNT(answers); i++)
            known = known || (strlen(answers[i].name) == word && strncmp(list, answers[i].name, word) == 0);
        if (!known)
            return cli_usage(
                call->command,
                "--answers: \"%.*s\" is none of balance, bins, shift, season; write them with commas",
                (int)word, list);
        list = list[word] ? list + word + 1 : NULL;
    }
    return 0;
}

static int answer_all(cli_report_work *w)
{
    ef_status status = EF_OK;
    for (size_t i = 0; i < EF_COUNT(answers) && status == EF_OK; i++) {
        if (!is_wanted(w, answers[i].name))
            continue;
        tell(answers[i].name, NULL);
        status = answers[i].answer(w);
        if (status == EF_OK && cli_interrupted())
            status = EF_STOPPED;
    }
    if (isatty(STDERR_FILENO) == 1)
        fputs("\r\033[K", stderr);
    return status == EF_OK ? 0 : cli_fail(status, NULL);
}

/* ---- the command ----------------------------------------------------------------------------------------
 */

/* Options that speak of the season ask for one. */
static int check_season_options(const cli_report_work *w)
{
    static const char *const of_season[] = {"steps", "plan", "at", "keep-order", "calendar"};
    for (size_t i = 0; i < EF_COUNT(of_season); i++)
        if (cli_value(w->call, of_season[i]) && !is_wanted(w, "season"))
            return cli_usage(w->call->command, "--%s is of the season, which %s", of_season[i],
                             cli_value(w->call, "answers") ? "--answers leaves out"
                                                           : "a scenario without lots does not have");
    if (cli_value(w->call, "keep-order") && !cli_value(w->call, "plan"))
        return cli_usage(w->call->command,
                         "--keep-order says what --plan costs as it is, so it needs --plan");
    return 0;
}

static int read_season(cli_report_work *w)
{
    bool is_day;
    w->steps = CLI_REPORT_STEPS;
    int code = check_season_options(w);
    if (code == 0)
        code = cli_number(w->call, "steps", 0, INT64_MAX, &w->steps);
    if (code == 0)
        code = cli_moment(w->call, "at", &w->has_at, &is_day, &w->at);
    return code == 0 ? cli_read_plan(w->call, w->scenario, &w->plan) : code;
}

static int read_options(cli_report_work *w)
{
    long long seed = 1;
    long long threads = 0;
    int code = check_answers(w->call);
    if (code == 0)
        code = cli_crop(w->call, w->scenario, &w->crop);
    if (code == 0)
        code = cli_units(w->call, w->scenario, &w->units);
    if (code == 0)
        code = cli_number(w->call, "seed", 0, 1000000000000LL, &seed);
    if (code == 0)
        code = cli_number(w->call, "runs", 2, 1000000, &w->runs);
    if (code == 0)
        code = cli_number(w->call, "traces", 1, 1000000, &w->traces);
    if (code == 0)
        code = cli_number(w->call, "threads", 1, 256, &threads);
    if (code == 0)
        code = read_season(w);
    w->seed = (uint64_t)seed;
    w->threads = (int)threads;
    w->remedies = cli_value(w->call, "no-remedies") == NULL;
    return code;
}

/* Can the folder be made, where it is not there? */
static bool can_be_made(const char *folder)
{
    efi_text parent = {0};
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/')
        length--;
    while (length > 0 && folder[length - 1] != '/')
        length--;
    efi_text_addf(&parent, "%.*s.", (int)length, folder);
    const bool good = access(folder, F_OK) == 0 || access(efi_text_get(&parent), W_OK) == 0;
    efi_text_free(&parent);
    return good;
}

/* What would keep the page from being written, before the work is done and not after. */
static int check_folder(const cli_call *call)
{
    efi_text folder = {0};
    efi_text page = {0};
    cli_report_folder(call, &folder);
    efi_text_addf(&page, "%s/report.html", efi_text_get(&folder));
    int code = folder.failed || page.failed ? cli_fail(EF_MEMORY, NULL) : 0;
    if (code == 0 && !cli_value(call, "force") && access(efi_text_get(&page), F_OK) == 0) {
        fprintf(stderr, "evenfeed: %s is there already; --force replaces it\n", efi_text_get(&page));
        code = ef_status_exit_code(EF_FILE);
    }
    if (code == 0 && !can_be_made(efi_text_get(&folder)))
        code = cli_fail(EF_FILE, efi_text_get(&folder));
    efi_text_free(&page);
    efi_text_free(&folder);
    return code;
}

static int make(cli_report_work *w)
{
    int code = read_options(w);
    if (code == 0)
        code = cli_check_comma(w->call, cli_value(w->call, "csv") != NULL);
    if (code == 0)
        code = check_folder(w->call);
    if (code != 0)
        return code;
    const size_t crops = (size_t)ef_scenario_crops(w->scenario);
    w->arena = efi_arena_new();
    w->shifts = efi_new(crops, sizeof *w->shifts);
    if (!w->arena || !w->shifts)
        return cli_fail(EF_MEMORY, NULL);
    code = answer_all(w);
    return code == 0 ? cli_report_write(w) : code;
}

static void free_work(cli_report_work *w)
{
    for (int i = 0; i < w->shift_count; i++)
        ef_shift_free(w->shifts[i]);
    ef_season_free(w->season);
    ef_season_plan_free(w->plan);
    ef_bins_free(w->bins);
    ef_balance_free(w->balance);
    efi_free(w->shifts);
    efi_free(w->missing);
    efi_arena_free(w->arena);
}

static int answer(const cli_call *call, const ef_scenario *scenario)
{
    cli_report_work w = {.call = call, .scenario = scenario, .crop = -1};
    const int code = make(&w);
    free_work(&w);
    return code;
}

static int run(const cli_call *call)
{
    cli_catch_signals();
    return cli_with_scenario(call, answer);
}

static const cli_option options[] = {
    {"answers", "LIST",
     "which answers, with commas: balance,bins,shift,season; all of them when not given, the season where "
     "the scenario has lots"},
    {"crop", "NAME", "only this crop; else all of them. The season is always of all lots"},
    {"out", "DIR",
     "the folder to write into, which is made where it is not there; else one named after the scenario, in "
     "the present folder"},
    {"workbook", NULL, "a workbook too, report.xlsx: a sheet for each answer, with real numbers and charts"},
    {"csv", NULL, "each table as CSV too, in files of its own"},
    CLI_COMMA_OPTION,
    {"json", NULL, "each answer as JSON too: everything, all digits, in t, h, m3"},
    {"calendar", NULL, "the season as a calendar file too (RFC 5545), season.ics"},
    {"force", NULL, "replace files of the same names that are there already"},
    {"seed", "N", "another seed gives other chances; 1 when not given"},
    {"runs", "N", "how many shifts, or stretches of the calendar, to simulate for each crop"},
    {"traces", "N", "how many traces to size bins on"},
    {"no-remedies", NULL, "leave out what to mend first in a shift, which takes the longest"},
    {"steps", "N",
     "search so many steps for an order of lots, 1000000 when not given; 0 gives the first plan"},
    {"plan", "PREV", "an earlier plan of the season to take up, as for season"},
    {"at", "DATE", "plan the season from this day or moment on, as for season"},
    {"keep-order", NULL, "show the order of --plan as it is, and beside it the best that was found"},
    {"threads", "N", "how many processors to use; the answers do not depend on it"},
    {"units", "metric|us", "units of the page; else those of the scenario"},
    CLI_LANG_OPTION,
    CLI_SET_OPTION,
    {NULL, NULL, NULL},
};

const cli_command cli_report = {
    .name = "report",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "all answers as one page to look at, print and mail, with tables and JSON beside it",
    .about =
        "Finds the answers and writes them into a folder as report.html: one page for the plant designer, "
        "the scheduler and the manager, with verdicts, pictures and tables, for the screen, the phone and "
        "paper. It needs no network. All files appear or none, and none that is there already is replaced "
        "without --force. An answer that cannot be had becomes a sentence on the page. FILE may be - for "
        "standard input.",
    .options = options,
    .example = "report scenarios/cereal-seed.yaml --out wheat-report --crop wheat",
    .run = run,
};
