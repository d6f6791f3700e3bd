/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: is it the best, what are capacities worth, why can demands not be met.
 *
 * Feeds follow from the intake rates R, so all that is asked is a program in as many variables as there are
 * intakes:
 *
 *   maximise sum_i R[i]   subject to   sum_i used[r,i] R[i] <= 1  for every capacity r
 *                                      sum_i used[r,i] R[i] >= 1  for every least rate r,   R >= 0
 *
 * with used[r,i] the share of the capacity (or least rate) r that 1 t/h at intake i brings. With one intake
 * this is R = min 1 / used. Columns are scaled so that 1 is the rate at which that intake alone fills some
 * station. */
#include "shared/verify/balance.h"
#include "shared/verify/small_lp.h"

#include <math.h>

/* By this much, as a share of it, a least rate may be missed before that counts. */
#define DEMAND_SHARE 1e-6
/* A shortfall of a demand, as a share of it, that is more than rounding. */
#define SHORTFALL_SHARE 5e-8
/* A station is at its capacity, and a rate is 0, within one of these shares: the first is rounding, the
 * second the width within which stations that limit count as equal. */
#define ACTIVE_TIGHT 1e-9
#define ACTIVE_LOOSE 1e-6

/* One capacity or least rate. */
typedef struct limit {
    int station; /* of the scenario */
    bool least;  /* a least rate, else a capacity */
    double value;
    const double *used; /* shape [intake]: share of it that 1 t/h brings */
} limit;

typedef struct limits {
    const efi_verify *verify;
    limit *items; /* shape [count] */
    int count;
    int intakes;
    double *scale_tph; /* shape [intake] */
    double *unit_tph;  /* shape [intake]: scratch */
    int *demands;      /* shape [demand_count]: the items that are least rates */
    int demand_count;
} limits;

/* ---- building -------------------------------------------------------------------------------------------
 */

static ef_status add_limit(limits *l, int station, bool least, efi_value value)
{
    const efi_reference *reference = &l->verify->reference;
    double *used = efi_arena_get(l->verify->arena, (size_t)l->intakes, sizeof *used);
    if (!used)
        return EF_MEMORY;
    for (int m = 0; m < reference->materials; m++) {
        const double *unit = efi_reference_unit(reference, station, m);
        const double weight = value.of == EFI_KIND_VOLUME_RATE ? reference->m3_per_t[m] : 1.0;
        for (int i = 0; i < l->intakes; i++)
            used[i] += unit[i] * weight / value.value;
    }
    if (least)
        l->demands[l->demand_count++] = l->count;
    l->items[l->count++] = (limit){station, least, value.value, used};
    return EF_OK;
}

static ef_status build_limits(limits *l)
{
    const efi_verify *verify = l->verify;
    const efi_reference *reference = &verify->reference;
    const size_t most = (size_t)verify->claim->station_count;
    l->intakes = reference->intake_count;
    l->items = efi_arena_get(verify->arena, most, sizeof *l->items);
    l->demands = efi_arena_get(verify->arena, most, sizeof *l->demands);
    l->scale_tph = efi_arena_get(verify->arena, (size_t)l->intakes, sizeof *l->scale_tph);
    l->unit_tph = efi_arena_get(verify->arena, (size_t)l->intakes, sizeof *l->unit_tph);
    if (!l->items || !l->demands || !l->scale_tph || !l->unit_tph)
        return EF_MEMORY;
    for (int at = 0; at < verify->claim->station_count; at++) {
        const int s = verify->station[at];
        const efi_station *station = &reference->scenario->stations[s];
        const efi_value capacity = efi_verify_capacity(verify, station, station->count);
        const efi_value least = efi_verify_value(verify, station->least_rate, 1);
        if (capacity.given)
            EF_TRY(add_limit(l, s, false, capacity));
        if (least.given && least.value > 0.0)
            EF_TRY(add_limit(l, s, true, least));
    }
    for (int i = 0; i < l->intakes; i++) {
        double fullest = 0.0;
        for (int r = 0; r < l->count; r++)
            if (!l->items[r].least)
                fullest = fmax(fullest, l->items[r].used[i]);
        l->scale_tph[i] = 1.0 / fullest; /* an intake has a capacity */
    }
    return EF_OK;
}

