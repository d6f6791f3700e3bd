/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: what holds the rates, and whether they are the best. */
#include "shared/verify/shares.h"

#include <math.h>

bool efi_limit_is_upper(efi_limit_kind kind)
{
    return kind == EFI_LIMIT_CAPACITY || kind == EFI_LIMIT_POWER;
}

/* ---- building -------------------------------------------------------------------------------------------
 */

/* A limit with room for its use, or NULL. */
static efi_limit *new_limit(efi_limits *l, efi_limit_kind kind, int station, double value)
{
    double *used = efi_arena_get(l->verify->arena, (size_t)l->intakes, sizeof *used);
    if (!used)
        return NULL;
    if (kind == EFI_LIMIT_LEAST_RATE)
        l->demands[l->demand_count++] = l->count;
    l->items[l->count] = (efi_limit){kind, station, value, used};
    return &l->items[l->count++];
}

/* Adds `factor` times the unit feed of a station to `sum` (shape [intake]); each material times its weight,
 * or once when there are no weights. */
static void add_feed(const efi_limits *l, int station, double factor, const double *weight, double *sum)
{
    const efi_reference *reference = &l->verify->reference;
    for (int m = 0; m < reference->materials; m++) {
        const double *unit = efi_reference_unit(reference, station, m);
        for (int i = 0; i < l->intakes; i++)
            sum[i] += unit[i] * factor * (weight ? weight[m] : 1.0);
    }
}

static ef_status add_capacity(efi_limits *l, int s)
{
    const efi_reference *reference = &l->verify->reference;
    const efi_station *station = &reference->scenario->stations[s];
    const efi_value capacity = efi_verify_capacity(l->verify, station, station->count);
    if (!capacity.given)
        return EF_OK;
    const efi_limit *limit = new_limit(l, EFI_LIMIT_CAPACITY, s, capacity.value);
    if (!limit)
        return EF_MEMORY;
    const bool by_volume = capacity.of == EFI_KIND_VOLUME_RATE;
    add_feed(l, s, 1.0 / capacity.value, by_volume ? reference->m3_per_t : NULL, limit->used);
    return EF_OK;
}

/* Scales what an outlet gets above its purity so that it is a share of all that it gets, where that is most;
 * else a purity of a trickle would pass for rounding. */
static void scale_purity(const efi_limits *l, int s, const efi_limit *limit)
{
    double most = 0.0;
    for (int i = 0; i < l->intakes; i++) {
        double total = 0.0;
        for (int m = 0; m < l->verify->reference.materials; m++)
            total += efi_reference_unit(&l->verify->reference, s, m)[i];
        most = fmax(most, total);
    }
    for (int i = 0; i < l->intakes && most > 0.0; i++)
        limit->used[i] /= most;
}

static ef_status add_demands(efi_limits *l, int s)
{
    const efi_reference *reference = &l->verify->reference;
    const efi_station *station = &reference->scenario->stations[s];
    const efi_value rate = efi_verify_value(l->verify, station->least_rate, 1);
    const efi_value purity = efi_verify_value(l->verify, station->least_purity, 1);
    if (rate.given && rate.value > 0.0) {
        const efi_limit *limit = new_limit(l, EFI_LIMIT_LEAST_RATE, s, rate.value);
        if (!limit)
            return EF_MEMORY;
        add_feed(l, s, 1.0 / rate.value, NULL, limit->used);
    }
    if (purity.given && purity.value > 0.0) {
        const efi_limit *limit = new_limit(l, EFI_LIMIT_LEAST_PURITY, s, purity.value);
        double *above = efi_arena_get(l->verify->arena, (size_t)reference->materials, sizeof *above);
        if (!limit || !above)
            return EF_MEMORY;
        for (int m = 0; m < reference->materials; m++)
            above[m] = (efi_station_wants(reference->scenario, station, m) ? 1.0 : 0.0) - purity.value +
                       l->verify->purity_slack;
        add_feed(l, s, 1.0, above, limit->used);
        scale_purity(l, s, limit);
    }
    return EF_OK;
}

/* The power limit, unless the stations draw all of it before a tonne passes. */
static ef_status add_power(efi_limits *l)
{
    const efi_verify *verify = l->verify;
    const ef_scenario *scenario = verify->reference.scenario;
    const double left_kw = scenario->plant->power_limit_kw.given ? efi_verify_power_left(verify) : 0.0;
    if (!(left_kw > 0.0))
        return EF_OK;
    const efi_limit *limit = new_limit(l, EFI_LIMIT_POWER, -1, left_kw);
    if (!limit)
        return EF_MEMORY;
    for (int at = 0; at < verify->claim->station_count; at++) {
        const int s = verify->station[at];
        add_feed(l, s, efi_verify_energy(verify, &scenario->stations[s]) / left_kw, NULL, limit->used);
    }
    return EF_OK;
}

