/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: what one more unit of a capacity, or of power, is worth.
 *
 * Let the rates R be the best. When limit r grows by one of its own size, the best aim grows by
 *
 *   max sum_i aim[i] D[i]   over the directions D that keep every limit that is reached, where r has room of
 * 1, and let no rate that is 0 fall
 *
 * which is exact where several stations limit at once. Among the best directions intake and product may vary
 * where there is a choice; the claim must lie between. Where the answer chose shares they move too, within
 * their least and most: D has a column for each share that may go from the largest branch of its split to
 * another, with the slopes of shares.h. That is the derivative where the best shares are a regular optimum.
 * The answer finds them to some 1e-7 only, so that which limits are reached is less certain there: the claim
 * must lie between what follows when few limits count as reached and what follows when many do. */
#include "shared/verify/shares.h"

#include <math.h>

/* Of a slope with chosen shares, by differences and by the answer's own accuracy. */
#define SLOPE_ERROR 2e-6
/* A limit or a share that is this near counts as reached when many do. */
#define WIDE 1e-5

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
} worth_claim;

/* What may move: rates, then chosen shares. */
typedef struct movement {
    const efi_limits *l;
    const efi_branches *branches; /* without any when no shares were chosen */
    const efi_slopes *slopes;
    int columns; /* intakes + shares */
} movement;

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

/* May a column rise, or fall? A rate of 0 cannot fall, nor can a share at its least. */
static bool may_move(const movement *m, int column, bool rise, double tolerance)
{
    const efi_limits *l = m->l;
    if (column < l->intakes)
        return rise || l->verify->rate_tph[column] > tolerance * total_rate(l);
    const efi_branch *to = &m->branches->items[m->slopes->to[column - l->intakes]];
    return rise ? to->share < to->most - tolerance : to->share > to->least + tolerance;
}

/* Writes `sign` times a row of rates (shape [intake], 1 for all when NULL) and of shares (shape [share], 0
 * for all when NULL): rises in the first columns, falls in the others. */
static void write_row(const movement *m, double *row, const double *rates, const double *shares, double sign,
                      double tolerance)
{
    for (int n = 0; n < m->columns; n++) {
        const bool is_rate = n < m->l->intakes;
        double each = is_rate ? m->l->scale_tph[n] : 0.0;
        if (is_rate && rates)
            each *= rates[n];
        else if (!is_rate && shares)
            each = shares[n - m->l->intakes];
        row[n] = may_move(m, n, true, tolerance) ? sign * each : 0.0;
        row[m->columns + n] = may_move(m, n, false, tolerance) ? -sign * each : 0.0;
    }
}

/* The largest branch of a split gives what the others take; at its own least or most it cannot do both.
 * Returns the number of rows with these. */
static int write_givers(const movement *m, const efi_small_lp *lp, int rows, double tolerance)
{
    for (int split = 0; split < m->branches->splits; split++) {
        const efi_branch *giver = NULL;
        for (int side = 0; side < 2; side++) {
            double *row = efi_small_lp_row(lp, rows);
            for (int n = 0; n < 2 * m->columns; n++)
                row[n] = 0.0;
            for (int k = 0; k < m->slopes->count; k++) {
                const int n = m->l->intakes + k;
                if (m->branches->items[m->slopes->to[k]].split != split)
                    continue;
                giver = &m->branches->items[m->slopes->from[k]];
                row[n] = may_move(m, n, true, tolerance) ? (side == 0 ? 1.0 : -1.0) : 0.0;
                row[m->columns + n] = may_move(m, n, false, tolerance) ? (side == 0 ? -1.0 : 1.0) : 0.0;
            }
            lp->limit[rows] = 0.0;
            const bool held = giver && (side == 0 ? giver->share <= giver->least + tolerance
                                                  : giver->share >= giver->most - tolerance);
            rows += held ? 1 : 0;
        }
    }
    return rows;
}

/* One row for each limit that is reached within `tolerance`, and for shares at their ends; returns how many.
 */
