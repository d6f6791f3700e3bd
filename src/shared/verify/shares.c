/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/shares.h"

#include <math.h>
#include <string.h>

/* Step of a difference. Its error is about the square of it, and rounding over it. */
#define DIFFERENCE_STEP 1e-5

/* ---- which branches -------------------------------------------------------------------------------------
 */

ef_status efi_branches_list(efi_branches *branches, const efi_verify *verify)
{
    const efi_reference *reference = &verify->reference;
    const ef_balance_crop *claim = verify->claim;
    size_t room = 1;
    for (int i = 0; i < claim->split_count; i++)
        room += (size_t)claim->splits[i].branch_count;
    *branches = (efi_branches){0};
    branches->items = efi_arena_get(verify->arena, room, sizeof *branches->items);
    branches->first = efi_arena_get(verify->arena, (size_t)claim->split_count + 1, sizeof(int));
    branches->first_with_room = efi_arena_get(verify->arena, (size_t)claim->split_count + 1, sizeof(bool));
    if (!branches->items || !branches->first || !branches->first_with_room)
        return EF_MEMORY;
    for (int i = 0; i < claim->split_count; i++) {
        const int s = efi_verify_find(verify, claim->splits[i].name);
        const efi_station *station = s < 0 ? NULL : &reference->scenario->stations[s];
        int at = 0;
        if (!station || station->kind != EFI_STATION_SPLIT || station->split_rule == EFI_SPLIT_FIXED)
            continue;
        for (int d = 0; d < station->discharges.count && at < claim->splits[i].branch_count; d++) {
            const efi_discharge *way = &station->discharges.items[d];
            if (way->to[reference->crop] < 0)
                continue;
            branches->items[branches->count++] = (efi_branch){
                .discharge = reference->first_discharge[s] + d,
                .split = branches->splits,
                .share = fmax(claim->splits[i].branches[at++].share, 0.0),
                .least = way->least_share.given ? way->least_share.value : 0.0,
                .most = way->most_share.given ? way->most_share.value : 1.0};
        }
        branches->first_with_room[branches->splits] = station->split_rule == EFI_SPLIT_FIRST;
        branches->first[++branches->splits] = branches->count;
    }
    return EF_OK;
}

/* ---- one trial ------------------------------------------------------------------------------------------
 */

static ef_status set_share(const efi_trial *trial, const double **shares, const efi_branch *branch,
                           double share)
{
    const size_t materials = (size_t)trial->verify.reference.materials;
    double *each = efi_arena_get(trial->arena, materials, sizeof *each);
    if (!each)
        return EF_MEMORY;
    for (size_t m = 0; m < materials; m++)
        each[m] = share;
    shares[branch->discharge] = each;
    return EF_OK;
}

ef_status efi_trial_build(efi_trial *trial, const efi_verify *verify, const efi_branches *branches, int from,
                          int to, double step, double purity_slack)
{
    *trial = (efi_trial){.arena = efi_arena_new(), .verify = *verify};
    if (!trial->arena)
        return EF_MEMORY;
    efi_reference *reference = &trial->verify.reference;
    const size_t discharges = (size_t)reference->first_discharge[reference->stations];
    const double **shares = efi_arena_get(trial->arena, discharges, sizeof *shares);
    if (!shares)
        return EF_MEMORY;
    memcpy(shares, reference->share, discharges * sizeof *shares);
    trial->verify.arena = trial->arena;
    trial->verify.purity_slack = purity_slack;
    if (from != to) {
        const efi_branch *giver = &branches->items[from];
        const efi_branch *taker = &branches->items[to];
        EF_TRY(set_share(trial, shares, giver, fmax(giver->share - step, 0.0)));
        EF_TRY(set_share(trial, shares, taker, fmax(taker->share + step, 0.0)));
    }
    reference->share = shares;
    const ef_status status = efi_reference_solve(reference, trial->arena);
    if (status != EF_OK)
        return status == EF_INTERNAL ? EF_OK : status;
    trial->flows = true;
    return efi_limits_build(&trial->limits, &trial->verify);
}

void efi_trial_free(efi_trial *trial)
{
    efi_arena_free(trial->arena);
}

/* ---- slopes ---------------------------------------------------------------------------------------------
 */

/* Adds `factor` times what a trial says at the claimed rates to column `n`. */
static void add_trial(const efi_slopes *slopes, const efi_limits *l, const efi_limits *of, int n,
                      double factor)
{
    for (int i = 0; i < l->intakes; i++) {
        const double rate_tph = l->verify->rate_tph[i];
        for (int r = 0; r < l->count; r++)
            slopes->used[(size_t)r * (size_t)slopes->count + (size_t)n] += factor * rate_tph *
                                                                           of->items[r].used[i];
        slopes->aim[n] += factor * rate_tph * of->aim[i];
        slopes->product_tph[n] += factor * rate_tph * of->product_tph[i];
    }
}

/* One column. f' = (f(h) - f(-h)) / 2h, or (4 f(h) - 3 f(0) - f(2h)) / 2h where the share is 0. */
static ef_status find_slope(const efi_slopes *slopes, const efi_limits *l, const efi_branches *branches,
                            int n)
{
    const double h = DIFFERENCE_STEP;
    const bool central = branches->items[slopes->to[n]].share >= h;
    const double at[3] = {h, central ? -h : 2.0 * h, 0.0};
    const double factor[3] = {central ? 1.0 : 4.0, -1.0, central ? 0.0 : -3.0};
    ef_status status = EF_OK;
    for (int k = 0; k < 3 && status == EF_OK; k++) {
        efi_trial trial;
        status = efi_trial_build(&trial, l->verify, branches, slopes->from[n], slopes->to[n], at[k],
                                 l->verify->purity_slack);
        if (status == EF_OK && trial.flows)
            add_trial(slopes, l, &trial.limits, n, factor[k] / (2.0 * h));
        efi_trial_free(&trial);
    }
    return status;
}

ef_status efi_slopes_find(efi_slopes *slopes, const efi_limits *l, const efi_branches *branches)
{
    efi_arena *arena = l->verify->arena;
    const size_t count = (size_t)(branches->count - branches->splits);
    *slopes = (efi_slopes){.count = (int)count};
    slopes->from = efi_arena_get(arena, count + 1, sizeof *slopes->from);
    slopes->to = efi_arena_get(arena, count + 1, sizeof *slopes->to);
    slopes->used = efi_arena_get(arena, count * (size_t)l->count + 1, sizeof *slopes->used);
    slopes->aim = efi_arena_get(arena, count + 1, sizeof *slopes->aim);
    slopes->product_tph = efi_arena_get(arena, count + 1, sizeof *slopes->product_tph);
    if (!slopes->from || !slopes->to || !slopes->used || !slopes->aim || !slopes->product_tph)
        return EF_MEMORY;
    int n = 0;
    for (int split = 0; split < branches->splits; split++) {
        int largest = branches->first[split];
        for (int b = largest; b < branches->first[split + 1]; b++)
            if (branches->items[b].share > branches->items[largest].share)
                largest = b;
        for (int b = branches->first[split]; b < branches->first[split + 1]; b++) {
            if (b == largest)
                continue;
            slopes->from[n] = largest;
            slopes->to[n] = b;
            EF_TRY(find_slope(slopes, l, branches, n++));
        }
    }
    return EF_OK;
}
