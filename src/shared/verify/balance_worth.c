/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: what one more unit of a capacity, or of power, is worth.
 *
 * Let the rates R be the best. When limit r grows by one of its own size, the best aim grows by
 *
 *   max sum_i aim[i] D[i]   over the directions D that keep every limit that is reached, where r has room of
 * 1, and let no rate that is 0 fall
 *
 * which is exact where several stations limit at once. Among the best directions intake and product may vary
 * where there is a choice; the claim must lie between. Where the answer chose shares they may move too, which
 * is not followed here. */
#include "shared/verify/limits.h"

#include <math.h>

/* What one more unit brings, between two bounds each. */
typedef struct range {
    double least; /* -INFINITY without bound */
    double most;  /* INFINITY without bound */
} range;

typedef struct worth {
    bool known;
    double aim;
    range intake_tph;
    range product_tph;
} worth;

/* What is claimed about one limit. */
typedef struct worth_claim {
    const char *name;
    double value; /* money per h; 0 when the aim is the rate */
    double intake_tph;
    double product_tph;
    bool has_product;
} worth_claim;

static double total_rate(const efi_limits *l)
{
    double total = 0.0;
    for (int i = 0; i < l->intakes; i++)
        total += l->verify->rate_tph[i];
    return total;
}

/* By how much a limit is passed, as a share of it (of the intake for a purity); below 0 there is room. */
static double passed_by(const efi_limits *l, int r, double total)
{
    switch (l->items[r].kind) {
    case EFI_LIMIT_CAPACITY:
    case EFI_LIMIT_POWER:
        return efi_limits_used(l, r) - 1.0;
    case EFI_LIMIT_LEAST_RATE:
        return 1.0 - efi_limits_used(l, r);
    case EFI_LIMIT_LEAST_PURITY:
        return total > 0.0 ? -efi_limits_used(l, r) / total : 0.0;
    }
    return 0.0;
}

/* Rises of the rates in the first columns, falls in the others; a rate of 0 has no fall. One row for each
 * limit that is reached within `tolerance`; returns how many. */
static int write_directions(const efi_limits *l, efi_small_lp *lp, int grown, double tolerance)
{
    const double total = total_rate(l);
    int rows = 0;
    efi_small_lp_clear(lp);
    for (int r = 0; r < l->count; r++) {
        const double sign = efi_limit_is_upper(l->items[r].kind) ? 1.0 : -1.0;
        if (r != grown && !(passed_by(l, r, total) >= -tolerance))
            continue;
        efi_limits_use(l, lp, rows, r, sign, 0);
        efi_limits_use(l, lp, rows, r, -sign, l->intakes);
        lp->limit[rows++] = r == grown ? 1.0 : 0.0;
    }
    for (int i = 0; i < l->intakes; i++)
        for (int row = 0; row < rows && !(l->verify->rate_tph[i] > tolerance * total); row++)
            efi_small_lp_row(lp, row)[l->intakes + i] = 0.0;
    return rows;
}

/* Writes `sign` times each[i] (1 for all when NULL) for the directions into `row`. */
static void write_aim(const efi_limits *l, double *row, const double *each, double sign, double tolerance)
{
    const double total = total_rate(l);
    for (int i = 0; i < l->intakes; i++) {
        const bool may_fall = l->verify->rate_tph[i] > tolerance * total;
        row[i] = sign * (each ? each[i] : 1.0) * l->scale_tph[i];
        row[l->intakes + i] = may_fall ? -row[i] : 0.0;
    }
}

static ef_status find_range(const efi_limits *l, const efi_small_lp *lp, const double *each, double capacity,
                            double tolerance, range *found)
{
    *found = (range){-INFINITY, INFINITY};
    for (int side = 0; side < 2; side++) {
        const double sign = side == 0 ? 1.0 : -1.0;
        efi_small_outcome outcome;
        double best;
        write_aim(l, lp->aim, each, sign, tolerance);
        EF_TRY(efi_small_lp_solve(lp, &outcome, &best, NULL));
        if (outcome == EFI_SMALL_OPTIMAL)
            *(side == 0 ? &found->most : &found->least) = sign * best / capacity;
    }
    return EF_OK;
}

/* The worth of item `grown`, with limits counted as reached within `tolerance`. `lp` has room for all and one
 * more. */
static ef_status find_worth(const efi_limits *l, efi_small_lp *lp, int grown, double tolerance, worth *found)
{
    const double capacity = l->items[grown].value;
    const int room = lp->rows;
    efi_small_outcome outcome;
    double best;
    *found = (worth){0};
    lp->rows = write_directions(l, lp, grown, tolerance);
    write_aim(l, lp->aim, l->aim, 1.0, tolerance);
    ef_status status = efi_small_lp_solve(lp, &outcome, &best, NULL);
    found->known = status == EF_OK && outcome == EFI_SMALL_OPTIMAL;
    if (found->known) {
        double size = 0.0;
        for (int i = 0; i < l->intakes; i++)
            size = fmax(size, fabs(l->aim[i] * l->scale_tph[i]));
        found->aim = best / capacity;
        write_aim(l, efi_small_lp_row(lp, lp->rows), l->aim, size > 0.0 ? -1.0 / size : 0.0, tolerance);
        lp->limit[lp->rows++] = size > 0.0 ? -best * (1.0 - EFI_VERIFY_TIGHT) / size : 0.0;
        status = find_range(l, lp, NULL, capacity, tolerance, &found->intake_tph);
    }
    if (found->known && status == EF_OK)
        status = find_range(l, lp, l->product_tph, capacity, tolerance, &found->product_tph);
    lp->rows = room;
    return status;
}