static double *row_of(const efi_small_lp *lp, int row)
{
    return lp->cell + (size_t)row * (size_t)lp->columns;
}

/* Writes `sign` times the use of a limit into a row, for the rates in columns from `first` on. */
static void write_use(const limits *l, const efi_small_lp *lp, int row, int r, double sign, int first)
{
    for (int i = 0; i < l->intakes; i++)
        row_of(lp, row)[first + i] = sign * l->items[r].used[i] * l->scale_tph[i];
}

/* Capacities as the rows 0 .. count - 1, and least rates as far as `demand` asks: 1 for all of them, 0 for
 * none. */
static void write_limits(const limits *l, const efi_small_lp *lp, double demand)
{
    for (int r = 0; r < l->count; r++) {
        const bool least = l->items[r].least;
        write_use(l, lp, r, r, least ? -1.0 : 1.0, 0);
        lp->limit[r] = least ? -demand : 1.0;
    }
}

/* The use that the claimed rates make of a limit. */
static double use_of(const limits *l, int r)
{
    double use = 0.0;
    for (int i = 0; i < l->intakes; i++)
        use += l->items[r].used[i] * l->verify->rate_tph[i];
    return use;
}

/* ---- the greatest intake --------------------------------------------------------------------------------
 */

static ef_status check_greatest(const limits *l)
{
    efi_differences *list = l->verify->list;
    efi_small_lp *lp = efi_small_lp_new(l->count, l->intakes);
    if (!lp)
        return EF_MEMORY;
    for (int i = 0; i < l->intakes; i++)
        lp->aim[i] = l->scale_tph[i];
    efi_small_outcome outcome = EFI_SMALL_INFEASIBLE;
    double best = 0.0;
    ef_status status = EF_OK;
    /* a demand that can just be met may be missed by rounding */
    for (int attempt = 0; attempt < 2 && status == EF_OK && outcome == EFI_SMALL_INFEASIBLE; attempt++) {
        write_limits(l, lp, 1.0 - attempt * DEMAND_SHARE);
        status = efi_small_lp_solve(lp, &outcome, &best, NULL);
    }
    efi_small_lp_free(lp);
    if (status != EF_OK)
        return status;
    if (outcome != EFI_SMALL_OPTIMAL) {
        efi_differ(list, "a balance is given, but the least rates cannot be met together");
        return EF_OK;
    }
    efi_differ_number(list, "the greatest intake", "t/h", l->verify->claim->intake.total_tph, best, 0.0);
    for (int d = 0; d < l->demand_count; d++) {
        const limit *demand = &l->items[l->demands[d]];
        if (!(use_of(l, l->demands[d]) >= 1.0 - DEMAND_SHARE))
            efi_differ(list, "\"%s\" gets less than its least rate of %.10g t/h",
                       l->verify->reference.scenario->stations[demand->station].name, demand->value);
    }
    return EF_OK;
}

/* ---- worth of a capacity --------------------------------------------------------------------------------
 */

/* What one more unit of a capacity brings: in intake, and in product between two bounds where there is a
 * choice. */
typedef struct worth {
    bool known;
    double intake_tph;
    double least_product_tph; /* -INFINITY without bound */
    double most_product_tph;  /* INFINITY without bound */
} worth;

/* The t/h of product for 1 t/h at each intake, to unit_tph. */
static void unit_products(const limits *l)
{
    const efi_reference *reference = &l->verify->reference;
    for (int i = 0; i < l->intakes; i++)
        l->unit_tph[i] = 0.0;
    for (int s = 0; s < reference->stations; s++)
        for (int m = 0; reference->scenario->stations[s].product && m < reference->materials; m++)
            for (int i = 0; i < l->intakes; i++)
                l->unit_tph[i] += efi_reference_unit(reference, s, m)[i];
}