static int write_directions(const movement *m, efi_small_lp *lp, int grown, double tolerance)
{
    const efi_limits *l = m->l;
    const double total = total_rate(l);
    int rows = 0;
    efi_small_lp_clear(lp);
    for (int r = 0; r < l->count; r++) {
        const double sign = efi_limit_is_upper(l->items[r].kind) ? 1.0 : -1.0;
        if (r != grown && !(passed_by(l, r, total) >= -tolerance))
            continue;
        const double *slopes = m->slopes->count ? m->slopes->used + (size_t)r * (size_t)m->slopes->count
                                                : NULL;
        write_row(m, efi_small_lp_row(lp, rows), l->items[r].used, slopes, sign, tolerance);
        lp->limit[rows++] = r == grown ? 1.0 : 0.0;
    }
    return write_givers(m, lp, rows, tolerance);
}

/* How far rates and shares together may go on either side, for each unit of a limit of `capacity`. */
static ef_status find_range(const movement *m, const efi_small_lp *lp, const double *rates,
                            const double *shares, double capacity, double tolerance, range *found)
{
    *found = (range){-INFINITY, INFINITY};
    for (int side = 0; side < 2; side++) {
        const double sign = side == 0 ? 1.0 : -1.0;
        efi_small_outcome outcome;
        double best;
        write_row(m, lp->aim, rates, shares, sign, tolerance);
        EF_TRY(efi_small_lp_solve(lp, &outcome, &best, NULL));
        if (outcome == EFI_SMALL_OPTIMAL)
            *(side == 0 ? &found->most : &found->least) = sign * best / capacity;
    }
    return EF_OK;
}

/* The worth of item `grown`, with limits counted as reached within `tolerance`. `lp` has room for all and one
 * more. */
