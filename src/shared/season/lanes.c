/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a change makes of the lines: lots are played from the first that it touches until the line stands
 * where it stood; then on, or on another line, from the next lot that waits for one which has moved.
 *
 * A lot whose forerunner may still be played waits for that. Where all lines wait, lots wait for each other:
 * line a stands before a lot that waits for one which is not before the place of line b, and so on, round to
 * line a. As a lot ends after it starts, lots that wait for each other without any line waiting (which could
 * be where a start is fixed) would go on getting later; so there all is played (walk.c). */
#include "shared/season/walk.h"

#include <assert.h>
#include <string.h>

enum {
    WORD = 64
};

/* ---- places ---------------------------------------------------------------------------------------------
 */

static inline int lot_at(const efi_season_walk *walk, int line, int place)
{
    const efi_season_lane *lane = &walk->lane[line];
    if (place < lane->from)
        return walk->row[line].lot[place];
    if (place < lane->until)
        return lane->trial->lot[place - lane->from];
    return walk->row[line].lot[place - lane->shift];
}

/* Where the lot of a place is in the row; -1: it is of the trial. */
static inline int old_place(const efi_season_lane *lane, int place)
{
    if (place < lane->from)
        return place;
    return place < lane->until ? -1 : place - lane->shift;
}

/* Where a lot is as the trials would have it. */
static int place_now(const efi_season_walk *walk, int lot, int *line)
{
    if (walk->laid[lot] == walk->changes) {
        *line = walk->laid_line[lot];
        return walk->laid_place[lot];
    }
    *line = walk->line_of[lot];
    const efi_season_lane *lane = &walk->lane[*line];
    const int place = walk->place_of[lot];
    return lane->trial && place >= lane->trial->until ? place + lane->shift : place;
}

/* ---- what is to be played -------------------------------------------------------------------------------
 */

static void queue_place(efi_season_lane *lane, int place)
{
    int later = place;
    if (place == lane->at)
        return;
    if (place < lane->at) {
        later = lane->at;
        lane->at = place;
    }
    if (later == EFI_SEASON_NOWHERE)
        return;
    const uint64_t bit = UINT64_C(1) << (later % WORD);
    lane->queued += (lane->queue[later / WORD] & bit) == 0;
    lane->queue[later / WORD] |= bit;
}

/* The place at which the lane is goes; the next comes. */
static void leave_place(efi_season_lane *lane)
{
    int w = lane->at / WORD;
    lane->at = EFI_SEASON_NOWHERE;
    if (lane->queued == 0)
        return;
    while (lane->queue[w] == 0) /* none is queued before the place that is left */
        w++;
    lane->at = w * WORD + __builtin_ctzll(lane->queue[w]);
    lane->queue[w] &= lane->queue[w] - 1;
    lane->queued--;
}

static const efi_season_sum *sum_before(const efi_season_row *row, int place)
{
    static const efi_season_sum none = {0};
    return place > 0 ? &row->sum[place - 1] : &none;
}

/* What can be saved at most on the lots of a row from a place on, if they come no earlier: but for restarts
 * that are saved, which is taken to be rare. */
static int64_t savings_later(const efi_season_walk *walk, const efi_season_row *row, int from)
{
    if (walk->model->is_monotone || from >= row->count)
        return 0;
    return row->sum[row->count - 1].over - sum_before(row, from)->over;
}

/* Lots of a row's places before this one may come earlier if that at `from` does, no others: none but those
 * wait for lots. */
static int free_to(efi_season_walk *walk, int line, int from)
{
    const efi_season_row *row = &walk->row[line];
    efi_season_lane *lane = &walk->lane[line];
    if (walk->model->has_passes)
        return row->count;
    if (from < lane->free_from || from > lane->free_to) {
        lane->free_from = lane->free_to = from;
        while (lane->free_to < row->count && !row->state[lane->free_to].holds)
            lane->free_to++;
    }
    return lane->free_to;
}

