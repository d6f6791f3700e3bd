/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: the ladder. With the purchases of a rung the line must reach what the rung says,
 * no purchase may be less than on the rung before, what a purchase adds to that must be used up, what is
 * named as limiting must be at its limit, and each rung must be above the one before. That no smaller set of
 * purchases would have done is not checked.
 *
 * Where the answer chose shares, those of a rung are not told. Then the rung must reach at least what the
 * shares of the balance reach with its purchases, and at most f times the bound of the balance, where f is
 * the largest factor by which a purchase raises its limit: rates divided by f keep to all limits as they
 * were. Least rates they may not keep to, so that without those only. */
#include "shared/verify/limits.h"

#include <math.h>

/* The item of a capacity by the name of its station, or of power for NULL; -1 for none. */
static int find_limit(const efi_limits *l, const char *station)
{
    const int s = station ? efi_verify_find(l->verify, station) : -1;
    for (int r = 0; r < l->count; r++)
        if (station ? l->items[r].kind == EFI_LIMIT_CAPACITY && l->items[r].station == s
                    : l->items[r].kind == EFI_LIMIT_POWER)
            return r;
    return -1;
}

/* The purchases of a rung and those of the rung before, by item. */
typedef struct bought {
    double *more;   /* shape [item] */
    double *before; /* shape [item] */
} bought;

/* What is bought of it on this rung is what was bought already? */
static bool is_kept(const bought *b, int r)
{
    return b->before[r] > 0.0 && efi_differ_same(b->more[r], b->before[r], EFI_VERIFY_TIGHT);
}

/* Puts the purchases of a rung into `more` (shape [item]). False when one is for something that has no limit.
 */
static bool take_purchases(const efi_limits *l, const ef_balance_rung *rung, double *more)
{
    const efi_verify *verify = l->verify;
    for (int r = 0; r < l->count; r++)
        more[r] = 0.0;
    for (int p = 0; p < rung->purchase_count; p++) {
        const ef_balance_purchase *purchase = &rung->purchases[p];
        const int r = find_limit(l, purchase->station);
        if (r < 0) {
            efi_differ(verify->list, "a purchase for \"%s\", which has no limit",
                       purchase->station ? purchase->station : "power");
            return false;
        }
        bool by_volume = false;
        double base = verify->reference.scenario->plant->power_limit_kw.value;
        if (purchase->station) {
            const efi_station *station = &verify->reference.scenario->stations[l->items[r].station];
            base = l->items[r].value;
            by_volume = efi_verify_capacity(verify, station, 1).of == EFI_KIND_VOLUME_RATE;
        }
        more[r] = purchase->more;
        efi_differ_flag(verify->list, "bought by volume", purchase->by_volume, by_volume);
        efi_differ_number(verify->list, "the capacity after the purchase", "", purchase->capacity,
                          base + purchase->more, 0.0);
        if (!(purchase->more > 0.0))
            efi_differ(verify->list, "a purchase of %.10g", purchase->more);
    }
    return true;
}

/* Are the stations named the ones at their limit at these rates? Certain only where there is a single intake.
 */
static ef_status check_limits(const efi_limits *l, const ef_balance_rung *rung, const bought *b,
                              const double *rate_tph)
{
    const double *more = b->more;
    efi_differences *list = l->verify->list;
    int full = 0;
    bool *named = efi_arena_get(l->verify->arena, (size_t)l->count, sizeof *named);
    if (!named)
        return EF_MEMORY;
    for (int r = 0; r < l->count; r++) {
        double used = 0.0;
        for (int i = 0; i < l->intakes; i++)
            used += l->items[r].used[i] * rate_tph[i];
        if (!efi_limit_is_upper(l->items[r].kind))
            continue;
        if (more[r] > 0.0 && !is_kept(b, r))
            efi_differ_number(list, "a purchase", "", more[r], (used - 1.0) * l->items[r].value,
                              EFI_VERIFY_TIGHT * l->items[r].value);
        full += more[r] == 0.0 && used >= 1.0 - EFI_VERIFY_SHORTFALL_SHARE;
    }
    for (int n = 0; n < rung->limit_count; n++) {
        const int r = find_limit(l, rung->limits[n]);
        double used = 0.0;
        for (int i = 0; r >= 0 && i < l->intakes; i++)
            used += l->items[r].used[i] * rate_tph[i];
        if (!(used >= 1.0 - EFI_VERIFY_LOOSE) || more[r] > 0.0 || named[r])
            efi_differ(list, "\"%s\" is named as limiting, but it is not",
                       rung->limits[n] ? rung->limits[n] : "power");
        else
            named[r] = true;
    }
    efi_differ_count(list, "how many limit then", rung->limit_count, full);
    return EF_OK;
}

/* A part of a purchase that is not needed, when this much less of it reaches as much. */
#define LESS_SHARE 1e-3