/*
 * The directions D in which the claimed rates may move when the capacity of item `grown` grows by one of its
 * own size: a limit that is reached must stay kept, a rate of 0 may not fall. The first columns of the
 * program are the rises, the others the falls. The last row, sum D >= sum, is left open. Returns how many
 * rows are used.
 */
static int write_directions(const limits *l, efi_small_lp *lp, int grown, double tolerance)
{
    double total = 0.0;
    for (int i = 0; i < l->intakes; i++)
        total += l->verify->rate_tph[i];
    int rows = 0;
    efi_small_lp_clear(lp);
    for (int r = 0; r < l->count; r++) {
        const bool least = l->items[r].least;
        const double over = least ? 1.0 - use_of(l, r) : use_of(l, r) - 1.0;
        if (r != grown && !(over >= -tolerance))
            continue;
        write_use(l, lp, rows, r, least ? -1.0 : 1.0, 0);
        write_use(l, lp, rows, r, least ? 1.0 : -1.0, l->intakes);
        lp->limit[rows++] = r == grown ? 1.0 : 0.0;
    }
    for (int i = 0; i < l->intakes; i++)
        for (int row = 0; row < rows && !(l->verify->rate_tph[i] > tolerance * total); row++)
            row_of(lp, row)[l->intakes + i] = 0.0;
    return rows;
}

/* Points the program at `each` (shape [intake]) per t/h. A rate of 0 has no fall. */
static void aim_directions(const limits *l, const efi_small_lp *lp, const double *each, double sign,
                           double tolerance)
{
    double total = 0.0;
    for (int i = 0; i < l->intakes; i++)
        total += l->verify->rate_tph[i];
    for (int i = 0; i < l->intakes; i++) {
        const bool may_fall = l->verify->rate_tph[i] > tolerance * total;
        lp->aim[i] = sign * (each ? each[i] : 1.0) * l->scale_tph[i];
        lp->aim[l->intakes + i] = may_fall ? -lp->aim[i] : 0.0;
    }
}

/* The worth of item `grown`, with limits counted as reached within `tolerance`. `lp` has room for all of
 * them. */
static ef_status find_worth(const limits *l, efi_small_lp *lp, int grown, double tolerance, worth *found)
{
    const double capacity = l->items[grown].value;
    efi_small_outcome outcome;
    double best;
    *found = (worth){.least_product_tph = -INFINITY, .most_product_tph = INFINITY};
    const int room = lp->rows;
    lp->rows = write_directions(l, lp, grown, tolerance);
    aim_directions(l, lp, NULL, 1.0, tolerance);
    ef_status status = efi_small_lp_solve(lp, &outcome, &best, NULL);
    found->known = status == EF_OK && outcome == EFI_SMALL_OPTIMAL;
    if (found->known) {
        found->intake_tph = best / capacity;
        double *last = row_of(lp, lp->rows);
        for (int j = 0; j < lp->columns; j++)
            last[j] = -lp->aim[j] / l->scale_tph[0];
        lp->limit[lp->rows++] = -best * (1.0 - ACTIVE_TIGHT) / l->scale_tph[0];
    }
    for (int side = 0; found->known && side < 2 && status == EF_OK; side++) {
        const double sign = side == 0 ? 1.0 : -1.0;
        aim_directions(l, lp, l->unit_tph, sign, tolerance);
        status = efi_small_lp_solve(lp, &outcome, &best, NULL);
        if (status == EF_OK && outcome == EFI_SMALL_OPTIMAL)
            *(side == 0 ? &found->most_product_tph : &found->least_product_tph) = sign * best / capacity;
    }
    lp->rows = room;
    return status;
}

