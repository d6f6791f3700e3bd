/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: are the shares that the answer chose good ones?
 *
 * The aim is not concave in the shares, so what is claimed is a local best and a bound that no shares pass.
 * Both are tried out: a part of one branch's share goes to another, for each pair of branches of a split and
 * steps of several sizes, the best rates are found anew, and
 *   - a small step must not do better than the claim;
 *   - no step, however large, may do better than the bound;
 *   - where the rule is `first with room`, no step from a later branch to an earlier one may do as well as
 * the claim: the earlier branch then had room;
 *   - where it is said that demands cannot be met, no step may meet them, nor may it bring an outlet more
 * than the most that it is said to get. Least purities are asked for in full here, so that a step cannot gain
 * by the trace that may be missing. */
#include "shared/verify/shares.h"

#include <math.h>

/* Steps, in share. Up to SMALL they count against the claim. */
static const double steps[] = {1e-5, 1e-4, 1e-3, 0.03, 0.2, 1.0};
#define SMALL 1e-3
/* Gains below this share of the size of the aim are within what the answer claims. */
#define GAIN_SHARE EFI_DIFFERENCE_SHARE
/* By `first with room`, a step that loses less than this share of it loses nothing. */
#define LOSS_SHARE 1e-12
/* Smaller steps say nothing. */
#define LEAST_STEP 1e-6

enum {
    MOST_TRIALS = 2000 /* of one crop; of more, evenly chosen ones are made */
};

/* What is claimed, to hold trials against. */
typedef struct claimed {
    const efi_limits *limits;
    const efi_branches *branches;
    double aim;       /* at the claimed rates */
    double size;      /* of the terms of the aim */
    double best;      /* recomputed at the claimed shares, purities in full */
    double bound_aim; /* without the cost of idle power */
} claimed;

static const char *branch_name(const efi_verify *verify, const efi_branch *branch, const char **split)
{
    const efi_reference *reference = &verify->reference;
    int s = 0;
    while (reference->first_discharge[s + 1] <= branch->discharge)
        s++;
    const efi_station *station = &reference->scenario->stations[s];
    *split = station->name;
    return station->discharges.items[branch->discharge - reference->first_discharge[s]].name;
}

static void tell(const claimed *c, int from, int to, double step, const char *what, double found)
{
    const efi_verify *verify = c->limits->verify;
    const char *giver = branch_name(verify, &c->branches->items[from], &verify->list->subject);
    const char *taker = branch_name(verify, &c->branches->items[to], &verify->list->subject);
    efi_differ(verify->list, "with %.3g more for the branch \"%s\" and less for \"%s\" %s%.10g", step, taker,
               giver, what, found);
    verify->list->subject = NULL;
}

/* Are the demands met at these limits, and how good is it? -INFINITY when they are not. */
static ef_status find_best(const efi_limits *l, double *best)
{
    const efi_limits_form form = {.demand = 1.0, .purities = true};
    return efi_limits_best(l, &form, l->aim, best, NULL);
}

/* Against a claim that demands cannot be met. */
static ef_status judge_conflict(const claimed *c, const efi_trial *trial, int from, int to, double step)
{
    const efi_limits *l = &trial->limits;
    const ef_balance_crop *claim = l->verify->claim;
    double best;
    EF_TRY(find_best(l, &best));
    if (best > -INFINITY && l->demand_count > 0)
        tell(c, from, to, step, "all demands are met, for an aim of ", best);
    for (int n = 0; n < claim->conflict_count; n++) {
        const ef_balance_conflict *conflict = &claim->conflicts[n];
        for (int d = 0; d < l->demand_count && conflict->demand == EF_BALANCE_LEAST_RATE; d++) {
            const efi_limit *demand = &l->items[l->demands[d]];
            if (demand->station != efi_verify_find(l->verify, conflict->outlet))
                continue;
            const efi_limits_form form = {.purities = true};
            EF_TRY(efi_limits_best(l, &form, demand->used, &best, NULL));
            if (best * demand->value > conflict->most_tph + EFI_VERIFY_LOOSE * demand->value)
                tell(c, from, to, step, "an outlet gets more than its most, t/h: ", best * demand->value);
        }
    }
    return EF_OK;
}