static ef_status find_worth(const movement *m, efi_small_lp *lp, int grown, double tolerance, worth *found)
{
    const efi_limits *l = m->l;
    const double *aim_slopes = m->slopes->count ? m->slopes->aim : NULL;
    const double capacity = l->items[grown].value;
    const int room = lp->rows;
    efi_small_outcome outcome;
    double best;
    *found = (worth){0};
    lp->rows = write_directions(m, lp, grown, tolerance);
    write_row(m, lp->aim, l->aim, aim_slopes, 1.0, tolerance);
    ef_status status = efi_small_lp_solve(lp, &outcome, &best, NULL);
    found->known = status == EF_OK && outcome == EFI_SMALL_OPTIMAL;
    if (found->known) {
        double size = 0.0;
        for (int i = 0; i < l->intakes; i++)
            size = fmax(size, fabs(l->aim[i] * l->scale_tph[i]));
        found->aim = best / capacity;
        write_row(m, efi_small_lp_row(lp, lp->rows), l->aim, aim_slopes, size > 0.0 ? -1.0 / size : 0.0,
                  tolerance);
        lp->limit[lp->rows++] = size > 0.0 ? -best * (1.0 - EFI_VERIFY_TIGHT) / size : 0.0;
        status = find_range(m, lp, NULL, NULL, capacity, tolerance, &found->intake_tph);
    }
    if (found->known && status == EF_OK)
        status = find_range(m, lp, l->product_tph, m->slopes->count ? m->slopes->product_tph : NULL, capacity,
                            tolerance, &found->product_tph);
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
    if (!found->known || !lies_in(claim->product_tph, found->product_tph))
        return false;
    if (!by_value)
        return efi_differ_same(claim->intake_tph, found->aim, EFI_VERIFY_TIGHT) && claim->value == 0.0;
    return lies_in(claim->intake_tph, found->intake_tph) &&
           efi_differ_same(claim->value, found->aim, EFI_VERIFY_TIGHT * (1.0 + fabs(found->aim)));
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

/* Is a number within the ranges of both, taken together? Where one has no end on some side, shares may change
 * at no cost to the aim; then it depends on which of them one starts from, and any number will do. */
static bool lies_near(double claimed, range few, range many)
{
    const double error = SLOPE_ERROR * (1.0 + fabs(claimed));
    if (!isfinite(few.least) || !isfinite(few.most) || !isfinite(many.least) || !isfinite(many.most))
        return true;
    return claimed >= fmin(few.least, many.least) - error && claimed <= fmax(few.most, many.most) + error;
}

/*
 * Where the answer chose shares: does the claim lie between what few reached limits allow and what many do?
 * Intake and product follow from the direction that is best for the aim, so that they can be held against
 * something only where both agree about the aim.
 */
static bool lies_between(const efi_limits *l, const worth *few, const worth *many, const worth_claim *claim)
{
    const bool by_value = l->verify->aim == EF_BALANCE_VALUE;
    const double claimed = by_value ? claim->value : claim->intake_tph;
    const double error = SLOPE_ERROR * (1.0 + fabs(claimed));
    if (!isfinite(claim->intake_tph) || !isfinite(claim->product_tph) || !isfinite(claim->value) ||
        (!by_value && claim->value != 0.0))
        return false;
    if ((few->known && !(claimed <= few->aim + error)) || (many->known && !(claimed >= many->aim - error)))
        return false;
    return !few->known || !many->known || fabs(few->aim - many->aim) > error ||
           (lies_near(claim->intake_tph, few->intake_tph, many->intake_tph) &&
            lies_near(claim->product_tph, few->product_tph, many->product_tph));
}

static ef_status check_worth(const movement *m, efi_small_lp *lp, int r, const worth_claim *claim)
{
    const efi_limits *l = m->l;
    worth tight;
    worth loose;
    EF_TRY(find_worth(m, lp, r, EFI_VERIFY_TIGHT, &tight));
    if (agrees(l, &tight, claim))
        return EF_OK;
    EF_TRY(find_worth(m, lp, r, l->verify->chosen ? WIDE : EFI_VERIFY_LOOSE, &loose));
    if (l->verify->chosen ? !lies_between(l, &tight, &loose, claim) : !agrees(l, &loose, claim))
        tell(l, tight.known ? &tight : &loose, claim);
    return EF_OK;
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
    if (verify->claim->power_limits && verify->claim->feasible)
        return;
    efi_differ_number(list, "the intake that more power is worth", "t/h",
                      verify->claim->power_worth_intake_tph, 0.0, 0.0);
    efi_differ_number(list, "the product that more power is worth", "t/h",
                      verify->claim->power_worth_product_tph, 0.0, 0.0);
    efi_differ_number(list, "the value that more power is worth", "money per h",
                      verify->claim->power_worth_value, 0.0, 0.0);
}

/* What is claimed about item r; false where it does not limit. */
static bool read_claim(const efi_limits *l, int r, worth_claim *claim)
{
    const ef_balance_crop *crop = l->verify->claim;
    *claim = (worth_claim){.name = "power",
                           .value = crop->power_worth_value,
                           .intake_tph = crop->power_worth_intake_tph,
                           .product_tph = crop->power_worth_product_tph};
    if (l->items[r].kind == EFI_LIMIT_POWER)
        return crop->power_limits;
    if (l->items[r].kind != EFI_LIMIT_CAPACITY)
        return false;
    const ef_balance_station *of = &crop->stations[l->verify->claimed_at[l->items[r].station]];
    *claim = (worth_claim){.name = of->name,
                           .value = of->worth_value,
                           .intake_tph = of->worth_intake_tph,
                           .product_tph = of->worth_product_tph};
    return of->limits;
}

ef_status efi_limits_check_worths(const efi_limits *l)
{
    const efi_verify *verify = l->verify;
    check_worthless(verify);
    if (!verify->claim->feasible)
        return EF_OK;
    efi_branches branches = {0};
    efi_slopes slopes = {0};
    if (verify->chosen) {
        EF_TRY(efi_branches_list(&branches, verify));
        EF_TRY(efi_slopes_find(&slopes, l, &branches));
    }
    const movement m = {l, &branches, &slopes, l->intakes + slopes.count};
    efi_small_lp *lp = efi_small_lp_new(l->count + 2 + 2 * branches.splits, 2 * m.columns);
    if (!lp)
        return EF_MEMORY;
    ef_status status = EF_OK;
    for (int r = 0; r < l->count && status == EF_OK; r++) {
        worth_claim claim;
        if (read_claim(l, r, &claim))
            status = check_worth(&m, lp, r, &claim);
    }
    efi_small_lp_free(lp);
    return status;
}
