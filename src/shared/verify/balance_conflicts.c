/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: demands that cannot be met. Where the answer chose shares it argues with the
 * relaxation over all shares; there only what each demand is gets checked. */
#include "shared/verify/limits.h"

#include <math.h>

/* The item of a least rate or purity that a conflict is about, -1 when the outlet has none. */
static int demand_of(const efi_limits *l, const ef_balance_conflict *conflict, efi_limit_kind kind)
{
    const int s = conflict->outlet ? efi_verify_find(l->verify, conflict->outlet) : -1;
    for (int r = 0; s >= 0 && r < l->count; r++)
        if (l->items[r].kind == kind && l->items[r].station == s)
            return r;
    return -1;
}

static void check_place(const efi_limits *l, const ef_balance_conflict *conflict, const efi_node *block,
                        const char *key, const efi_node *fallback)
{
    const ef_scenario *scenario = l->verify->reference.scenario;
    const efi_node *node = efi_node_find_key(block, key);
    efi_differ_place(l->verify->list, "the place of the demand", conflict->place,
                     efi_tree_place(&scenario->tree, node ? node : fallback));
}

/* What does not go with the kind of demand must be empty. */
static void check_unused(const efi_limits *l, const ef_balance_conflict *conflict)
{
    efi_differences *list = l->verify->list;
    if (conflict->demand != EF_BALANCE_LEAST_PURITY) {
        efi_differ_number(list, "a purity asked for", "", conflict->demanded_share, 0.0, 0.0);
        efi_differ_number(list, "a purity reached", "", conflict->reached_share, 0.0, 0.0);
    }
    if (conflict->demand != EF_BALANCE_POWER) {
        efi_differ_number(list, "the idle power", "kW", conflict->idle_kw, 0.0, 0.0);
        efi_differ_number(list, "the limit of power", "kW", conflict->limit_kw, 0.0, 0.0);
    }
    if (conflict->demand != EF_BALANCE_LEAST_RATE) {
        efi_differ_number(list, "a rate asked for", "t/h", conflict->demanded_tph, 0.0, 0.0);
        efi_differ_number(list, "the most it can get", "t/h", conflict->most_tph, 0.0, 0.0);
        efi_differ_count(list, "the number of stations that hold it", conflict->limiting_count, 0);
    }
}

/* ---- power and purity -----------------------------------------------------------------------------------
 */

static void check_power(const efi_limits *l, const ef_balance_conflict *conflict)
{
    const ef_scenario *scenario = l->verify->reference.scenario;
    const double idle_kw = efi_verify_idle(l->verify);
    efi_differences *list = l->verify->list;
    check_place(l, conflict, scenario->plant->origin.value, "power limit",
                scenario->crops[l->verify->reference.crop].origin.key);
    efi_differ_number(list, "the idle power", "kW", conflict->idle_kw, idle_kw, 0.0);
    efi_differ_number(list, "the limit of power", "kW", conflict->limit_kw,
                      scenario->plant->power_limit_kw.value, 0.0);
    if (!scenario->plant->power_limit_kw.given || efi_verify_power_left(l->verify) > 0.0)
        efi_differ(list, "the power is said not to do, but it does");
}