static ef_status judge(const claimed *c, const efi_trial *trial, int from, int to, double step)
{
    if (!c->limits->verify->claim->feasible)
        return judge_conflict(c, trial, from, to, step);
    double best;
    EF_TRY(find_best(&trial->limits, &best));
    if (step <= SMALL && best > c->aim + GAIN_SHARE * c->size)
        tell(c, from, to, step, "the aim is better: ", best);
    if (best > c->bound_aim + EFI_DIFFERENCE_SHARE * c->size)
        tell(c, from, to, step, "the aim passes the bound: ", best);
    if (to < from && c->branches->first_with_room[c->branches->items[to].split] &&
        best >= fmax(c->best, c->aim) - LOSS_SHARE * c->size)
        tell(c, from, to, step, "the aim is as good, though that branch comes first: ", best);
    return EF_OK;
}

static ef_status try_pair(const claimed *c, int from, int to, int *trials, int stride)
{
    const efi_branch *giver = &c->branches->items[from];
    const efi_branch *taker = &c->branches->items[to];
    const double room = fmin(giver->share - giver->least, taker->most - taker->share);
    bool all = false;
    for (size_t k = 0; k < EF_COUNT(steps) && room >= LEAST_STEP && !all; k++) {
        const double step = fmin(steps[k], room);
        all = step >= room;
        if ((*trials)++ % stride != 0)
            continue;
        efi_trial trial;
        ef_status status = efi_trial_build(&trial, c->limits->verify, c->branches, from, to, step, 0.0);
        if (status == EF_OK && trial.flows)
            status = judge(c, &trial, from, to, step);
        efi_trial_free(&trial);
        EF_TRY(status);
    }
    return EF_OK;
}

static ef_status try_all(const claimed *c)
{
    const efi_branches *branches = c->branches;
    long trials_in_all = 0;
    for (int b = 0; b < branches->count; b++) {
        const int split = branches->items[b].split;
        trials_in_all += (branches->first[split + 1] - branches->first[split] - 1) * (long)EF_COUNT(steps);
    }
    const int stride = 1 + (int)(trials_in_all / MOST_TRIALS);
    int trials = 0;
    for (int from = 0; from < branches->count; from++) {
        const int split = branches->items[from].split;
        for (int to = branches->first[split]; to < branches->first[split + 1]; to++)
            if (to != from)
                EF_TRY(try_pair(c, from, to, &trials, stride));
    }
    return EF_OK;
}

ef_status efi_limits_check_shares(const efi_limits *l)
{
    const efi_verify *verify = l->verify;
    const ef_scenario *scenario = verify->reference.scenario;
    if (!verify->chosen)
        return EF_OK;
    if (scenario->plant->power_limit_kw.given && efi_verify_power_left(verify) <= 0.0)
        return EF_OK; /* no shares help against that */
    efi_branches branches;
    EF_TRY(efi_branches_list(&branches, verify));
    claimed c = {.limits = l, .branches = &branches, .best = -INFINITY};
    for (int i = 0; i < l->intakes; i++) {
        c.aim += l->aim[i] * verify->rate_tph[i];
        c.size += fabs(l->aim[i]) * fmax(verify->rate_tph[i], EFI_VERIFY_LOOSE * l->scale_tph[i]);
    }
    const bool by_value = verify->aim == EF_BALANCE_VALUE;
    c.bound_aim = verify->claim->bound +
                  (by_value ? scenario->plant->energy_price.value * efi_verify_idle(verify) : 0.0);
    efi_trial here;
    ef_status status = efi_trial_build(&here, verify, &branches, 0, 0, 0.0, 0.0);
    if (status == EF_OK && here.flows)
        status = find_best(&here.limits, &c.best);
    efi_trial_free(&here);
    return status == EF_OK ? try_all(&c) : status;
}