/* The aim of a rung as the limits have it, without the cost of idle power. */
static double aim_of(const efi_limits *l, double intake_tph, double value_per_h)
{
    const double idle = l->verify->reference.scenario->plant->energy_price.value * efi_verify_idle(l->verify);
    return l->verify->aim == EF_BALANCE_VALUE ? value_per_h + idle : intake_tph;
}

/* With chosen shares: names that can be, and what is reached between two bounds. */
static ef_status check_between(const efi_limits *l, const ef_balance_rung *rung, const double *more)
{
    const ef_balance_crop *claim = l->verify->claim;
    efi_differences *list = l->verify->list;
    double factor = 1.0;
    double at_same_shares;
    for (int r = 0; r < l->count; r++)
        factor = fmax(factor, 1.0 + more[r] / l->items[r].value);
    for (int n = 0; n < rung->limit_count; n++) {
        const int r = find_limit(l, rung->limits[n]);
        bool again = false;
        for (int other = 0; other < n; other++)
            again = again || find_limit(l, rung->limits[other]) == r;
        if (r < 0 || more[r] > 0.0 || again)
            efi_differ(list, "\"%s\" is named as limiting, but it cannot be",
                       rung->limits[n] ? rung->limits[n] : "power");
    }
    const efi_limits_form form = {.demand = 1.0, .purities = true, .more = more};
    const double aim = aim_of(l, rung->intake_tph, rung->value_per_h);
    const double most = factor * aim_of(l, claim->bound, claim->bound);
    EF_TRY(efi_limits_best(l, &form, l->aim, &at_same_shares, NULL));
    if (at_same_shares > aim && !efi_differ_same(at_same_shares, aim, EFI_VERIFY_TIGHT))
        efi_differ(list, "%.10g is reached, but without changing the shares it is %.10g", aim,
                   at_same_shares);
    if (l->demand_count == 0 && aim > most && !efi_differ_same(aim, most, EFI_VERIFY_TIGHT))
        efi_differ(list, "%.10g is said to be reached, but %.10g is the most it can be", aim, most);
    return EF_OK;
}

/* With several intakes the best rates need not be unique: can all that is named be full at best rates, and
 * does the product lie among what these give? */
static ef_status check_several(const efi_limits *l, const ef_balance_rung *rung, const double *more,
                               double best)
{
    efi_small_lp *lp = efi_small_lp_new(l->count + rung->limit_count + 1, l->intakes);
    if (!lp)
        return EF_MEMORY;
    const efi_limits_form form = {.demand = 1.0, .purities = true, .more = more};
    double size = 0.0;
    int row = l->count;
    efi_limits_write(l, lp, &form);
    for (int n = 0; n < rung->limit_count; n++) {
        const int r = find_limit(l, rung->limits[n]);
        if (r < 0)
            efi_differ(l->verify->list, "\"%s\" is named as limiting, but has no limit", rung->limits[n]);
        else
            efi_limits_use(l, lp, row, r, -1.0, 0);
        lp->limit[row++] = r < 0 ? 0.0 : -(1.0 - EFI_VERIFY_LOOSE);
    }
    for (int i = 0; i < l->intakes; i++)
        size = fmax(size, fabs(l->aim[i]) * l->scale_tph[i]);
    for (int i = 0; i < l->intakes && size > 0.0; i++)
        efi_small_lp_row(lp, row)[i] = -l->aim[i] * l->scale_tph[i] / size;
    lp->limit[row] = size > 0.0 ? -(best - EFI_VERIFY_LOOSE * fabs(best)) / size : 0.0;
    ef_status status = EF_OK;
    for (int side = 0; side < 2 && status == EF_OK; side++) {
        const double sign = side == 0 ? 1.0 : -1.0;
        efi_small_outcome outcome;
        double product;
        for (int i = 0; i < l->intakes; i++)
            lp->aim[i] = sign * l->product_tph[i] * l->scale_tph[i];
        status = efi_small_lp_solve(lp, &outcome, &product, NULL);
        if (status == EF_OK && outcome == EFI_SMALL_INFEASIBLE && side == 0)
            efi_differ(l->verify->list, "what is named as limiting is not all full at the best rates");
        else if (status == EF_OK && outcome == EFI_SMALL_OPTIMAL && sign * rung->product_tph > product &&
                 !efi_differ_same(sign * rung->product_tph, product, EFI_VERIFY_TIGHT))
            efi_differ(l->verify->list, "the product is given as %.10g t/h, which the best rates do not give",
                       rung->product_tph);
    }
    efi_small_lp_free(lp);
    return status;
}

