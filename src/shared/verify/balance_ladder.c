/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: the ladder. With the purchases of a rung the line must reach what the rung says,
 * each purchase must be used up, and what is named as limiting must be at its limit. That no smaller set of
 * purchases would have done is not checked, nor is, where the answer chose shares, what is reached. */
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
static ef_status check_limits(const efi_limits *l, const ef_balance_rung *rung, const double *more,
                              const double *rate_tph)
{
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
        if (more[r] > 0.0)
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

static ef_status check_rung(const efi_limits *l, const ef_balance_rung *rung, double *more, double *rate_tph)
{
    const efi_verify *verify = l->verify;
    const ef_scenario *scenario = verify->reference.scenario;
    efi_differences *list = verify->list;
    if (!take_purchases(l, rung, more))
        return EF_OK;
    if (!(rung->check >= 0.0 && rung->check <= EFI_VERIFY_LOOSE))
        efi_differ(list, "solved afresh the rung is said to differ by %.3g", rung->check);
    if (verify->chosen)
        return EF_OK;
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
    if (l->intakes > 1)
        return EF_OK;
    efi_differ_number(list, "the intake reached", "t/h", rung->intake_tph, rate_tph[0], 0.0);
    efi_differ_number(list, "the product reached", "t/h", rung->product_tph, l->product_tph[0] * rate_tph[0],
                      0.0);
    return check_limits(l, rung, more, rate_tph);
}

ef_status efi_limits_check_ladder(const efi_limits *l)
{
    const efi_verify *verify = l->verify;
    double *more = efi_arena_get(verify->arena, (size_t)l->count, sizeof *more);
    double *rate_tph = efi_arena_get(verify->arena, (size_t)l->intakes, sizeof *rate_tph);
    if (!more || !rate_tph)
        return EF_MEMORY;
    for (int n = 0; n < verify->claim->rung_count; n++) {
        efi_text name = {0};
        efi_text_addf(&name, "rung %d of the ladder", n + 1);
        verify->list->subject = efi_text_get(&name);
        const ef_status status = name.failed ? EF_MEMORY
                                             : check_rung(l, &verify->claim->rungs[n], more, rate_tph);
        verify->list->subject = NULL;
        efi_text_free(&name);
        EF_TRY(status);
    }
    return EF_OK;
}