/* The purity that an outlet has when none is asked for; certain with a single intake only. */
static ef_status check_purity(const efi_limits *l, const ef_balance_conflict *conflict)
{
    const efi_reference *reference = &l->verify->reference;
    efi_differences *list = l->verify->list;
    const int r = demand_of(l, conflict, EFI_LIMIT_LEAST_PURITY);
    if (r < 0) {
        efi_differ(list, "no least purity is asked for there");
        return EF_OK;
    }
    const int s = l->items[r].station;
    check_place(l, conflict, reference->scenario->stations[s].origin.value, "least purity", NULL);
    efi_differ_number(list, "the purity asked for", "", conflict->demanded_share, l->items[r].value, 0.0);
    if (!(conflict->reached_share >= 0.0 && conflict->reached_share < conflict->demanded_share))
        efi_differ(list, "the purity of %.10g does do", conflict->reached_share);
    if (l->verify->chosen)
        return EF_OK;
    double wanted = 0.0;
    double total = 0.0;
    for (int m = 0; l->intakes == 1 && m < reference->materials; m++) {
        const double unit = efi_reference_unit(reference, s, m)[0];
        total += unit;
        wanted += efi_station_wants(reference->scenario, &reference->scenario->stations[s], m) ? unit : 0.0;
    }
    if (l->intakes == 1)
        efi_differ_number(list, "the purity reached", "", conflict->reached_share, wanted / total, 0.0);
    const efi_limits_form form = {.demand = 0.0, .purities = true};
    double best;
    double *ones = efi_arena_get(l->verify->arena, (size_t)l->intakes, sizeof *ones);
    if (!ones)
        return EF_MEMORY;
    for (int i = 0; i < l->intakes; i++)
        ones[i] = 1.0;
    EF_TRY(efi_limits_best(l, &form, ones, &best, NULL));
    if (!(best <= EFI_VERIFY_LOOSE))
        efi_differ(list, "the purities are said to be out of reach, but %.10g t/h keep them", best);
    return EF_OK;
}

/* ---- least rates ----------------------------------------------------------------------------------------
 */

/*
 * Every demand d in `may_be_short` (shape [demand]) gets a shortfall, a share of it, weighed by the demand.
 * Without `aim` (below 0) the least sum of shortfalls, in t/h, goes to `*found`; with it the share by which
 * demand `aim` is short at the most while the sum is at most `sum`. INFINITY when the other demands cannot be
 * met.
 */
static ef_status find_shortfall(const efi_limits *l, const bool *may_be_short, int aim, double sum,
                                double *found)
{
    efi_small_lp *lp = efi_small_lp_new(l->count + 1, l->intakes + l->demand_count);
    if (!lp)
        return EF_MEMORY;
    const efi_limits_form form = {.demand = 1.0, .purities = true};
    double total = 0.0;
    for (int d = 0; d < l->demand_count; d++)
        total += l->items[l->demands[d]].value;
    efi_limits_write(l, lp, &form);
    for (int d = 0; d < l->demand_count; d++) {
        const double weight = l->items[l->demands[d]].value / total;
        efi_small_lp_row(lp, l->demands[d])[l->intakes + d] = may_be_short[d] ? -1.0 : 0.0;
        efi_small_lp_row(lp, l->count)[l->intakes + d] = weight;
        lp->aim[l->intakes + d] = aim < 0 ? -weight : (double)(aim == d);
    }
    lp->limit[l->count] = aim < 0 ? 1.0 : sum / total;
    efi_small_outcome outcome;
    double best;
    const ef_status status = efi_small_lp_solve(lp, &outcome, &best, NULL);
    efi_small_lp_free(lp);
    if (status == EF_OK && outcome != EFI_SMALL_OPTIMAL)
        *found = INFINITY;
    else if (status == EF_OK)
        *found = aim < 0 ? -best * total : best;
    return status;
}

/* The most that the outlet of a demand gets without any least rate, under all capacities or, with `only`,
 * under those of some stations of the scenario (shape [station]). */
static ef_status find_most(const efi_limits *l, int demand, const bool *only, double *most_tph)
{
    const efi_limits_form form = {.purities = true, .only = only};
    double best;
    EF_TRY(efi_limits_best(l, &form, l->items[demand].used, &best, NULL));
    *most_tph = best * l->items[demand].value;
    return EF_OK;
}

/* Can all stations in `full` be at their capacity while the outlet of a demand gets its most? */
static ef_status can_be_full(const efi_limits *l, int demand, const bool *full, double most_tph, bool *can)
{
    efi_small_lp *lp = efi_small_lp_new(2 * l->count + 1, l->intakes);
    if (!lp)
        return EF_MEMORY;
    const efi_limits_form form = {.purities = true};
    efi_limits_write(l, lp, &form);
    int rows = l->count;
    for (int r = 0; r < l->count; r++) {
        if (l->items[r].kind != EFI_LIMIT_CAPACITY || !full[l->items[r].station])
            continue;
        efi_limits_use(l, lp, rows, r, -1.0, 0);
        lp->limit[rows++] = -(1.0 - EFI_VERIFY_LOOSE);
    }
    const double share = most_tph / l->items[demand].value;
    if (share > 0.0) {
        efi_limits_use(l, lp, rows, demand, -1.0 / share, 0);
        lp->limit[rows++] = -(1.0 - EFI_VERIFY_LOOSE);
    }
    lp->rows = rows;
    efi_small_outcome outcome;
    double best;
    const ef_status status = efi_small_lp_solve(lp, &outcome, &best, NULL);
    efi_small_lp_free(lp);
    *can = status == EF_OK && outcome == EFI_SMALL_OPTIMAL;
    return status;
}

