/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/season/order.h"

#include <string.h>

int efi_season_fixed(const efi_season_case *of, const efi_season_order *order, int line)
{
    int count = 0;
    for (int i = order->first[line]; i < order->first[line + 1]; i++) {
        const efi_season_lot *lot = &of->problem.lot[order->lot[i]];
        if (lot->fixed_line < 0 || lot->fixed_place < 0)
            break;
        count++;
    }
    return count;
}

void efi_season_insert(const efi_season_case *of, const efi_season_order *order, int lot, int line, int place,
                       efi_season_order *into)
{
    const int count = order->first[of->lines];
    const int at = order->first[line] + place;
    memcpy(into->lot, order->lot, (size_t)at * sizeof *into->lot);
    into->lot[at] = lot;
    memcpy(into->lot + at + 1, order->lot + at, (size_t)(count - at) * sizeof *into->lot);
    for (int k = 0; k <= of->lines; k++)
        into->first[k] = order->first[k] + (k > line);
}

void efi_season_take_out(const efi_season_case *of, efi_season_order *order, int lot)
{
    const int count = order->first[of->lines];
    int at = 0;
    while (at < count && order->lot[at] != lot)
        at++;
    if (at == count)
        return;
    memmove(order->lot + at, order->lot + at + 1, (size_t)(count - at - 1) * sizeof *order->lot);
    for (int k = 0; k <= of->lines; k++)
        order->first[k] -= order->first[k] > at;
}

/* ---- the order of a plan --------------------------------------------------------------------------------
 */

static bool may_run(const efi_season_case *of, int line, int lot)
{
    return of->problem.work_s[(size_t)line * (size_t)of->problem.lots + (size_t)lot] > 0;
}

/* Lots that have begun, in the order of their places. */
static void add_begun(const efi_season_case *of, int line, efi_season_order *order, bool *placed)
{
    const efi_season_problem *p = &of->problem;
    for (bool found = true; found;) {
        int next = -1;
        for (int e = 0; e < p->lots; e++)
            if (!placed[e] && p->lot[e].fixed_line == line && p->lot[e].fixed_place >= 0 &&
                (next < 0 || p->lot[e].fixed_place < p->lot[next].fixed_place))
                next = e;
        found = next >= 0;
        if (!found)
            break;
        order->lot[order->first[line + 1]++] = next;
        placed[next] = true;
    }
}

static void add_planned(const efi_season_case *of, int line, efi_season_order *order, bool *placed)
{
    const ef_season_plan *plan = of->settings->plan;
    for (int i = 0; plan && line < plan->line_count && i < plan->lines[line].count; i++) {
        const int e = of->now[plan->lines[line].lots[i].lot].engine;
        if (e < 0 || placed[e] || !may_run(of, line, e))
            continue;
        order->lot[order->first[line + 1]++] = e;
        placed[e] = true;
    }
}

/* Lots that the plan lacks go to the end of the line on which they are run first. */
static void add_others(const efi_season_case *of, efi_season_order *order, const bool *placed,
                       efi_season_order *scratch)
{
    for (int e = 0; e < of->problem.lots; e++) {
        int line = 0;
        if (placed[e])
            continue;
        while (line + 1 < of->lines && !may_run(of, line, e))
            line++;
        efi_season_insert(of, order, e, line, order->first[line + 1] - order->first[line], scratch);
        memcpy(order->lot, scratch->lot, (size_t)scratch->first[of->lines] * sizeof *order->lot);
        memcpy(order->first, scratch->first, sizeof order->first);
    }
}

/* Puts one lot where it costs least. */
static ef_status settle(const efi_season_case *of, efi_season_judge *judge, int lot, efi_season_order *order,
                        efi_season_order *scratch)
{
    efi_season_cost least = {0};
    int best_line = -1;
    int best_place = 0;
    efi_season_take_out(of, order, lot);
    for (int line = 0; line < of->lines; line++) {
        for (int place = efi_season_fixed(of, order, line);
             may_run(of, line, lot) && place <= order->first[line + 1] - order->first[line]; place++) {
            efi_season_cost cost;
            efi_season_insert(of, order, lot, line, place, scratch);
            EF_TRY(efi_season_judge_order(judge, scratch, NULL, &cost));
            if (best_line >= 0 && !efi_season_is_better(&cost, &least))
                continue;
            least = cost;
            best_line = line;
            best_place = place;
        }
    }
    if (EF_NEVER(best_line < 0))
        return EF_INTERNAL;
    efi_season_insert(of, order, lot, best_line, best_place, scratch);
    memcpy(order->lot, scratch->lot, (size_t)of->problem.lots * sizeof *order->lot);
    memcpy(order->first, scratch->first, sizeof order->first);
    return EF_OK;
}

static ef_status settle_others(const efi_season_case *of, efi_season_order *order, const bool *placed,
                               efi_season_order *scratch)
{
    efi_season_judge *judge = NULL;
    ef_status status = EF_OK;
    for (int e = 0; e < of->problem.lots && status == EF_OK; e++) {
        if (placed[e])
            continue;
        if (!judge)
            status = efi_season_judge_new(&of->problem, &judge);
        if (status == EF_OK)
            status = settle(of, judge, e, order, scratch);
    }
    efi_season_judge_free(judge);
    return status;
}

ef_status efi_season_order_of_plan(const efi_season_case *of, efi_season_order *order)
{
    const size_t lots = (size_t)of->problem.lots;
    bool *placed = efi_arena_get(of->arena, lots, sizeof *placed);
    efi_season_order scratch = {.lot = efi_arena_get(of->arena, lots + 1, sizeof *scratch.lot)};
    *order = (efi_season_order){.lot = efi_arena_get(of->arena, lots + 1, sizeof *order->lot)};
    if (!placed || !scratch.lot || !order->lot)
        return EF_MEMORY;
    for (int line = 0; line < of->lines; line++) {
        order->first[line + 1] = order->first[line];
        add_begun(of, line, order, placed);
        add_planned(of, line, order, placed);
    }
    add_others(of, order, placed, &scratch);
    return settle_others(of, order, placed, &scratch);
}
