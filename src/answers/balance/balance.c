/* SPDX-License-Identifier: GPL-3.0-or-later
 * The balance, crop by crop: line, linear program, exact flows, numbers. */
#include "answers/balance/balance.h"
#include "base/locale.h"

#include <math.h>
#include <string.h>

/* The rates of the solver are scaled so that the station that limits is exactly at its capacity; a larger
 * correction than this would mean that the solver's answer was wrong. */
#define MOST_CORRECTION 1e-6

typedef struct owned_balance {
    ef_balance balance; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_balance;

ef_balance_settings ef_balance_defaults(void)
{
    return (ef_balance_settings){.crop = -1};
}

/* The factor by which all rates may grow until the first station is at its capacity. */
static double room_to_grow(const efi_line *line, const double *feed_tph)
{
    double factor = INFINITY;
    for (int s = 0; s < line->station_count; s++) {
        const efi_value capacity = line->stations[s].capacity;
        const double *feed = feed_tph + (size_t)s * (size_t)line->materials;
        const double used = capacity.of == EFI_KIND_VOLUME_RATE ? efi_line_volume(line, feed)
                                                                : efi_line_total(line, feed);
        if (capacity.given && used > 0.0 && capacity.value / used < factor)
            factor = capacity.value / used;
    }
    return factor;
}

/* Exact feeds for the solver's rates, and the rates put right; *error is how far the solver was off. */
static ef_status exact_flows(const efi_line *line, double *rate_tph, double *feed_tph, double *error)
{
    EF_TRY(efi_line_flows(line, rate_tph, feed_tph));
    const double factor = room_to_grow(line, feed_tph);
    *error = fabs(factor - 1.0);
    if (!(*error <= MOST_CORRECTION))
        return EF_INTERNAL;
    for (int i = 0; i < line->intake_count; i++)
        rate_tph[i] *= factor;
    return efi_line_flows(line, rate_tph, feed_tph);
}

static ef_status answer_crop(ef_balance_crop *crop, efi_arena *arena, efi_balance_lp *model,
                             double surge_rule_h)
{
    const efi_line *line = model->line;
    double *rate = efi_arena_get(arena, (size_t)line->intake_count, sizeof *rate);
    double *feed = efi_arena_get(arena, (size_t)line->station_count * (size_t)line->materials, sizeof *feed);
    if (!rate || !feed)
        return EF_MEMORY;
    efi_lp_result result;
    EF_TRY(efi_balance_lp_solve(model, &result));
    crop->feasible = result.outcome == EFI_LP_OPTIMAL;
    ef_balance_station *stations = NULL;
    if (!crop->feasible) {
        if (result.outcome != EFI_LP_INFEASIBLE)
            return EF_INTERNAL;
        EF_TRY(efi_balance_explain(model, arena, crop));
        return efi_balance_fill(crop, arena, line, rate, feed, surge_rule_h, &stations);
    }
    efi_balance_lp_rates(model, rate);
    EF_TRY(exact_flows(line, rate, feed, &crop->primal_error));
    EF_TRY(efi_balance_fill(crop, arena, line, rate, feed, surge_rule_h, &stations));
    return efi_balance_worth(model, stations);
}

static ef_status solve_crop(const ef_scenario *scenario, int crop, const ef_balance_settings *settings,
                            const char *write_lp, efi_arena *arena, ef_balance_crop *out)
{
    efi_line line;
    EF_TRY(efi_line_build(&line, arena, scenario, crop));
    *out = (ef_balance_crop){.name = scenario->crops[crop].name,
                             .place = efi_tree_place(&scenario->tree, scenario->crops[crop].origin.key),
                             .has_trade_weight = scenario->crops[crop].trade_weight_tpbu.given,
                             .trade_weight_tpbu = scenario->crops[crop].trade_weight_tpbu.value};
    efi_balance_lp model;
    ef_status status = efi_balance_lp_build(&model, arena, &line);
    if (status == EF_OK && write_lp) {
        const size_t length = strlen(write_lp);
        const bool mps = length > 4 && strcmp(write_lp + length - 4, ".mps") == 0;
        status = efi_lp_write(model.lp, write_lp, mps ? EFI_LP_FREE_MPS : EFI_LP_CPLEX, settings->overwrite);
    }
    const double rule_h = settings->has_surge_rule ? settings->surge_rule_h
                                                   : scenario->plant->surge_rule_h.value;
    if (status == EF_OK)
        status = answer_crop(out, arena, &model, rule_h);
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
    balance->feasible = true;
    for (int c = 0; c < count; c++) {
        EF_TRY(solve_crop(scenario, first + c, settings, c == 0 ? settings->write_lp : NULL, owned->arena,
                          &crops[c]));
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
