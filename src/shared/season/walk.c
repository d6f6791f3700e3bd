/* SPDX-License-Identifier: GPL-3.0-or-later
 * Rows of lots, and what a change makes of them. */
#include "shared/season/walk.h"

#include <string.h>

static ef_status build_line(efi_season_walk *walk, efi_season_model *model, int line)
{
    const size_t lots = (size_t)model->problem->lots;
    efi_arena *arena = model->arena;
    efi_season_row *row = &walk->row[line];
    efi_season_trial *trial = &walk->trial[line];
    row->lot = efi_arena_get(arena, lots, sizeof *row->lot);
    row->state = efi_arena_get(arena, lots, sizeof *row->state);
    trial->lot = efi_arena_get(arena, lots, sizeof *trial->lot);
    trial->state = efi_arena_get(arena, lots, sizeof *trial->state);
    walk->sequence[line] = efi_arena_get(arena, lots, sizeof *walk->sequence[line]);
    if (!row->lot || !row->state || !trial->lot || !trial->state || !walk->sequence[line])
        return EF_MEMORY;
    /* a trial may be of any line */
    bool any = false;
    for (int k = 0; k < model->problem->lines; k++)
        any = any || model->through[k].stations > 0;
    if (!any)
        return EF_OK;
    row->depth = efi_arena_get(arena, lots, sizeof *row->depth);
    trial->depth = efi_arena_get(arena, lots, sizeof *trial->depth);
    return row->depth && trial->depth ? EF_OK : EF_MEMORY;
}

ef_status efi_season_walk_build(efi_season_walk *walk, efi_season_model *model)
{
    const size_t lots = (size_t)model->problem->lots;
    efi_arena *arena = model->arena;
    *walk = (efi_season_walk){.model = model};
    for (int line = 0; line < model->problem->lines; line++)
        EF_TRY(build_line(walk, model, line));
    walk->moment = efi_arena_get(arena, lots, sizeof *walk->moment);
    walk->moment_before = efi_arena_get(arena, lots, sizeof *walk->moment_before);
    walk->moved = efi_arena_get(arena, lots, sizeof *walk->moved);
    walk->by_coming = efi_arena_get(arena, lots, sizeof *walk->by_coming);
    walk->by_end = efi_arena_get(arena, lots, sizeof *walk->by_end);
    walk->line_of = efi_arena_get(arena, lots, sizeof *walk->line_of);
    walk->place_of = efi_arena_get(arena, lots, sizeof *walk->place_of);
    walk->play.pending = efi_arena_get(arena, lots, sizeof *walk->play.pending);
    walk->best = efi_arena_get(arena, lots, sizeof *walk->best);
    walk->least = efi_arena_get(arena, lots, sizeof *walk->least);
    const bool all = walk->moment && walk->moment_before && walk->moved && walk->by_coming && walk->by_end &&
                     walk->line_of && walk->place_of && walk->play.pending && walk->best && walk->least;
    walk->play.model = model;
    walk->play.moment = walk->moment;
    for (int l = 0; all && l < model->problem->lots; l++)
        walk->by_end[l] = walk->by_coming[l] = l;
    return all ? EF_OK : EF_MEMORY;
}

/* ---- working out ----------------------------------------------------------------------------------------
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

static void place_lot(efi_season_walk *walk, const efi_season_trial *trial, int lot, efi_season_state *state,
                      efi_season_depth *depth, int count)
{
    const efi_season_step step = efi_season_step_of(walk->model, trial->line, lot);
    walk->moved[walk->moves] = lot;
    walk->moment_before[walk->moves++] = walk->moment[lot];
    efi_season_next(walk->model, &step, state, depth, &walk->moment[lot], NULL);
    trial->state[count] = *state;
    if (walk->model->through[trial->line].stations > 0)
        trial->depth[count] = *depth;
}

/* The least that the lots after place `i` of a row can cost, when the line stands as it does. */
static inline int64_t rest(const efi_season_model *model, const efi_season_row *row, int i,
                           const efi_season_state *state)
{
    const efi_season_state *old = &row->state[i];
    if (model->is_monotone && state->at_w >= old->at_w)
        return row->value - old->value;
    if (state->at_w >= old->at_w) /* but for restarts that are saved, which is taken to be rare */
        return row->value - old->value - (row->state[row->count - 1].over - old->over);
    return row->sure - old->sure;
}