static bool worth_agrees(const worth *found, const ef_balance_station *claim)
{
    const double product = claim->worth_product_tph;
    return found->known && efi_differ_same(claim->worth_intake_tph, found->intake_tph, ACTIVE_TIGHT) &&
           (product >= found->least_product_tph ||
            efi_differ_same(product, found->least_product_tph, ACTIVE_TIGHT)) &&
           (product <= found->most_product_tph ||
            efi_differ_same(product, found->most_product_tph, ACTIVE_TIGHT));
}

static void tell_worth(const limits *l, const worth *found, const ef_balance_station *claim)
{
    efi_differences *list = l->verify->list;
    list->subject = claim->name;
    if (!found->known)
        efi_differ(list, "its worth is given, but the intake is not the greatest at which it limits");
    else
        efi_differ(
            list,
            "one more unit of its capacity is given as worth %.10g t/h of intake and %.10g t/h of product, "
            "recomputed %.10g and %.10g to %.10g",
            claim->worth_intake_tph, claim->worth_product_tph, found->intake_tph, found->least_product_tph,
            found->most_product_tph);
    list->subject = NULL;
}

static ef_status check_worths(const limits *l)
{
    const efi_verify *verify = l->verify;
    efi_small_lp *lp = efi_small_lp_new(l->count + 1, 2 * l->intakes);
    if (!lp)
        return EF_MEMORY;
    unit_products(l);
    ef_status status = EF_OK;
    for (int r = 0; r < l->count && status == EF_OK; r++) {
        const ef_balance_station *claim = &verify->claim->stations[verify->claimed_at[l->items[r].station]];
        if (l->items[r].least || !claim->limits)
            continue;
        worth tight;
        worth loose;
        status = find_worth(l, lp, r, ACTIVE_TIGHT, &tight);
        if (status != EF_OK || worth_agrees(&tight, claim))
            continue;
        status = find_worth(l, lp, r, ACTIVE_LOOSE, &loose);
        if (status == EF_OK && !worth_agrees(&loose, claim))
            tell_worth(l, tight.known ? &tight : &loose, claim);
    }
    efi_small_lp_free(lp);
    return status;
}

/* Without a limit there is no worth. */
static void check_worthless(const efi_verify *verify)
{
    for (int at = 0; at < verify->claim->station_count; at++) {
        const ef_balance_station *claim = &verify->claim->stations[at];
        if (claim->limits)
            continue;
        verify->list->subject = claim->name;
        efi_differ_number(verify->list, "the intake that more capacity is worth", "t/h",
                          claim->worth_intake_tph, 0.0, 0.0);
        efi_differ_number(verify->list, "the product that more capacity is worth", "t/h",
                          claim->worth_product_tph, 0.0, 0.0);
    }
    verify->list->subject = NULL;
}

/* ---- demands that cannot be met -------------------------------------------------------------------------
 */

/* The item of a least rate that a conflict is about, -1 when the outlet has none. */
static int demand_of(const limits *l, const ef_balance_conflict *conflict)
{
    const int s = efi_verify_find(l->verify, conflict->outlet);
    for (int d = 0; d < l->demand_count; d++)
        if (l->items[l->demands[d]].station == s)
            return l->demands[d];
    return -1;
}

/*
 * Every demand d in `may_be_short` (shape [demand]) gets a shortfall, a share of it. Without `aim` (below 0)
 * the least sum of shortfalls goes to `*found`; with it the most that demand `aim` is short while the sum is
 * at most `sum`. INFINITY when the other demands cannot be met.
 */