/* What can be saved at most on them, if they come earlier. */
static int64_t savings(efi_season_walk *walk, int line, int from)
{
    const efi_season_row *row = &walk->row[line];
    if (from >= row->count)
        return 0;
    const int to = free_to(walk, line, from);
    const efi_season_sum *all = sum_before(row, to);
    const efi_season_sum *before = sum_before(row, from);
    return all->value - all->sure - (before->value - before->sure) + savings_later(walk, row, to);
}

/* The row's place from which on the lots behind a place of the lane are its own. */
static int behind(const efi_season_lane *lane, int place)
{
    return place < lane->from ? place : place < lane->until ? lane->trial->until : place - lane->shift;
}

static void sum_others(efi_season_walk *walk, int line)
{
    walk->others = 0;
    for (int k = 0; k < walk->model->problem->lines; k++)
        if (k != line && walk->lane[k].at != EFI_SEASON_NOWHERE)
            walk->others += walk->lane[k].slack;
}

/* Lots that wait for one which has moved are played. */
static void queue_followers(efi_season_walk *walk, int lot, bool early)
{
    for (int l = walk->model->follower[lot]; l >= 0; l = walk->model->next_follower[l]) {
        int line;
        const int place = place_now(walk, l, &line);
        efi_season_lane *lane = &walk->lane[line];
        const int64_t slack = early ? savings(walk, line, behind(lane, place))
                                    : savings_later(walk, &walk->row[line], behind(lane, place));
        if (lane->at == EFI_SEASON_NOWHERE)
            lane->slack = 0;
        lane->slack = slack > lane->slack ? slack : lane->slack;
        lane->early = lane->early || early;
        queue_place(lane, place);
    }
}

/* ---- laying out -----------------------------------------------------------------------------------------
 */

static int64_t close_after(const efi_season_walk *walk, int line, int lot)
{
    return efi_season_setup_of(walk->model, line, lot, walk->model->problem->lots)->value;
}

/* Of the lots of a trial, and of the next. */
static int64_t changeovers(const efi_season_walk *walk, int line)
{
    const efi_season_lane *lane = &walk->lane[line];
    const int *mine = lane->trial->lot;
    int last = lane->from > 0 ? walk->row[line].lot[lane->from - 1] : walk->model->problem->lots;
    int64_t value = 0;
    for (int i = 0; i < lane->trial->count; i++) {
        value += efi_season_setup_of(walk->model, line, last, mine[i])->value;
        last = mine[i];
    }
    if (lane->until < lane->count)
        value += efi_season_setup_of(walk->model, line, last, lot_at(walk, line, lane->until))->value;
    return value;
}

static void lay_trial(efi_season_walk *walk, const efi_season_trial *trial)
{
    const int line = trial->line;
    const efi_season_row *row = &walk->row[line];
    efi_season_lane *lane = &walk->lane[line];
    lane->trial = trial;
    lane->from = trial->from;
    lane->until = trial->from + trial->count;
    lane->shift = lane->until - trial->until;
    lane->count = row->count + lane->shift;
    walk->lines -= sum_before(row, trial->until)->value - sum_before(row, trial->from)->value;
    if (row->count > 0)
        walk->lines -= close_after(walk, line, row->lot[row->count - 1]);
    if (lane->count > 0)
        walk->lines += close_after(walk, line, lot_at(walk, line, lane->count - 1));
    if (lane->from < lane->count) {
        lane->at = lane->from;
        lane->early = true;
        lane->slack = savings(walk, line, trial->until);
        walk->ahead += changeovers(walk, line) -
                       (trial->until < row->count ? row->state[trial->until].sure : 0);
    }
}

/* A line as it is, nothing of it to be played; `words`: of its queue. */
static void lay_line(efi_season_lane *lane, const efi_season_row *row, size_t words)
{
    if (lane->queued > 0) { /* of a change that was given up */
        assert(lane->queue);
        memset(lane->queue, 0, words * sizeof *lane->queue);
    }
    lane->trial = NULL;
    lane->from = lane->until = lane->count = row->count;
    lane->shift = lane->queued = lane->listed = 0;
    lane->at = EFI_SEASON_NOWHERE;
    lane->early = false;
    lane->slack = 0;
    lane->free_from = 0;
    lane->free_to = -1;
}