/* Plays what was after the change until the line stands where it stood; false past the limit. */
static bool play_rest(efi_season_walk *walk, efi_season_trial *trial, efi_season_state *state,
                      efi_season_depth *depth, int64_t limit)
{
    const efi_season_model *model = walk->model;
    const efi_season_row *row = &walk->row[trial->line];
    const efi_season_through *through = &model->through[trial->line];
    for (int i = trial->until; i < row->count; i++) {
        const efi_season_state *old = &row->state[i];
        place_lot(walk, trial, row->lot[i], state, depth, trial->played++);
        if (state->at_w == old->at_w &&
            (through->stations == 0 || same_depth(through, depth, &row->depth[i]))) {
            trial->value = state->value + row->value - old->value;
            trial->sure = state->sure + row->sure - old->sure;
            return trial->value <= limit;
        }
        if (state->value + rest(model, row, i, state) > limit)
            return false;
    }
    const int64_t close = efi_season_close(model, trial->line, state);
    trial->value = state->value + close;
    trial->sure = state->sure + close;
    return trial->value <= limit;
}

/* What cannot change after a trial's lots. */
static int64_t sure_rest(const efi_season_row *row, int until)
{
    return until < row->count ? row->sure - row->state[until].sure : 0;
}

/* Works out a trial; false as soon as its line is worth more than `limit`. */
static bool work_out(efi_season_walk *walk, efi_season_trial *trial, int64_t limit)
{
    const efi_season_row *row = &walk->row[trial->line];
    efi_season_state state;
    efi_season_depth depth;
    trial->played = 0;
    efi_season_begin(walk->model, trial->line, &state, &depth);
    if (trial->from > 0) {
        state = row->state[trial->from - 1];
        if (walk->model->through[trial->line].stations > 0)
            depth = row->depth[trial->from - 1];
    }
    const int64_t most = limit - sure_rest(row, trial->until);
    for (int i = 0; i < trial->count; i++) {
        place_lot(walk, trial, trial->lot[i], &state, &depth, trial->played++);
        if (state.value > most)
            return false;
    }
    return play_rest(walk, trial, &state, &depth, limit);
}

/* No less can come of a trial. */
static int64_t least_of(const efi_season_walk *walk, const efi_season_trial *trial)
{
    const efi_season_row *row = &walk->row[trial->line];
    const int64_t before = trial->from > 0 ? row->state[trial->from - 1].value : 0;
    return before + sure_rest(row, trial->until);
}

static int64_t stores_value(efi_season_walk *walk, int64_t limit)
{
    int64_t value = 0;
    if (walk->model->problem->has_raw)
        value = efi_season_store_raw(walk->model, walk->moment, walk->by_coming, limit, NULL);
    if (value <= limit && walk->model->problem->has_finished)
        value += efi_season_store_finished(walk->model, walk->moment, walk->by_end, limit - value, NULL);
    return value;
}

static const efi_season_trial *trial_of(const efi_season_walk *walk, int line)
{
    for (int t = 0; t < walk->trials; t++)
        if (walk->trial[t].line == line)
            return &walk->trial[t];
    return NULL;
}

/* What moved lots cost; `kept` gets those that have not, by line. */
static int64_t moves_value(efi_season_walk *walk)
{
    const efi_season_problem *p = walk->model->problem;
    int kept = 0;
    for (int line = 0; line < p->lines; line++) {
        const efi_season_row *row = &walk->row[line];
        const efi_season_trial *trial = trial_of(walk, line);
        walk->kept[line] = row->kept;
        if (trial) {
            const efi_season_sequence sequence = {.lot = row->lot,
                                                  .count = row->count,
                                                  .middle = trial->lot,
                                                  .middles = trial->count,
                                                  .from = trial->from,
                                                  .until = trial->until};
            walk->kept[line] = efi_season_kept(p, line, &sequence, walk->least);
        }
        kept += walk->kept[line];
    }
    return (walk->model->planned - kept) * p->move_price;
}

static int64_t lines_value(const efi_season_walk *walk)
{
    int64_t value = walk->vain * EFI_SEASON_FORBIDDEN_WEIGHT;
    for (int line = 0; line < walk->model->problem->lines; line++)
        value += walk->row[line].value;
    return value;
}

/* ---- taking over ----------------------------------------------------------------------------------------
 */

static void note_places(efi_season_walk *walk, int line, int from, int to)
{
    const efi_season_row *row = &walk->row[line];
    for (int i = from; i < to; i++) {
        walk->line_of[row->lot[i]] = line;
        walk->place_of[row->lot[i]] = i;
    }
}

static void keep_best(efi_season_walk *walk)
{
    if (walk->value >= walk->best_value)
        return;
    int count = 0;
    walk->best_value = walk->value;
    for (int line = 0; line < walk->model->problem->lines; line++) {
        const efi_season_row *row = &walk->row[line];
        walk->best_first[line] = count;
        memcpy(walk->best + count, row->lot, (size_t)row->count * sizeof *row->lot);
        count += row->count;
    }
    walk->best_first[walk->model->problem->lines] = count;
}

