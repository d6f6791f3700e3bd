/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season: rates, the problem, the search, and what follows from the plan it finds. */
#include "answers/season/order.h"
#include "base/threads.h"
#include "shared/season/model.h"

enum {
    USUAL_ROUNDS = 200,
    USUAL_SEASONS = 200,
    MOST_ROUNDS = 1000000000,
    MOST_SIMULATED = 10000,
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

bool efi_season_settings_are_valid(const ef_season_settings *settings)
{
    return settings->threads >= 0 && settings->threads <= MOST_THREADS && settings->rounds >= 0 &&
           settings->rounds <= MOST_ROUNDS && settings->simulated >= 0 &&
           settings->simulated <= MOST_SIMULATED && settings->rate_runs >= 0 &&
           settings->rate_runs <= MOST_RATE_RUNS && settings->rate_runs != 1 &&
           (settings->plan || !settings->keep_order);
}

ef_season *efi_season_new(efi_arena **arena)
{
    owned_season *owned = efi_new(1, sizeof *owned);
    if (!owned)
        return NULL;
    owned->arena = efi_arena_new();
    if (!owned->arena) {
        efi_free(owned);
        return NULL;
    }
    *arena = owned->arena;
    return &owned->season;
}

void ef_season_free(ef_season *season)
{
    owned_season *owned = (owned_season *)season;
    if (!owned)
        return;
    efi_arena_free(owned->arena);
    efi_free(owned);
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
    const int64_t forbidden = progress->value / EFI_SEASON_FORBIDDEN_WEIGHT;
    const ef_season_progress shown = {
        .cost = (double)(progress->value - forbidden * EFI_SEASON_FORBIDDEN_WEIGHT) / 1000.0,
        .bound = (double)progress->bound / 1000.0,
        .forbidden = (int)forbidden,
        .rounds = progress->rounds,
        .steps = progress->steps};
    to->stopped = !to->settings->go_on(to->settings->context, &shown);
    return !to->stopped;
}

/* Searches from an order (NULL: from none). */
static ef_status search(const efi_season_case *of, const efi_season_order *from, efi_season_worked *worked,
                        ef_season *season)
{
    relay to = {.settings = of->settings};
    efi_season_settings engine = efi_season_defaults();
    efi_season_result result;
    engine.seed = of->settings->seed;
    engine.threads = of->settings->threads > 0 ? of->settings->threads : efi_threads_available();
    engine.rounds = of->settings->rounds;
    engine.start = from ? from->lot : NULL;
    engine.start_first = from ? from->first : NULL;
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

/* ---- a plan that is taken up ----------------------------------------------------------------------------
 */

static bool has_all_times(const ef_season_plan *plan)
{
    for (int line = 0; line < plan->line_count; line++)
        for (int i = 0; i < plan->lines[line].count; i++)
            if (plan->lines[line].lots[i].start == EF_SEASON_NONE ||
                plan->lines[line].lots[i].end == EF_SEASON_NONE)
                return false;
    return true;
}

/* Start and end of each lot of the plan as it says; those that it does not say as they follow from its order,
 * from the beginning of the season on. */
static ef_status find_planned(efi_season_case *of, char **reason)
{
    const ef_season_plan *plan = of->settings->plan;
    efi_plan_lot *planned = efi_arena_get(of->arena, (size_t)of->lot_count, sizeof *planned);
    if (!planned)
        return EF_MEMORY;
    for (int l = 0; l < of->lot_count; l++)
        planned[l] = (efi_plan_lot){l, EF_SEASON_NONE, EF_SEASON_NONE};
    if (!has_all_times(plan)) {
        ef_season_settings settings = *of->settings;
        efi_season_case first = *of;
        efi_season_order order;
        efi_season_worked worked;
        settings.has_at = false;
        first.settings = &settings;
        ef_status status = efi_season_case_build(&first, reason);
        if (status == EF_OK)
            status = efi_season_order_of_plan(&first, &order);
        if (status == EF_OK)
            status = efi_season_work_out(&first, order.lot, order.first, &worked);
        for (int e = 0; status == EF_OK && e < first.problem.lots; e++) {
            planned[first.lot_of[e]].start = efi_season_to_moment(of->scenario, worked.run[e].start_s);
            planned[first.lot_of[e]].end = efi_season_to_moment(of->scenario, worked.run[e].end_s);
        }
        efi_season_case_free(&first);
        if (status != EF_OK)
            return status;
    }
    for (int line = 0; line < plan->line_count; line++) {
        for (int i = 0; i < plan->lines[line].count; i++) {
            const efi_plan_lot *one = &plan->lines[line].lots[i];
            if (one->start != EF_SEASON_NONE && one->end != EF_SEASON_NONE)
                planned[one->lot] = *one;
        }
    }
    of->planned = planned;
    return EF_OK;
}

/* ---- the season -----------------------------------------------------------------------------------------
 */

/* The plan to answer with, and beside an order that is kept what the search found. */
static ef_status find_plan(const efi_season_case *of, efi_season_worked *worked, ef_season *season)
{
    efi_season_order order;
    if (!of->settings->plan)
        return search(of, NULL, worked, season);
    season->has_previous = true;
    EF_TRY(efi_season_order_of_plan(of, &order));
    if (!of->settings->keep_order)
        return search(of, &order, worked, season);
    efi_season_worked ours;
    EF_TRY(efi_season_work_out(of, order.lot, order.first, worked));
    EF_TRY(search(of, &order, &ours, season));
    season->kept_order = true;
    season->has_ours = true;
    season->ours = efi_season_money(&ours.cost);
    return EF_OK;
}

ef_status efi_season_answer_case(efi_season_case *of, efi_season_worked *worked, ef_season *season,
                                 char **reason)
{
    if (of->settings->plan && of->settings->has_at)
        EF_TRY(find_planned(of, reason));
    EF_TRY(efi_season_case_build(of, reason));
    EF_TRY(find_plan(of, worked, season));
    EF_TRY(efi_season_fill(of, worked, season));
    EF_TRY(efi_season_fill_neighbours(of, worked, season));
    EF_TRY(efi_season_fill_chances(of, worked, season));
    season->gap_share = season->cost.total > 0.0
                            ? (season->cost.total - season->bound.total) / season->cost.total
                            : 0.0;
    return EF_OK;
}

ef_status ef_season_run_plan(const ef_scenario *scenario, const ef_season_settings *settings,
                             ef_season **season, char **reason)
{
    efi_season_rates rates;
    efi_season_worked worked;
    efi_arena *arena;
    if (!efi_season_settings_are_valid(settings))
        return EF_USAGE;
    ef_season *made = efi_season_new(&arena);
    if (!made)
        return EF_MEMORY;
    efi_season_case of = {.scenario = scenario,
                          .settings = settings,
                          .rates = &rates,
                          .arena = arena,
                          .lots = scenario->lots,
                          .lot_count = scenario->lot_count};
    ef_status status = efi_season_rates_build(&rates, arena, scenario, settings, -1);
    if (status == EF_OK)
        status = efi_season_answer_case(&of, &worked, made, reason);
    efi_season_case_free(&of);
    if (status == EF_OK)
        *season = made;
    else
        ef_season_free(made);
    return status == EF_USAGE ? EF_INTERNAL : status;
}