static bool lies_in(double claimed, range of)
{
    return isfinite(claimed) &&
           (claimed >= of.least || efi_differ_same(claimed, of.least, EFI_VERIFY_TIGHT)) &&
           (claimed <= of.most || efi_differ_same(claimed, of.most, EFI_VERIFY_TIGHT));
}

static bool agrees(const efi_limits *l, const worth *found, const worth_claim *claim)
{
    const bool by_value = l->verify->aim == EF_BALANCE_VALUE;
    if (!found->known || (claim->has_product && !lies_in(claim->product_tph, found->product_tph)))
        return false;
    if (!by_value)
        return efi_differ_same(claim->intake_tph, found->aim, EFI_VERIFY_TIGHT) && claim->value == 0.0;
    return lies_in(claim->intake_tph, found->intake_tph) &&
           (!claim->has_product ||
            efi_differ_same(claim->value, found->aim, EFI_VERIFY_TIGHT * (1.0 + fabs(found->aim))));
}

static void tell(const efi_limits *l, const worth *found, const worth_claim *claim)
{
    efi_differences *list = l->verify->list;
    list->subject = claim->name;
    if (!found->known)
        efi_differ(list, "its worth is given, but the rates are not the best at which it limits");
    else
        efi_differ(list,
                   "one more unit is given as worth %.10g t/h of intake, %.10g t/h of product and %.10g "
                   "money per h; "
                   "recomputed: %.10g to %.10g, %.10g to %.10g, and %.10g for the aim",
                   claim->intake_tph, claim->product_tph, claim->value, found->intake_tph.least,
                   found->intake_tph.most, found->product_tph.least, found->product_tph.most, found->aim);
    list->subject = NULL;
}

static ef_status check_worth(const efi_limits *l, efi_small_lp *lp, int r, const worth_claim *claim)
{
    worth tight;
    worth loose;
    EF_TRY(find_worth(l, lp, r, EFI_VERIFY_TIGHT, &tight));
    if (agrees(l, &tight, claim))
        return EF_OK;
    EF_TRY(find_worth(l, lp, r, EFI_VERIFY_LOOSE, &loose));
    if (!agrees(l, &loose, claim))
        tell(l, tight.known ? &tight : &loose, claim);
    return EF_OK;
}

/* Where the answer chose shares, a worth must at least be a number that is not negative. */
static void check_plausible(const efi_limits *l, const worth_claim *claim)
{
    if (!(claim->intake_tph >= -EFI_VERIFY_LOOSE || l->verify->aim == EF_BALANCE_VALUE) ||
        !isfinite(claim->intake_tph) || !isfinite(claim->product_tph) || !(claim->value >= 0.0))
        efi_differ(l->verify->list, "the worth of \"%s\" cannot be", claim->name);
}

/* Without a limit, or without an answer, there is no worth. */
static void check_worthless(const efi_verify *verify)
{
    efi_differences *list = verify->list;
    for (int at = 0; at < verify->claim->station_count; at++) {
        const ef_balance_station *station = &verify->claim->stations[at];
        if (station->limits && verify->claim->feasible)
            continue;
        list->subject = station->name;
        efi_differ_number(list, "the intake that more is worth", "t/h", station->worth_intake_tph, 0.0, 0.0);
        efi_differ_number(list, "the product that more is worth", "t/h", station->worth_product_tph, 0.0,
                          0.0);
        efi_differ_number(list, "the value that more is worth", "money per h", station->worth_value, 0.0,
                          0.0);
    }
    list->subject = NULL;
    if (!verify->claim->power_limits || !verify->claim->feasible)
        efi_differ_number(list, "the intake that more power is worth", "t/h",
                          verify->claim->power_worth_intake_tph, 0.0, 0.0);
}

ef_status efi_limits_check_worths(const efi_limits *l)
{
    const efi_verify *verify = l->verify;
    check_worthless(verify);
    if (!verify->claim->feasible)
        return EF_OK;
    efi_small_lp *lp = efi_small_lp_new(l->count + 1, 2 * l->intakes);
    if (!lp)
        return EF_MEMORY;
    ef_status status = EF_OK;
    for (int r = 0; r < l->count && status == EF_OK; r++) {
        worth_claim claim = {.name = "power", .intake_tph = verify->claim->power_worth_intake_tph};
        bool limits = verify->claim->power_limits && l->items[r].kind == EFI_LIMIT_POWER;
        if (l->items[r].kind == EFI_LIMIT_CAPACITY) {
            const ef_balance_station *of = &verify->claim->stations[verify->claimed_at[l->items[r].station]];
            claim.name = of->name;
            claim.value = of->worth_value;
            claim.intake_tph = of->worth_intake_tph;
            claim.product_tph = of->worth_product_tph;
            claim.has_product = true;
            limits = of->limits;
        }
        if (limits && verify->chosen)
            check_plausible(l, &claim);
        else if (limits)
            status = check_worth(l, lp, r, &claim);
    }
    efi_small_lp_free(lp);
    return status;
}