/* Puts the lots of a trial into an array of those of its line. */
static int put_lots(const efi_season_trial *trial, int *lot, int count)
{
    const size_t size = sizeof *lot;
    memmove(lot + trial->from + trial->count, lot + trial->until, (size_t)(count - trial->until) * size);
    memcpy(lot + trial->from, trial->lot, (size_t)trial->count * size);
    return count + trial->count - (trial->until - trial->from);
}

static void take_over(efi_season_walk *walk, const efi_season_trial *trial)
{
    efi_season_row *row = &walk->row[trial->line];
    const int shift = trial->count - (trial->until - trial->from);
    const int met = trial->until + trial->played - trial->count; /* first old place that was not played */
    const int old_count = row->count;
    if (met < old_count) {
        const efi_season_state *old = &row->state[met - 1];
        const efi_season_state *now = &trial->state[trial->played - 1];
        const efi_season_state more = {
            .value = now->value - old->value, .sure = now->sure - old->sure, .over = now->over - old->over};
        memmove(row->state + met + shift, row->state + met, (size_t)(old_count - met) * sizeof *row->state);
        if (row->depth)
            memmove(row->depth + met + shift, row->depth + met,
                    (size_t)(old_count - met) * sizeof *row->depth);
        for (int i = met + shift; i < old_count + shift; i++) {
            row->state[i].value += more.value;
            row->state[i].sure += more.sure;
            row->state[i].over += more.over;
        }
    }
    row->count = put_lots(trial, row->lot, old_count);
    memcpy(row->state + trial->from, trial->state, (size_t)trial->played * sizeof *row->state);
    if (row->depth)
        memcpy(row->depth + trial->from, trial->depth, (size_t)trial->played * sizeof *row->depth);
    row->value = trial->value;
    row->sure = trial->sure;
    note_places(walk, trial->line, trial->from, shift == 0 ? trial->from + trial->count : row->count);
}

static void put_back(efi_season_walk *walk)
{
    while (walk->moves > 0) {
        walk->moves--;
        walk->moment[walk->moved[walk->moves]] = walk->moment_before[walk->moves];
    }
}

/* ---- passes ---------------------------------------------------------------------------------------------
 */

/* Those that wait for a lot that is played are played too; false when they are already. */
static bool pull_followers(efi_season_walk *walk, int lot)
{
    bool grows = false;
    for (int l = walk->model->follower[lot]; l >= 0; l = walk->model->next_follower[l]) {
        efi_season_part *part = &walk->play.part[walk->line_of[l]];
        if (walk->place_of[l] >= part->from) /* behind a change, or moved by it */
            continue;
        part->from = walk->place_of[l];
        grows = true;
    }
    return grows;
}

/* Lots of all lines as the trials would have them, each played from the first that may move. */
static void lay_out(efi_season_walk *walk)
{
    const int lines = walk->model->problem->lines;
    for (int line = 0; line < lines; line++) {
        efi_season_row *row = &walk->row[line];
        efi_season_part *part = &walk->play.part[line];
        const efi_season_trial *trial = trial_of(walk, line);
        *part = (efi_season_part){.lot = row->lot, .count = row->count, .from = row->count};
        if (walk->vain > 0)
            part->from = 0;
        if (!trial)
            continue;
        memcpy(walk->sequence[line], row->lot, (size_t)row->count * sizeof *row->lot);
        part->lot = walk->sequence[line];
        part->count = put_lots(trial, walk->sequence[line], row->count);
        part->from = trial->from < part->from ? trial->from : part->from;
    }
    for (bool grows = true; grows;) { /* lots that wait for one that is played move too */
        grows = false;
        for (int line = 0; line < lines; line++)
            for (int i = walk->play.part[line].from; i < walk->play.part[line].count; i++)
                grows = pull_followers(walk, walk->play.part[line].lot[i]) || grows;
    }
}

/* Works out all lines; false past the limit. */
static bool play_all(efi_season_walk *walk, int64_t limit)
{
    efi_season_play *play = &walk->play;
    lay_out(walk);
    for (int line = 0; line < walk->model->problem->lines; line++) {
        const efi_season_row *row = &walk->row[line];
        efi_season_part *part = &play->part[line];
        part->state = walk->trial[line].state;
        part->depth = walk->model->through[line].stations > 0 ? walk->trial[line].depth : NULL;
        if (part->from > 0) {
            part->state[part->from - 1] = row->state[part->from - 1];
            if (part->depth)
                part->depth[part->from - 1] = row->depth[part->from - 1];
        }
        for (int i = part->from; i < part->count; i++) {
            walk->moved[walk->moves] = part->lot[i];
            walk->moment_before[walk->moves++] = walk->moment[part->lot[i]];
        }
        walk->steps += (uint64_t)(part->count - part->from);
    }
    play->limit = limit;
    return efi_season_play_all(play);
}