static ef_status find_shortfall(const limits *l, const bool *may_be_short, int aim, double sum, double *found)
{
    efi_small_lp *lp = efi_small_lp_new(l->count + 1, l->intakes + l->demand_count);
    if (!lp)
        return EF_MEMORY;
    write_limits(l, lp, 1.0);
    for (int d = 0; d < l->demand_count; d++) {
        row_of(lp, l->demands[d])[l->intakes + d] = may_be_short[d] ? -1.0 : 0.0;
        row_of(lp, l->count)[l->intakes + d] = 1.0;
        lp->aim[l->intakes + d] = aim < 0 ? -1.0 : (double)(aim == d);
    }
    lp->limit[l->count] = aim < 0 ? (double)l->demand_count : sum;
    efi_small_outcome outcome;
    double best;
    const ef_status status = efi_small_lp_solve(lp, &outcome, &best, NULL);
    efi_small_lp_free(lp);
    if (status == EF_OK)
        *found = outcome != EFI_SMALL_OPTIMAL ? INFINITY : aim < 0 ? -best : best;
    return status;
}

/* The most that the outlet of a demand gets without any least rate, under all capacities or, with `only`,
 * under those of some stations of the scenario (shape [station]). */
static ef_status find_most(const limits *l, int demand, const bool *only, double *most_tph)
{
    efi_small_lp *lp = efi_small_lp_new(l->count, l->intakes);
    if (!lp)
        return EF_MEMORY;
    write_limits(l, lp, 0.0);
    for (int r = 0; r < l->count; r++)
        for (int i = 0; only && !only[l->items[r].station] && i < l->intakes; i++)
            row_of(lp, r)[i] = 0.0;
    for (int i = 0; i < l->intakes; i++)
        lp->aim[i] = l->items[demand].used[i] * l->scale_tph[i];
    efi_small_outcome outcome;
    double best;
    const ef_status status = efi_small_lp_solve(lp, &outcome, &best, NULL);
    efi_small_lp_free(lp);
    if (status == EF_OK)
        *most_tph = outcome == EFI_SMALL_OPTIMAL ? best * l->items[demand].value : INFINITY;
    return status;
}