/* What 1 t/h at each intake is to the aim, and in product. */
static void build_aims(efi_limits *l)
{
    const efi_verify *verify = l->verify;
    const ef_scenario *scenario = verify->reference.scenario;
    const double energy_price = scenario->plant->energy_price.value;
    const bool by_value = verify->aim == EF_BALANCE_VALUE;
    for (int i = 0; i < l->intakes; i++)
        l->aim[i] = by_value ? -scenario->crops[verify->reference.crop].price.value : 1.0;
    for (int at = 0; at < verify->claim->station_count; at++) {
        const int s = verify->station[at];
        const efi_station *station = &scenario->stations[s];
        const double value = efi_verify_price(verify, station) -
                             energy_price * efi_verify_energy(verify, station);
        if (by_value)
            add_feed(l, s, value, NULL, l->aim);
        if (station->product)
            add_feed(l, s, 1.0, NULL, l->product_tph);
    }
}

ef_status efi_limits_build(efi_limits *l, const efi_verify *verify)
{
    const size_t intakes = (size_t)verify->reference.intake_count;
    const size_t stations = (size_t)verify->claim->station_count;
    *l = (efi_limits){.verify = verify, .intakes = verify->reference.intake_count};
    l->items = efi_arena_get(verify->arena, 2 * stations + 1,
                             sizeof *l->items); /* an outlet has no capacity */
    l->demands = efi_arena_get(verify->arena, stations, sizeof *l->demands);
    l->scale_tph = efi_arena_get(verify->arena, intakes, sizeof *l->scale_tph);
    l->aim = efi_arena_get(verify->arena, intakes, sizeof *l->aim);
    l->product_tph = efi_arena_get(verify->arena, intakes, sizeof *l->product_tph);
    if (!l->items || !l->demands || !l->scale_tph || !l->aim || !l->product_tph)
        return EF_MEMORY;
    for (int at = 0; at < verify->claim->station_count; at++) {
        EF_TRY(add_capacity(l, verify->station[at]));
        EF_TRY(add_demands(l, verify->station[at]));
    }
    EF_TRY(add_power(l));
    build_aims(l);
    for (int i = 0; i < l->intakes; i++) {
        double fullest = 0.0;
        for (int r = 0; r < l->count; r++)
            if (efi_limit_is_upper(l->items[r].kind))
                fullest = fmax(fullest, l->items[r].used[i]);
        l->scale_tph[i] = 1.0 / fullest; /* an intake has a capacity */
    }
    return EF_OK;
}

/* ---- writing and solving --------------------------------------------------------------------------------
 */

void efi_limits_use(const efi_limits *l, const efi_small_lp *lp, int row, int r, double sign, int first)
{
    for (int i = 0; i < l->intakes; i++)
        efi_small_lp_row(lp, row)[first + i] = sign * l->items[r].used[i] * l->scale_tph[i];
}

static bool is_on(const efi_limits *l, int r, const efi_limits_form *form)
{
    switch (l->items[r].kind) {
    case EFI_LIMIT_CAPACITY:
        return !form->only || form->only[l->items[r].station];
    case EFI_LIMIT_POWER:
        return true;
    case EFI_LIMIT_LEAST_RATE:
        return form->demand > 0.0;
    case EFI_LIMIT_LEAST_PURITY:
        return form->purities;
    }
    return false;
}

void efi_limits_write(const efi_limits *l, const efi_small_lp *lp, const efi_limits_form *form)
{
    for (int r = 0; r < l->count; r++) {
        const efi_limit *limit = &l->items[r];
        const bool upper = efi_limit_is_upper(limit->kind);
        const bool on = is_on(l, r, form);
        efi_limits_use(l, lp, r, r, on ? (upper ? 1.0 : -1.0) : 0.0, 0);
        lp->limit[r] = 0.0;
        if (on && upper)
            lp->limit[r] = 1.0 + (form->more ? form->more[r] / limit->value : 0.0);
        else if (on && limit->kind == EFI_LIMIT_LEAST_RATE)
            lp->limit[r] = -form->demand;
    }
}

double efi_limits_used(const efi_limits *l, int r)
{
    double used = 0.0;
    for (int i = 0; i < l->intakes; i++)
        used += l->items[r].used[i] * l->verify->rate_tph[i];
    return used;
}