/* A little less of what each purchase adds must reach less. */
static ef_status check_needed(const efi_limits *l, const ef_balance_rung *rung, const bought *b, double best)
{
    double *more = b->more;
    const efi_limits_form form = {.demand = 1.0, .purities = true, .more = more};
    for (int p = 0; p < rung->purchase_count; p++) {
        const int r = find_limit(l, rung->purchases[p].station);
        const double full = more[r];
        const double added = full - b->before[r];
        double less;
        more[r] = full - added * LESS_SHARE;
        EF_TRY(efi_limits_best(l, &form, l->aim, &less, NULL));
        more[r] = full;
        if (added > LESS_SHARE * l->items[r].value && less >= best - EFI_VERIFY_ROUNDING_SHARE * fabs(best))
            efi_differ(l->verify->list, "less than the purchase of %.10g does as well", full);
    }
    return EF_OK;
}

/* Nothing that was bought is given back. */
static void check_kept(const efi_limits *l, const bought *b)
{
    for (int r = 0; r < l->count; r++)
        if (b->more[r] < b->before[r] && !efi_differ_same(b->more[r], b->before[r], EFI_VERIFY_TIGHT))
            efi_differ(l->verify->list, "a purchase is %.10g, less than %.10g on the rung before", b->more[r],
                       b->before[r]);
}

static ef_status check_rung(const efi_limits *l, const ef_balance_rung *rung, const bought *b,
                            double *rate_tph)
{
    const double *more = b->more;
    const efi_verify *verify = l->verify;
    const ef_scenario *scenario = verify->reference.scenario;
    efi_differences *list = verify->list;
    if (!take_purchases(l, rung, b->more))
        return EF_OK;
    check_kept(l, b);
    if (!(rung->check >= 0.0 && rung->check <= EFI_VERIFY_LOOSE))
        efi_differ(list, "solved afresh the rung is said to differ by %.3g", rung->check);
    if (verify->chosen)
        return check_between(l, rung, more);
    const efi_limits_form form = {.demand = 1.0, .purities = true, .more = more};
    double best;
    EF_TRY(efi_limits_best(l, &form, l->aim, &best, rate_tph));
    if (!isfinite(best)) {
        efi_differ(list, "with these purchases there is no best rate");
        return EF_OK;
    }
    const bool by_value = verify->aim == EF_BALANCE_VALUE;
    const double idle = by_value ? scenario->plant->energy_price.value * efi_verify_idle(verify) : 0.0;
    efi_differ_number(list, "the value reached", "money per h", rung->value_per_h,
                      by_value ? best - idle : 0.0, EFI_VERIFY_TIGHT * fabs(idle));
    if (!by_value)
        efi_differ_number(list, "the intake reached", "t/h", rung->intake_tph, best, 0.0);
    EF_TRY(check_needed(l, rung, b, best));
    if (l->intakes > 1)
        return check_several(l, rung, more, best);
    efi_differ_number(list, "the intake reached", "t/h", rung->intake_tph, rate_tph[0], 0.0);
    efi_differ_number(list, "the product reached", "t/h", rung->product_tph, l->product_tph[0] * rate_tph[0],
                      0.0);
    return check_limits(l, rung, b, rate_tph);
}

/* Each rung is above the one before, the first above the balance itself. */
static void check_rising(const efi_limits *l, int n)
{
    const ef_balance_crop *claim = l->verify->claim;
    const ef_balance_rung *rung = &claim->rungs[n];
    const double before = n == 0 ? aim_of(l, claim->intake.total_tph, claim->value_per_h)
                                 : aim_of(l, rung[-1].intake_tph, rung[-1].value_per_h);
    const double aim = aim_of(l, rung->intake_tph, rung->value_per_h);
    if (!(aim > before && isfinite(aim) && isfinite(rung->product_tph) && rung->product_tph >= 0.0))
        efi_differ(l->verify->list, "the rung reaches %.10g, no more than %.10g before it", aim, before);
}

ef_status efi_limits_check_ladder(const efi_limits *l)
{
    const efi_verify *verify = l->verify;
    bought b = {.more = efi_arena_get(verify->arena, (size_t)l->count, sizeof *b.more),
                .before = efi_arena_get(verify->arena, (size_t)l->count, sizeof *b.before)};
    double *rate_tph = efi_arena_get(verify->arena, (size_t)l->intakes, sizeof *rate_tph);
    if (!b.more || !b.before || !rate_tph)
        return EF_MEMORY;
    for (int n = 0; n < verify->claim->rung_count; n++) {
        efi_text name = {0};
        efi_text_addf(&name, "rung %d of the ladder", n + 1);
        verify->list->subject = efi_text_get(&name);
        check_rising(l, n);
        const ef_status status = name.failed ? EF_MEMORY
                                             : check_rung(l, &verify->claim->rungs[n], &b, rate_tph);
        verify->list->subject = NULL;
        efi_text_free(&name);
        EF_TRY(status);
        double *const spent = b.before;
        b.before = b.more;
        b.more = spent;
    }
    return EF_OK;
}