/* Can all stations in `full` be at their capacity while the outlet of a demand gets its most? */
static ef_status can_be_full(const limits *l, int demand, const bool *full, double most_tph, bool *can)
{
    efi_small_lp *lp = efi_small_lp_new(2 * l->count + 1, l->intakes);
    if (!lp)
        return EF_MEMORY;
    write_limits(l, lp, 0.0);
    int rows = l->count;
    for (int r = 0; r < l->count; r++) {
        if (l->items[r].least || !full[l->items[r].station])
            continue;
        write_use(l, lp, rows, r, -1.0, 0);
        lp->limit[rows++] = -(1.0 - ACTIVE_LOOSE);
    }
    const double share = most_tph / l->items[demand].value;
    for (int i = 0; i < l->intakes && share > 0.0; i++)
        row_of(lp, rows)[i] = -l->items[demand].used[i] * l->scale_tph[i] / share;
    lp->limit[rows++] = share > 0.0 ? -(1.0 - ACTIVE_LOOSE) : 0.0;
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
static void check_who_is_full(const limits *l, int demand, const bool *named)
{
    double rate_tph = INFINITY;
    for (int r = 0; r < l->count; r++)
        if (!l->items[r].least)
            rate_tph = fmin(rate_tph, 1.0 / l->items[r].used[0]);
    for (int r = 0; r < l->count && l->items[demand].used[0] > 0.0; r++)
        if (!l->items[r].least && !named[l->items[r].station] &&
            l->items[r].used[0] * rate_tph >= 1.0 - SHORTFALL_SHARE)
            efi_differ(l->verify->list, "\"%s\" is full then too, but is not named",
                       l->verify->reference.scenario->stations[l->items[r].station].name);
}

static ef_status check_who_limits(const limits *l, const ef_balance_conflict *conflict, int demand,
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
            known = known || (s >= 0 && !l->items[r].least && l->items[r].station == s);
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
    if (!efi_differ_same(held_tph, most_tph, 0.0))
        efi_differ(verify->list, "the stations named do not hold it at %.10g t/h", most_tph);
    if (!can)
        efi_differ(verify->list, "the stations named are not all full when it gets its most");
    if (l->intakes == 1)
        check_who_is_full(l, demand, named);
    return EF_OK;
}

static ef_status check_conflict(const limits *l, const ef_balance_conflict *conflict, int demand)
{
    const efi_verify *verify = l->verify;
    const ef_scenario *scenario = verify->reference.scenario;
    double most_tph;
    EF_TRY(find_most(l, demand, NULL, &most_tph));
    verify->list->subject = conflict->outlet;
    efi_differ_place(
        verify->list, "the place of the demand", conflict->place,
        efi_tree_place(
            &scenario->tree,
            efi_node_find_key(scenario->stations[l->items[demand].station].origin.value, "least rate")));
    efi_differ_number(verify->list, "the demand", "t/h", conflict->demanded_tph, l->items[demand].value, 0.0);
    efi_differ_number(verify->list, "the most it can get", "t/h", conflict->most_tph, most_tph,
                      verify->floor_tph);
    const ef_status status = check_who_limits(l, conflict, demand, most_tph);
    verify->list->subject = NULL;
    return status;
}

/* Is each demand that is listed short in some best compromise? */
static ef_status check_each_short(const limits *l, const bool *listed, const bool *all, double sum)
{
    for (int d = 0; d < l->demand_count; d++) {
        double shortfall = INFINITY;
        if (listed[d])
            EF_TRY(find_shortfall(l, all, d, sum * (1.0 + ACTIVE_TIGHT) + ACTIVE_TIGHT, &shortfall));
        if (!(shortfall > SHORTFALL_SHARE))
            efi_differ(l->verify->list,
                       "the least rate of \"%s\" is given as one that cannot be met, but it can",
                       l->verify->reference.scenario->stations[l->items[l->demands[d]].station].name);
    }
    return EF_OK;
}

static ef_status check_conflicts(const limits *l)
{
    const efi_verify *verify = l->verify;
    const ef_balance_crop *claim = verify->claim;
    bool *listed = efi_arena_get(verify->arena, (size_t)l->demand_count, sizeof *listed);
    bool *all = efi_arena_get(verify->arena, (size_t)l->demand_count, sizeof *all);
    if (!listed || !all)
        return EF_MEMORY;
    for (int c = 0; c < claim->conflict_count; c++) {
        const int demand = demand_of(l, &claim->conflicts[c]);
        if (demand < 0)
            efi_differ(verify->list, "\"%s\" is given as a conflict, but no least rate is asked for there",
                       claim->conflicts[c].outlet);
        else
            EF_TRY(check_conflict(l, &claim->conflicts[c], demand));
        for (int d = 0; d < l->demand_count; d++)
            listed[d] = listed[d] || l->demands[d] == demand;
    }
    double sum;
    double sum_listed;
    for (int d = 0; d < l->demand_count; d++)
        all[d] = true;
    EF_TRY(find_shortfall(l, all, -1, 0.0, &sum));
    EF_TRY(find_shortfall(l, listed, -1, 0.0, &sum_listed));
    if (!(sum > SHORTFALL_SHARE))
        efi_differ(verify->list, "it is said that the least rates cannot be met, but they can");
    else if (!efi_differ_same(sum_listed, sum, ACTIVE_LOOSE))
        efi_differ(verify->list,
                   "the conflicts given are not all: the other least rates cannot be met either");
    else
        EF_TRY(check_each_short(l, listed, all, sum));
    return EF_OK;
}

ef_status efi_verify_limits(const efi_verify *verify)
{
    limits l = {.verify = verify};
    EF_TRY(build_limits(&l));
    check_worthless(verify);
    if (!verify->claim->feasible) {
        for (int i = 0; i < l.intakes; i++)
            if (verify->rate_tph[i] != 0.0)
                efi_differ(verify->list, "there is no balance, yet %.10g t/h come in", verify->rate_tph[i]);
        return check_conflicts(&l);
    }
    efi_differ_count(verify->list, "the number of conflicts", verify->claim->conflict_count, 0);
    EF_TRY(check_greatest(&l));
    return check_worths(&l);
}