/* With a single intake there is one rate at which the outlet gets its most: who is full then is no matter of
 * choice. */
static void check_who_is_full(const efi_limits *l, int demand, double most_tph, const bool *named)
{
    const double each = l->items[demand].used[0] * l->items[demand].value; /* t/h for 1 t/h of intake */
    const double rate_tph = each > 0.0 ? most_tph / each : 0.0;
    for (int r = 0; r < l->count; r++)
        if (l->items[r].kind == EFI_LIMIT_CAPACITY && !named[l->items[r].station] &&
            l->items[r].used[0] * rate_tph >= 1.0 - EFI_VERIFY_SHORTFALL_SHARE)
            efi_differ(l->verify->list, "\"%s\" is full then too, but is not named",
                       l->verify->reference.scenario->stations[l->items[r].station].name);
}

static ef_status check_who_limits(const efi_limits *l, const ef_balance_conflict *conflict, int demand,
                                  double most_tph)
{
    const efi_verify *verify = l->verify;
    bool *named = efi_arena_get(verify->arena, (size_t)verify->reference.stations, sizeof *named);
    if (!named)
        return EF_MEMORY;
    for (int n = 0; n < conflict->limiting_count; n++) {
        const int s = efi_verify_find(verify, conflict->limiting[n]);
        bool known = false;
        for (int r = 0; r < l->count; r++)
            known = known || (s >= 0 && l->items[r].kind == EFI_LIMIT_CAPACITY && l->items[r].station == s);
        if (!known || named[s])
            efi_differ(verify->list, "\"%s\" is named as limiting %s", conflict->limiting[n],
                       known ? "twice" : "but has no capacity that could");
        else
            named[s] = true;
    }
    double held_tph;
    bool can = false;
    EF_TRY(find_most(l, demand, named, &held_tph));
    EF_TRY(can_be_full(l, demand, named, most_tph, &can));
    if (!efi_differ_same(held_tph, most_tph, EFI_VERIFY_TIGHT * l->items[demand].value))
        efi_differ(verify->list, "the stations named do not hold it at %.10g t/h", most_tph);
    if (!can)
        efi_differ(verify->list, "the stations named are not all full when it gets its most");
    if (l->intakes == 1)
        check_who_is_full(l, demand, most_tph, named);
    return EF_OK;
}

static ef_status check_rate(const efi_limits *l, const ef_balance_conflict *conflict, bool *listed)
{
    const efi_verify *verify = l->verify;
    const int demand = demand_of(l, conflict, EFI_LIMIT_LEAST_RATE);
    if (demand < 0) {
        efi_differ(verify->list, "no least rate is asked for there");
        return EF_OK;
    }
    for (int d = 0; d < l->demand_count; d++)
        listed[d] = listed[d] || l->demands[d] == demand;
    check_place(l, conflict, verify->reference.scenario->stations[l->items[demand].station].origin.value,
                "least rate", NULL);
    efi_differ_number(verify->list, "the demand", "t/h", conflict->demanded_tph, l->items[demand].value, 0.0);
    if (verify->chosen)
        return EF_OK;
    double most_tph;
    EF_TRY(find_most(l, demand, NULL, &most_tph));
    efi_differ_number(verify->list, "the most it can get", "t/h", conflict->most_tph, most_tph,
                      verify->floor_tph);
    return check_who_limits(l, conflict, demand, most_tph);
}

