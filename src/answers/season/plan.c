/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season: rates, the problem, the search, and what follows from the plan it finds. */
#include "answers/season/fill.h"
#include "base/threads.h"

enum {
    USUAL_ROUNDS = 200,
    USUAL_SEASONS = 200,
    MOST_ROUNDS = 1000000000,
    MOST_SIMULATED = 100000,
    MOST_RATE_RUNS = 1000000,
    MOST_THREADS = 256
};

typedef struct owned_season {
    ef_season season; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_season;

ef_season_settings ef_season_defaults(void)
{
    return (ef_season_settings){.seed = 1, .rounds = USUAL_ROUNDS, .simulated = USUAL_SEASONS};
}

const char *ef_season_term_word(ef_season_term term)
{
    static const char *const words[] = {
#define WORD(name, word, meaning) word,
        EF_SEASON_TERM_LIST(WORD)
#undef WORD
    };
    return (size_t)term < EF_COUNT(words) ? words[term] : "";
}

const char *ef_season_term_meaning(ef_season_term term)
{
    static const char *const meanings[] = {
#define MEANING(name, word, meaning) meaning,
        EF_SEASON_TERM_LIST(MEANING)
#undef MEANING
    };
    return (size_t)term < EF_COUNT(meanings) ? meanings[term] : "";
}

static bool are_valid(const ef_season_settings *settings)
{
    return settings->threads >= 0 && settings->threads <= MOST_THREADS && settings->rounds >= 0 &&
           settings->rounds <= MOST_ROUNDS && settings->simulated >= 0 &&
           settings->simulated <= MOST_SIMULATED && settings->rate_runs >= 0 &&
           settings->rate_runs <= MOST_RATE_RUNS && settings->rate_runs != 1 &&
           (settings->plan || !settings->keep_order);
}

/* ---- the search -----------------------------------------------------------------------------------------
 */

typedef struct relay {
    const ef_season_settings *settings;
    bool stopped;
} relay;

static bool pass_on(void *context, const efi_season_progress *progress)
{
    relay *const to = context;
    if (!to->settings->go_on)
        return true;
    const ef_season_progress shown = {.cost = (double)progress->value / 1000.0,
                                      .bound = (double)progress->bound / 1000.0,
                                      .rounds = progress->rounds,
                                      .steps = progress->steps};
    to->stopped = !to->settings->go_on(to->settings->context, &shown);
    return !to->stopped;
}

static ef_status search(const efi_season_case *of, efi_season_worked *worked, ef_season *season)
{
    relay to = {.settings = of->settings};
    efi_season_settings engine = efi_season_defaults();
    efi_season_result result;
    engine.seed = of->settings->seed;
    engine.threads = of->settings->threads > 0 ? of->settings->threads : efi_threads_available();
    engine.rounds = of->settings->rounds;
    engine.go_on = pass_on;
    engine.context = &to;
    EF_TRY(efi_season_solve(&of->problem, &engine, &result));
    const ef_status status = efi_season_work_out(of, result.lot, result.first, worked);
    season->bound = efi_season_money(&result.bound);
    season->rounds = result.rounds;
    season->steps = result.steps;
    season->stopped = to.stopped;
    efi_season_result_free(&result);
    return status;
}

/* ---- the season -----------------------------------------------------------------------------------------
 */

static ef_status answer(efi_season_case *of, ef_season *season, char **reason)
{
    efi_season_worked worked;
    EF_TRY(efi_season_case_build(of, reason));
    EF_TRY(search(of, &worked, season));
    EF_TRY(efi_season_fill(of, &worked, season));
    season->gap_share = season->cost.total > 0.0
                            ? (season->cost.total - season->bound.total) / season->cost.total
                            : 0.0;
    return EF_OK;
}

static ef_status run(const ef_scenario *scenario, const ef_season_settings *settings, owned_season *owned,
                     char **reason)
{
    efi_season_rates rates;
    efi_season_case of = {.scenario = scenario,
                          .settings = settings,
                          .rates = &rates,
                          .arena = owned->arena,
                          .lots = scenario->lots,
                          .lot_count = scenario->lot_count};
    EF_TRY(efi_season_rates_build(&rates, owned->arena, scenario, settings));
    ef_status status = answer(&of, &owned->season, reason);
    efi_season_case_free(&of);
    return status == EF_USAGE ? EF_INTERNAL : status;
}

ef_status ef_season_run_plan(const ef_scenario *scenario, const ef_season_settings *settings,
                             ef_season **season, char **reason)
{
    if (!are_valid(settings))
        return EF_USAGE;
    owned_season *owned = efi_new(1, sizeof *owned);
    if (owned)
        owned->arena = efi_arena_new();
    const ef_status status = owned && owned->arena ? run(scenario, settings, owned, reason) : EF_MEMORY;
    if (status == EF_OK)
        *season = &owned->season;
    else
        ef_season_free(owned ? &owned->season : NULL);
    return status;
}

void ef_season_free(ef_season *season)
{
    owned_season *owned = (owned_season *)season;
    if (!owned)
        return;
    efi_arena_free(owned->arena);
    efi_free(owned);
}