ef_status efi_limits_best(const efi_limits *l, const efi_limits_form *form, const double *each, double *best,
                          double *x)
{
    efi_small_lp *lp = efi_small_lp_new(l->count, l->intakes);
    if (!lp)
        return EF_MEMORY;
    efi_limits_write(l, lp, form);
    for (int i = 0; i < l->intakes; i++)
        lp->aim[i] = each[i] * l->scale_tph[i];
    efi_small_outcome outcome;
    const ef_status status = efi_small_lp_solve(lp, &outcome, best, x);
    efi_small_lp_free(lp);
    if (status == EF_OK && outcome != EFI_SMALL_OPTIMAL)
        *best = outcome == EFI_SMALL_UNBOUNDED ? INFINITY : -INFINITY;
    for (int i = 0; status == EF_OK && x && outcome == EFI_SMALL_OPTIMAL && i < l->intakes; i++)
        x[i] *= l->scale_tph[i];
    return status;
}

/* ---- the best rates -------------------------------------------------------------------------------------
 */

static void check_demands(const efi_limits *l)
{
    const ef_scenario *scenario = l->verify->reference.scenario;
    double total = 0.0;
    for (int i = 0; i < l->intakes; i++)
        total += l->verify->rate_tph[i];
    for (int r = 0; r < l->count; r++) {
        const efi_limit *limit = &l->items[r];
        if (limit->kind == EFI_LIMIT_LEAST_RATE && !(efi_limits_used(l, r) >= 1.0 - EFI_VERIFY_DEMAND_SHARE))
            efi_differ(l->verify->list, "\"%s\" gets less than its least rate of %.10g t/h",
                       scenario->stations[limit->station].name, limit->value);
        if (limit->kind == EFI_LIMIT_LEAST_PURITY && !(efi_limits_used(l, r) >= -EFI_VERIFY_TIGHT * total))
            efi_differ(l->verify->list, "\"%s\" gets less than its least purity of %.10g",
                       scenario->stations[limit->station].name, limit->value);
    }
}

static ef_status check_best(const efi_limits *l)
{
    efi_differences *list = l->verify->list;
    double best = -INFINITY;
    double reached = 0.0;
    double size = 0.0;
    /* a demand that can just be met may be missed by rounding */
    for (int attempt = 0; attempt < 2 && best == -INFINITY; attempt++) {
        const efi_limits_form form = {.demand = 1.0 - attempt * EFI_VERIFY_DEMAND_SHARE, .purities = true};
        EF_TRY(efi_limits_best(l, &form, l->aim, &best, NULL));
    }
    for (int i = 0; i < l->intakes; i++) {
        reached += l->aim[i] * l->verify->rate_tph[i];
        size += fabs(l->aim[i]) * fmax(l->verify->rate_tph[i], 1e-3 * l->scale_tph[i]);
    }
    const bool by_value = l->verify->aim == EF_BALANCE_VALUE;
    if (best == -INFINITY)
        efi_differ(list, "a balance is given, but the demands cannot be met together");
    else
        efi_differ_number(list, by_value ? "the greatest value" : "the greatest intake",
                          by_value ? "money per h" : "t/h", reached, best, EFI_VERIFY_TIGHT * size);
    check_demands(l);
    return EF_OK;
}

/* Where shares were chosen, no choice may do better than the bound. What the bound is cannot be recomputed
 * here; other shares are held against it in balance_shares.c. */
static void check_bound(const efi_verify *verify)
{
    const ef_balance_crop *claim = verify->claim;
    const double reached = verify->aim == EF_BALANCE_VALUE ? claim->value_per_h : claim->intake.total_tph;
    efi_differ_flag(verify->list, "has a bound", claim->has_bound, verify->chosen && claim->feasible);
    if (!claim->has_bound)
        efi_differ_number(verify->list, "the bound", "", claim->bound, 0.0, 0.0);
    else if (!(claim->bound >= reached - EFI_DIFFERENCE_SHARE * fabs(reached)))
        efi_differ(verify->list, "what is reached, %.10g, is above the bound of %.10g", reached,
                   claim->bound);
    efi_differ_number(verify->list, "the gap to the bound", "", claim->gap,
                      claim->has_bound && claim->bound != 0.0 ? (claim->bound - reached) / fabs(claim->bound)
                                                              : 0.0,
                      EFI_VERIFY_TIGHT);
}

ef_status efi_verify_limits(const efi_verify *verify)
{
    efi_limits l;
    EF_TRY(efi_limits_build(&l, verify));
    check_bound(verify);
    EF_TRY(efi_limits_check_worths(&l));
    EF_TRY(efi_limits_check_ladder(&l));
    EF_TRY(efi_limits_check_shares(&l));
    if (!verify->claim->feasible)
        return efi_limits_check_conflicts(&l);
    efi_differ_count(verify->list, "the number of conflicts", verify->claim->conflict_count, 0);
    return check_best(&l);
}
