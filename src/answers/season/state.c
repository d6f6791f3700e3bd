/* SPDX-License-Identifier: GPL-3.0-or-later
 * What has become of each lot at the moment from which is planned: by the scenario, and by the plan that is
 * taken up. */
#include "answers/season/problem.h"

static ef_season_state state_of(int state)
{
    switch ((efi_lot_state)state) {
    case EFI_LOT_FROZEN:
        return EF_SEASON_FROZEN;
    case EFI_LOT_RUNNING:
        return EF_SEASON_RUNNING;
    case EFI_LOT_DONE:
        return EF_SEASON_DONE;
    case EFI_LOT_WAITING:
    case EFI_LOT_STATES:
        break;
    }
    return EF_SEASON_WAITING;
}

/* Working seconds of a lot between two moments, restarts aside. */
static double net_s(const efi_season_case *of, int line, int64_t from, int64_t to)
{
    const efi_timetable *time = &of->time[line];
    const efi_value restart_h = of->scenario->season->restart_h;
    int64_t from_s = efi_season_to_second(of->scenario, from);
    int64_t to_s = efi_season_to_second(of->scenario, to);
    from_s = from_s < time->from_s ? time->from_s : from_s;
    to_s = to_s > time->to_s ? time->to_s : to_s;
    if (from_s >= to_s)
        return 0.0;
    return (double)efi_timetable_worked(time, from_s, to_s) - efi_timetable_restarts(time, from_s, to_s) *
                                                                  (restart_h.given ? restart_h.value : 0.0) *
                                                                  EFI_HOUR_S;
}

/* By the plan a lot has ended by `at`, or has begun. */
static void take_up(const efi_season_case *of, int lot, int line)
{
    const efi_plan_lot *planned = &of->planned[lot];
    efi_lot_now *now = &of->now[lot];
    if (now->state == EF_SEASON_DONE || planned->start == EF_SEASON_NONE || planned->end == EF_SEASON_NONE ||
        planned->start >= of->at)
        return;
    /* what is left of a lot that is running by the scenario is so at the beginning of the season */
    const bool was_running = now->state == EF_SEASON_RUNNING && planned->start < of->from;
    const int64_t since = was_running ? of->from : planned->start;
    now->line = line;
    now->start = planned->start;
    now->end = planned->end;
    now->state = planned->end <= of->at ? EF_SEASON_DONE : EF_SEASON_RUNNING;
    if (now->state == EF_SEASON_DONE) {
        now->left_t = 0.0;
        return;
    }
    const double whole_s = net_s(of, line, since, planned->end);
    const double done_s = net_s(of, line, since, of->at);
    if (whole_s > 0.0 && done_s > 0.0)
        now->left_t *= done_s < whole_s ? 1.0 - done_s / whole_s : 0.0;
}

static void find_state(const efi_scenario_lot *lot, efi_lot_now *now)
{
    *now = (efi_lot_now){.state = state_of(lot->state),
                         .line = -1,
                         .start = EF_SEASON_NONE,
                         .end = EF_SEASON_NONE,
                         .left_t = lot->left_t.given ? lot->left_t.value : lot->amount_t.value};
    if (now->state == EF_SEASON_WAITING)
        return;
    now->line = lot->line;
    if (lot->starts.moment.given)
        now->start = lot->starts.moment.value;
    if (now->state == EF_SEASON_DONE)
        now->left_t = 0.0;
}

ef_status efi_season_find_states(efi_season_case *of)
{
    const ef_season_plan *plan = of->settings->plan;
    of->now = efi_arena_get(of->arena, (size_t)of->lot_count, sizeof *of->now);
    if (!of->now)
        return EF_MEMORY;
    for (int l = 0; l < of->lot_count; l++)
        find_state(&of->lots[l], &of->now[l]);
    for (int line = 0; plan && of->planned && of->settings->has_at && line < plan->line_count; line++)
        for (int i = 0; i < plan->lines[line].count; i++)
            take_up(of, plan->lines[line].lots[i].lot, line);
    return EF_OK;
}