static void take_over_all(efi_season_walk *walk)
{
    for (int line = 0; line < walk->model->problem->lines; line++) {
        const efi_season_part *part = &walk->play.part[line];
        efi_season_row *row = &walk->row[line];
        const size_t played = (size_t)(part->count - part->from);
        if (part->lot != row->lot)
            memcpy(row->lot + part->from, part->lot + part->from, played * sizeof *row->lot);
        memcpy(row->state + part->from, part->state + part->from, played * sizeof *row->state);
        if (part->depth)
            memcpy(row->depth + part->from, part->depth + part->from, played * sizeof *row->depth);
        row->count = part->count;
        const efi_season_state *last = row->count > 0 ? &row->state[row->count - 1] : NULL;
        const int64_t close = last ? efi_season_close(walk->model, line, last) : 0;
        row->value = last ? last->value + close : 0;
        row->sure = last ? last->sure + close : 0;
        note_places(walk, line, part->from, row->count);
    }
    walk->vain = walk->play.vain;
}

/* ---- trying ---------------------------------------------------------------------------------------------
 */

/* Works out the trials of single lines; false past the limit. `value` becomes that of all lines. */
static bool work_out_all(efi_season_walk *walk, int64_t limit, int64_t *value)
{
    *value = lines_value(walk);
    for (int t = 0; t < walk->trials; t++)
        *value += least_of(walk, &walk->trial[t]) - walk->row[walk->trial[t].line].value;
    for (int t = walk->trials - 1; t >= 0; t--) { /* the last first: there lots are added, which costs */
        efi_season_trial *trial = &walk->trial[t];
        *value -= least_of(walk, trial);
        const bool good = work_out(walk, trial, limit - *value);
        walk->steps += (uint64_t)trial->played;
        if (!good)
            return false;
        *value += trial->value;
    }
    return true;
}

bool efi_season_walk_try(efi_season_walk *walk, int64_t limit)
{
    int64_t value = 0;
    bool good = false;
    walk->moves = 0;
    walk->changes++;
    if (walk->model->has_passes) {
        good = play_all(walk, limit);
        value = walk->play.value;
    } else {
        good = work_out_all(walk, limit, &value);
    }
    if (good && efi_season_has_moves(walk->model)) {
        value += moves_value(walk);
        good = value <= limit;
    }
    if (good) {
        value += stores_value(walk, limit - value);
        good = value <= limit;
    }
    if (!good) {
        put_back(walk);
        return false;
    }
    if (walk->model->has_passes)
        take_over_all(walk);
    else
        for (int t = 0; t < walk->trials; t++)
            take_over(walk, &walk->trial[t]);
    for (int line = 0; line < walk->model->problem->lines; line++)
        walk->row[line].kept = walk->kept[line];
    walk->value = value;
    keep_best(walk);
    return true;
}

void efi_season_walk_begin(efi_season_walk *walk)
{
    const efi_season_problem *p = walk->model->problem;
    walk->vain = walk->model->has_passes ? 1 : 0; /* so that all is played */
    walk->trials = 0;
    for (int line = 0; line < p->lines; line++) {
        efi_season_row *row = &walk->row[line];
        efi_season_trial *trial = &walk->trial[walk->trials++];
        row->fixed = 0;
        while (row->fixed < row->count && p->lot[row->lot[row->fixed]].fixed_line >= 0 &&
               p->lot[row->lot[row->fixed]].fixed_place >= 0)
            row->fixed++;
        trial->line = line;
        trial->from = 0;
        trial->until = trial->count = row->count;
        memcpy(trial->lot, row->lot, (size_t)row->count * sizeof *row->lot);
        row->value = row->sure = 0;
        note_places(walk, line, 0, row->count);
    }
    walk->best_value = INT64_MAX;
    (void)efi_season_walk_try(walk, INT64_MAX);
}

void efi_season_walk_set(efi_season_walk *walk, const int *lot, const int *first)
{
    for (int line = 0; line < walk->model->problem->lines; line++) {
        efi_season_row *row = &walk->row[line];
        row->count = first[line + 1] - first[line];
        memcpy(row->lot, lot + first[line], (size_t)row->count * sizeof *row->lot);
    }
    efi_season_walk_begin(walk);
}