static void lay_out(efi_season_walk *walk)
{
    const size_t words = (size_t)walk->model->problem->lots / WORD + 1;
    walk->lines = walk->ahead = 0;
    for (int line = 0; line < walk->model->problem->lines; line++) {
        lay_line(&walk->lane[line], &walk->row[line], words);
        walk->lines += walk->row[line].value;
    }
    for (int t = 0; t < walk->trials; t++)
        lay_trial(walk, &walk->trial[t]);
    if (!walk->model->has_passes)
        return;
    for (int t = 0; t < walk->trials; t++) {
        for (int i = 0; i < walk->trial[t].count; i++) {
            const int lot = walk->trial[t].lot[i];
            walk->laid[lot] = walk->changes;
            walk->laid_line[lot] = walk->trial[t].line;
            walk->laid_place[lot] = walk->trial[t].from + i;
        }
    }
    for (int t = 0; t < walk->trials; t++)
        for (int i = 0; i < walk->trial[t].count; i++)
            queue_followers(walk, walk->trial[t].lot[i], true);
}

/* ---- playing --------------------------------------------------------------------------------------------
 */

static bool same_depth(const efi_season_through *t, const efi_season_depth *a, const efi_season_depth *b)
{
    int64_t first_w = INT64_MAX; /* a team that is free before any station is, is free */
    for (int m = 0; m < t->stations; m++) {
        if (a->end_w[m] != b->end_w[m])
            return false;
        first_w = a->end_w[m] < first_w ? a->end_w[m] : first_w;
    }
    for (int i = 0; i < t->teams; i++)
        if (a->team_w[i] != b->team_w[i] && (a->team_w[i] > first_w || b->team_w[i] > first_w))
            return false;
    return true;
}

/* Does the lot have to wait for one that may still be played? */
static bool has_to_wait(const efi_season_walk *walk, int line, int lot)
{
    if (!walk->model->hot[line][lot].waits)
        return false;
    int other;
    const int place = place_now(walk, walk->model->problem->lot[lot].after, &other);
    return walk->lane[other].at <= place;
}

/* Where the line stands before a place. */
static void stand_before(const efi_season_walk *walk, int line, int place, efi_season_state *state,
                         efi_season_depth *depth)
{
    const efi_season_lane *lane = &walk->lane[line];
    const bool deep = walk->model->through[line].stations > 0;
    if (place == 0) {
        efi_season_begin(walk->model, line, state, depth);
    } else if (lane->played[place - 1] == walk->changes) {
        *state = lane->state[place - 1];
        if (deep)
            *depth = lane->depth[place - 1];
    } else {
        const int old = old_place(lane, place - 1);
        *state = walk->row[line].state[old];
        if (deep)
            *depth = walk->row[line].depth[old];
    }
}

static efi_season_step step_of(const efi_season_walk *walk, int line, int lot)
{
    const efi_season_model *model = walk->model;
    efi_season_step step = efi_season_step_of(model, line, lot);
    if (!model->hot[line][lot].waits)
        return step;
    const efi_season_lot *of = &model->problem->lot[lot];
    const int64_t ready_s = walk->moment[of->after].end_s + of->after_s;
    if (ready_s > of->arrives_s)
        step.arrives_w = efi_season_clock_work(&model->clock[line], ready_s);
    return step;
}

static void keep_place(efi_season_walk *walk, int line, int place, const efi_season_state *state,
                       const efi_season_depth *depth)
{
    efi_season_lane *lane = &walk->lane[line];
    if (lane->played[place] != walk->changes) {
        lane->played[place] = walk->changes;
        lane->list[lane->listed++] = place;
    }
    lane->state[place] = *state;
    if (walk->model->through[line].stations > 0)
        lane->depth[place] = *depth;
}