/* Are the demands that are listed those that are short in a best compromise, and all of them? */
static ef_status check_all_rates(const efi_limits *l, const bool *listed)
{
    efi_differences *list = l->verify->list;
    bool *all = efi_arena_get(l->verify->arena, (size_t)l->demand_count, sizeof *all);
    double sum = 0.0;
    double sum_listed = 0.0;
    if (!all)
        return EF_MEMORY;
    for (int d = 0; d < l->demand_count; d++)
        all[d] = true;
    EF_TRY(find_shortfall(l, all, -1, 0.0, &sum));
    EF_TRY(find_shortfall(l, listed, -1, 0.0, &sum_listed));
    double least = INFINITY;
    for (int d = 0; d < l->demand_count; d++)
        least = fmin(least, l->items[l->demands[d]].value);
    if (!(sum > EFI_VERIFY_SHORTFALL_SHARE * least)) {
        efi_differ(list, "it is said that the least rates cannot be met, but they can");
        return EF_OK;
    }
    if (!efi_differ_same(sum_listed, sum, EFI_VERIFY_TIGHT * least)) {
        efi_differ(list, "the conflicts given are not all: the other least rates cannot be met either");
        return EF_OK;
    }
    for (int d = 0; d < l->demand_count; d++) {
        double shortfall = INFINITY;
        if (listed[d])
            EF_TRY(find_shortfall(l, all, d, sum * (1.0 + EFI_VERIFY_TIGHT) + EFI_VERIFY_TIGHT * least,
                                  &shortfall));
        if (!(shortfall > EFI_VERIFY_SHORTFALL_SHARE))
            efi_differ(list, "the least rate of \"%s\" is given as one that cannot be met, but it can",
                       l->verify->reference.scenario->stations[l->items[l->demands[d]].station].name);
    }
    return EF_OK;
}

/* ---- all ------------------------------------------------------------------------------------------------
 */

static ef_status check_conflict(const efi_limits *l, const ef_balance_conflict *conflict, bool *listed)
{
    l->verify->list->subject = conflict->outlet ? conflict->outlet : "power";
    check_unused(l, conflict);
    ef_status status = EF_OK;
    switch (conflict->demand) {
    case EF_BALANCE_LEAST_RATE:
        status = check_rate(l, conflict, listed);
        break;
    case EF_BALANCE_LEAST_PURITY:
        status = check_purity(l, conflict);
        break;
    case EF_BALANCE_POWER:
        check_power(l, conflict);
        break;
    }
    if ((conflict->demand == EF_BALANCE_POWER) != (conflict->outlet == NULL))
        efi_differ(l->verify->list, "the demand is given for the wrong thing");
    l->verify->list->subject = NULL;
    return status;
}

ef_status efi_limits_check_conflicts(const efi_limits *l)
{
    const efi_verify *verify = l->verify;
    const ef_balance_crop *claim = verify->claim;
    const efi_value limit = verify->reference.scenario->plant->power_limit_kw;
    int count[3] = {0};
    bool *listed = efi_arena_get(verify->arena, (size_t)l->demand_count, sizeof *listed);
    if (!listed)
        return EF_MEMORY;
    for (int i = 0; i < l->intakes; i++)
        if (verify->rate_tph[i] != 0.0)
            efi_differ(verify->list, "there is no balance, yet %.10g t/h come in", verify->rate_tph[i]);
    for (int c = 0; c < claim->conflict_count; c++) {
        EF_TRY(check_conflict(l, &claim->conflicts[c], listed));
        if (claim->conflicts[c].demand <= EF_BALANCE_POWER)
            count[claim->conflicts[c].demand]++;
    }
    if (claim->conflict_count == 0 && !verify->chosen) /* the relaxation may know of none */
        efi_differ(verify->list, "there is no balance, and no reason is given");
    if (limit.given && efi_verify_power_left(verify) <= 0.0 && count[EF_BALANCE_POWER] != 1)
        efi_differ(verify->list, "the power does not do, which is not said");
    if (count[EF_BALANCE_LEAST_RATE] > 0 && !verify->chosen)
        EF_TRY(check_all_rates(l, listed));
    return EF_OK;
}
