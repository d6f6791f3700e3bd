/* SPDX-License-Identifier: GPL-3.0-or-later
 * The balance, crop by crop: line, linear program, exact flows, numbers. */
#include "answers/balance/balance.h"
#include "base/locale.h"

#include <math.h>
#include <string.h>

/* A rate below this is no rate: solvers leave such traces of zero. */
#define STANDSTILL_TPH 1e-9

typedef struct owned_balance {
    ef_balance balance; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_balance;

const char *ef_balance_aim_word(ef_balance_aim aim)
{
    static const char *const words[] = {
#define WORD(name, word, meaning) word,
        EF_BALANCE_AIM_LIST(WORD)
#undef WORD
    };
    return words[aim];
}

ef_balance_settings ef_balance_defaults(void)
{
    return (ef_balance_settings){.crop = -1};
}

/* No start met the demands, or the line would have to stand still for them: says why, with all flows at 0. */
static ef_status answer_conflict(ef_balance_crop *crop, efi_arena *arena, efi_steady_model *model,
                                 double surge_rule_h)
{
    crop->feasible = false;
    for (int i = 0; i < model->line->intake_count; i++)
        model->rates[i] = 0.0;
    EF_TRY(efi_line_flows(model->line, model->rates, model->feeds));
    ef_balance_station *stations;
    EF_TRY(efi_balance_fill(crop, arena, model, surge_rule_h, &stations));
    return efi_balance_explain(model, arena, crop);
}

/* No choice of shares can do better than the relaxation. */
static ef_status fill_bound(ef_balance_crop *crop, efi_arena *arena, efi_steady_model *model, double value)
{
    if (model->line->split_count == 0)
        return EF_OK;
    efi_steady_whole relaxed;
    efi_lp_result result = {0};
    ef_status status = efi_steady_whole_build(&relaxed, arena, model->line, EFI_STEADY_RELAXED, model->aim);
    if (status == EF_OK)
        status = efi_lp_solve(relaxed.lp, NULL, &result);
    if (status == EF_OK && result.outcome != EFI_LP_OPTIMAL)
        status = EF_INTERNAL;
    efi_lp_free(relaxed.lp);
    EF_TRY(status);
    crop->has_bound = true;
    const double idle_cost = model->aim == EF_BALANCE_VALUE ? efi_steady_idle_cost(model->line) : 0.0;
    crop->bound = fmax(result.objective, value) - idle_cost;
    crop->gap = crop->bound != 0.0 ? (crop->bound + idle_cost - value) / fabs(crop->bound) : 0.0;
    return EF_OK;
}

static double total_rate(const efi_steady_model *model)
{
    double total = 0.0;
    for (int i = 0; i < model->line->intake_count; i++)
        total += model->rates[i];
    return total;
}

static bool asks_purity(const efi_steady_model *model)
{
    for (int s = 0; s < model->line->station_count; s++)
        if (model->purity_row[s] >= 0)
            return true;
    return false;
}

static ef_status answer_crop(ef_balance_crop *crop, efi_arena *arena, efi_steady_model *model,
                             double surge_rule_h, int ladder)
{
    efi_lp_outcome outcome;
    double value;
    efi_steady_search counts;
    if (efi_line_lacks_power(model->line))
        return answer_conflict(crop, arena, model, surge_rule_h);
    EF_TRY(efi_steady_choose(model, arena, &outcome, &value, &counts));
    crop->search_starts = counts.starts;
    crop->search_steps = counts.steps;
    if (outcome == EFI_LP_INFEASIBLE) {
        EF_TRY(answer_conflict(crop, arena, model, surge_rule_h));
        /* where picking materials apart would help, it is a purity that no shares can reach */
        if (crop->conflict_count == 0 && asks_purity(model))
            EF_TRY(efi_balance_explain_purity(model, arena, crop));
        return EF_OK;
    }
    if (outcome != EFI_LP_OPTIMAL)
        return EF_INTERNAL;
    if (!(total_rate(model) > STANDSTILL_TPH) && asks_purity(model)) {
        EF_TRY(efi_balance_explain_purity(model, arena, crop));
        if (crop->conflict_count > 0) {
            const ef_balance_conflict *conflicts = crop->conflicts;
            const int count = crop->conflict_count;
            EF_TRY(answer_conflict(crop, arena, model, surge_rule_h));
            crop->conflicts = conflicts;
            crop->conflict_count = count;
            return EF_OK;
        }
        EF_TRY(efi_steady_choose(model, arena, &outcome, &value, &counts));
        if (outcome != EFI_LP_OPTIMAL)
            return EF_INTERNAL;
    }
    crop->feasible = true;
    crop->primal_error = model->correction;
    ef_balance_station *stations;
    EF_TRY(efi_balance_fill(crop, arena, model, surge_rule_h, &stations));
    EF_TRY(fill_bound(crop, arena, model, value));
    EF_TRY(efi_balance_worth(model, crop, stations));
    return ladder > 0 ? efi_balance_ladder(model, arena, ladder, crop) : EF_OK;
}

/* The program at the shares that were chosen, every flow written out. */
static ef_status write_program(const efi_line *line, efi_arena *arena, const ef_balance_settings *settings)
{
    const char *path = settings->write_lp;
    const size_t length = strlen(path);
    const bool mps = length > 4 && strcmp(path + length - 4, ".mps") == 0;
    efi_steady_whole whole;
    ef_status status = efi_steady_whole_build(&whole, arena, line, EFI_STEADY_EXACT, settings->aim);
    if (status == EF_OK)
        status = efi_lp_write(whole.lp, path, mps ? EFI_LP_FREE_MPS : EFI_LP_CPLEX, settings->overwrite);
    efi_lp_free(whole.lp);
    return status;
}

static ef_status solve_crop(const ef_scenario *scenario, int crop, const ef_balance_settings *settings,
                            bool write_lp, efi_arena *arena, ef_balance_crop *out)
{
    efi_line line;
    EF_TRY(efi_line_build(&line, arena, scenario, crop));
    *out = (ef_balance_crop){.name = scenario->crops[crop].name,
                             .place = efi_tree_place(&scenario->tree, scenario->crops[crop].origin.key),
                             .has_trade_weight = scenario->crops[crop].trade_weight_tpbu.given,
                             .trade_weight_tpbu = scenario->crops[crop].trade_weight_tpbu.value};
    efi_steady_model model;
    ef_status status = efi_steady_build(&model, arena, &line, settings->aim);
    const double rule_h = settings->has_surge_rule ? settings->surge_rule_h
                                                   : scenario->plant->surge_rule_h.value;
    if (status == EF_OK)
        status = answer_crop(out, arena, &model, rule_h, settings->ladder);
    if (status == EF_OK && write_lp)
        status = write_program(&line, arena, settings);
    efi_lp_free(model.lp);
    efi_lp_thread_end();
    return status;
}

static ef_status name_materials(ef_balance *balance, efi_arena *arena, const ef_scenario *scenario)
{
    const char **names = efi_arena_get(arena, (size_t)scenario->material_count, sizeof *names);
    bool *wanted = efi_arena_get(arena, (size_t)scenario->material_count, sizeof *wanted);
    if (!names || !wanted)
        return EF_MEMORY;
    for (int m = 0; m < scenario->material_count; m++) {
        names[m] = scenario->materials[m].name;
        wanted[m] = scenario->materials[m].wanted;
    }
    balance->materials = names;
    balance->wanted = wanted;
    balance->material_count = scenario->material_count;
    return EF_OK;
}

static ef_status solve_all(const ef_scenario *scenario, const ef_balance_settings *settings,
                           owned_balance *owned)
{
    ef_balance *balance = &owned->balance;
    const int first = settings->crop < 0 ? 0 : settings->crop;
    const int count = settings->crop < 0 ? scenario->crop_count : 1;
    ef_balance_crop *crops = efi_arena_get(owned->arena, (size_t)count, sizeof *crops);
    if (!crops)
        return EF_MEMORY;
    EF_TRY(name_materials(balance, owned->arena, scenario));
    balance->plant = scenario->plant->name;
    balance->scenario_file = scenario->tree.sources[0].name;
    balance->crops = crops;
    balance->aim = settings->aim;
    balance->currency = scenario->currency;
    balance->feasible = true;
    for (int c = 0; c < count; c++) {
        EF_TRY(
            solve_crop(scenario, first + c, settings, c == 0 && settings->write_lp, owned->arena, &crops[c]));
        balance->crop_count++;
        balance->feasible = balance->feasible && crops[c].feasible;
    }
    return EF_OK;
}

ef_status ef_balance_solve(const ef_scenario *scenario, const ef_balance_settings *settings,
                           ef_balance **balance)
{
    if (settings->crop >= scenario->crop_count)
        return EF_USAGE;
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    owned_balance *owned = efi_new(1, sizeof *owned);
    if (owned)
        owned->arena = efi_arena_new();
    const bool ready = owned && owned->arena;
    const ef_status status = ready ? solve_all(scenario, settings, owned) : EF_MEMORY;
    efi_locale_leave(&locale);
    if (status != EF_OK) {
        if (owned)
            ef_balance_free(&owned->balance);
        return status;
    }
    *balance = &owned->balance;
    return owned->balance.feasible ? EF_OK : EF_NO_ANSWER;
}

void ef_balance_free(ef_balance *balance)
{
    if (!balance)
        return;
    owned_balance *owned = (owned_balance *)(void *)balance;
    efi_arena_free(owned->arena);
    efi_free(owned);
}