/* Plays the place at which the lane is; false past the limit. */
static bool play_place(efi_season_walk *walk, int line, efi_season_state *state, efi_season_depth *depth,
                       int64_t limit)
{
    efi_season_lane *lane = &walk->lane[line];
    const efi_season_row *row = &walk->row[line];
    const efi_season_through *through = &walk->model->through[line];
    const int place = lane->at;
    const int lot = lot_at(walk, line, place);
    const int old = old_place(lane, place);
    const bool again = lane->played[place] == walk->changes;
    const efi_season_state *was = again ? &lane->state[place] : old >= 0 ? &row->state[old] : NULL;
    const efi_season_depth *was_deep = again ? &lane->depth[place] : old >= 0 ? &row->depth[old] : NULL;
    const efi_season_step step = step_of(walk, line, lot);
    const int64_t end_s = walk->moment[lot].end_s;
    leave_place(lane);
    efi_season_note_moved(walk, lot);
    walk->steps++;
    state->value = state->sure = state->over = 0;
    efi_season_next(walk->model, &step, state, depth, &walk->moment[lot], NULL);
    walk->lines += state->value - (was ? was->value : 0);
    walk->ahead -= state->sure - (was ? was->sure : 0);
    const bool same = was && state->at_w == was->at_w &&
                      (through->stations == 0 || same_depth(through, depth, was_deep));
    const bool later = was && state->at_w >= was->at_w;
    keep_place(walk, line, place, state, depth);
    if (!same && place + 1 < lane->count)
        queue_place(lane, place + 1);
    if (walk->model->follower[lot] >= 0 && walk->moment[lot].end_s != end_s) {
        queue_followers(walk, lot, walk->moment[lot].end_s < end_s);
        sum_others(walk, line);
    }
    const int next = behind(lane, lane->at == EFI_SEASON_NOWHERE ? lane->count : lane->at);
    lane->slack = lane->at == EFI_SEASON_NOWHERE                      ? 0
                  : (same || later) && !(lane->early && lane->queued) ? savings_later(walk, row, next)
                                                                      : savings(walk, line, next);
    return walk->lines + walk->ahead - walk->others - lane->slack <= limit;
}

/* Plays a line until its next lot has to wait, or none is left. */
static bool play_lane(efi_season_walk *walk, int line, int64_t limit)
{
    efi_season_lane *lane = &walk->lane[line];
    efi_season_state state;
    efi_season_depth depth;
    int stands = -1; /* before that place */
    sum_others(walk, line);
    while (lane->at != EFI_SEASON_NOWHERE && !has_to_wait(walk, line, lot_at(walk, line, lane->at))) {
        const int place = lane->at;
        if (stands != place)
            stand_before(walk, line, place, &state, &depth);
        if (!play_place(walk, line, &state, &depth, limit))
            return false;
        stands = place + 1;
    }
    return true;
}

efi_season_played efi_season_lanes_play(efi_season_walk *walk, int64_t limit)
{
    const int lines = walk->model->problem->lines;
    const uint64_t most = walk->steps + 4 * (uint64_t)walk->model->problem->lots;
    lay_out(walk);
    sum_others(walk, -1);
    if (walk->lines + walk->ahead - walk->others > limit)
        return EFI_SEASON_PLAYED_DEAR;
    for (bool goes = true; goes;) {
        const uint64_t before = walk->steps;
        goes = false;
        for (int t = walk->trials - 1; t >= 0; t--) /* the last first: there lots are added, which costs */
            if (!play_lane(walk, walk->trial[t].line, limit))
                return EFI_SEASON_PLAYED_DEAR;
        for (int line = 0; line < lines; line++)
            if (!play_lane(walk, line, limit))
                return EFI_SEASON_PLAYED_DEAR;
        for (int line = 0; line < lines; line++)
            goes = goes || walk->lane[line].at != EFI_SEASON_NOWHERE;
        if (goes && (walk->steps == before || walk->steps > most))
            return EFI_SEASON_PLAYED_VAIN;
    }
    return EFI_SEASON_PLAYED_WELL;
}
