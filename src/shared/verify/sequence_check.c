/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/sequence_check.h"

/* Value of an array that may be missing. */
static int64_t given(const int64_t *array, int index, int64_t otherwise)
{
    return array ? array[index] : otherwise;
}

static int place_of(const int *order, int count, int lot)
{
    for (int k = 0; k < count; k++)
        if (order[k] == lot)
            return k;
    return -1;
}

static bool is_permutation(const int *order, int lots)
{
    for (int k = 0; k < lots; k++)
        if (order[k] < 0 || order[k] >= lots || place_of(order, k, order[k]) >= 0)
            return false;
    return true;
}

/* Adds the changeover to the account; returns its ticks. */
static int64_t change_over(const efi_sequence_problem *p, int from, int to, efi_sequence_account *account)
{
    const int64_t ticks = p->setup_time[from * (p->lots + 1) + to];
    const int64_t cost = p->setup_cost ? p->setup_cost[from * (p->lots + 1) + to] : ticks;
    if (ticks == EFI_SEQUENCE_FORBIDDEN || cost == EFI_SEQUENCE_FORBIDDEN) {
        account->forbidden++;
        return 0;
    }
    account->setup += cost;
    return ticks;
}

efi_sequence_account efi_sequence_check(const efi_sequence_problem *p, const int *order, int run,
                                        int64_t *start, int64_t *end)
{
    efi_sequence_account account = {.is_order = run >= 0 && run <= p->lots &&
                                                is_permutation(order, p->lots) &&
                                                (run == p->lots || p->refusal)};
    if (!account.is_order)
        return account;
    int64_t clock = 0;
    int from = p->lots;
    for (int k = 0; k < run; k++) {
        const int lot = order[k];
        const int64_t release = given(p->release, lot, 0);
        const int64_t ticks = change_over(p, from, lot, &account);
        if (!p->cleaned_before_release && clock < release)
            clock = release;
        clock += ticks;
        if (p->cleaned_before_release && clock < release)
            clock = release;
        const int64_t begun = clock;
        clock += given(p->work, lot, 0);
        if (begun > given(p->start_latest, lot, EFI_SEQUENCE_NONE) ||
            clock > given(p->end_latest, lot, EFI_SEQUENCE_NONE))
            account.late_starts++;
        const int64_t due = given(p->due, lot, EFI_SEQUENCE_NONE);
        if (due != EFI_SEQUENCE_NONE && clock > due)
            account.tardiness += given(p->weight, lot, 0) * (clock - due);
        if (start)
            start[k] = begun;
        if (end)
            end[k] = clock;
        from = lot;
    }
    account.makespan = run > 0 ? clock + change_over(p, from, p->lots, &account) : 0;
    for (int i = 0; i < p->pairs; i++) {
        const int first = place_of(order, run, p->before[i][0]);
        const int second = place_of(order, run, p->before[i][1]);
        if (first >= 0 && second >= 0 && first >= second)
            account.pairs_broken++;
    }
    for (int k = run; k < p->lots; k++)
        account.refusal += p->refusal[order[k]];
    account.price = p->setup_price * account.setup + account.tardiness +
                    p->makespan_price * account.makespan + account.refusal;
    return account;
}
