/* SPDX-License-Identifier: GPL-3.0-or-later
 * Rows of lots, and what a change makes of them. */
#include "shared/season/walk.h"

#include <string.h>

/* ---- building -------------------------------------------------------------------------------------------
 */

static ef_status build_depths(efi_season_walk *walk, efi_season_model *model)
{
    const size_t lots = (size_t)model->problem->lots;
    for (int line = 0; line < model->problem->lines; line++) {
        if (model->through[line].stations == 0)
            continue;
        walk->row[line].depth = efi_arena_get(model->arena, lots, sizeof *walk->row[line].depth);
        walk->lane[line].depth = efi_arena_get(model->arena, lots, sizeof *walk->lane[line].depth);
        if (!walk->row[line].depth || !walk->lane[line].depth)
            return EF_MEMORY;
    }
    return EF_OK;
}

static ef_status build_line(efi_season_walk *walk, efi_season_model *model, int line)
{
    const size_t lots = (size_t)model->problem->lots;
    efi_arena *arena = model->arena;
    efi_season_row *row = &walk->row[line];
    efi_season_lane *lane = &walk->lane[line];
    row->lot = efi_arena_get(arena, lots, sizeof *row->lot);
    row->state = efi_arena_get(arena, lots, sizeof *row->state);
    row->sum = efi_arena_get(arena, lots, sizeof *row->sum);
    lane->state = efi_arena_get(arena, lots, sizeof *lane->state);
    lane->queue = efi_arena_get(arena, lots / 64 + 1, sizeof *lane->queue);
    lane->played = efi_arena_get(arena, lots, sizeof *lane->played);
    lane->list = efi_arena_get(arena, lots, sizeof *lane->list);
    walk->trial[line].lot = efi_arena_get(arena, lots, sizeof *walk->trial[line].lot);
    walk->sequence[line] = efi_arena_get(arena, lots, sizeof *walk->sequence[line]);
    const bool all = row->lot && row->state && row->sum && lane->state && lane->queue && lane->played &&
                     lane->list && walk->trial[line].lot && walk->sequence[line];
    return all ? EF_OK : EF_MEMORY;
}

static bool is_first(const efi_season_lot *lot)
{
    return lot->fixed_line >= 0 && lot->fixed_place >= 0;
}

/* Times tell that lots wait for each other only where none has a fixed start (lanes.c): a lot that is fixed
 * to the beginning of its line does no harm if what it waits for is so too. */
static bool hides_circles(const efi_season_model *model)
{
    const efi_season_problem *p = model->problem;
    for (int l = 0; l < p->lots && model->has_passes; l++) {
        const efi_season_lot *lot = &p->lot[l];
        if (lot->fixed_start_s != EFI_SEASON_NONE &&
            !(is_first(lot) && (lot->after < 0 || is_first(&p->lot[lot->after]))))
            return true;
    }
    return false;
}

ef_status efi_season_walk_build(efi_season_walk *walk, efi_season_model *model)
{
    const size_t lots = (size_t)model->problem->lots;
    efi_arena *arena = model->arena;
    *walk = (efi_season_walk){.model = model, .plays_all = hides_circles(model)};
    for (int line = 0; line < model->problem->lines; line++)
        EF_TRY(build_line(walk, model, line));
    EF_TRY(build_depths(walk, model));
    EF_TRY(efi_season_keep_build(&walk->raw, model, false));
    EF_TRY(efi_season_keep_build(&walk->finished, model, true));
    walk->moment = efi_arena_get(arena, lots, sizeof *walk->moment);
    walk->moment_before = efi_arena_get(arena, lots, sizeof *walk->moment_before);
    walk->moved = efi_arena_get(arena, lots, sizeof *walk->moved);
    walk->seen = efi_arena_get(arena, lots, sizeof *walk->seen);
    walk->laid = efi_arena_get(arena, lots, sizeof *walk->laid);
    walk->laid_line = efi_arena_get(arena, lots, sizeof *walk->laid_line);
    walk->laid_place = efi_arena_get(arena, lots, sizeof *walk->laid_place);
    walk->line_of = efi_arena_get(arena, lots, sizeof *walk->line_of);
    walk->place_of = efi_arena_get(arena, lots, sizeof *walk->place_of);
    walk->play.pending = efi_arena_get(arena, lots, sizeof *walk->play.pending);
    walk->best = efi_arena_get(arena, lots, sizeof *walk->best);
    walk->least = efi_arena_get(arena, lots, sizeof *walk->least);
    const bool all = walk->moment && walk->moment_before && walk->moved && walk->seen && walk->laid &&
                     walk->laid_line && walk->laid_place && walk->line_of && walk->place_of &&
                     walk->play.pending && walk->best && walk->least;
    walk->play.model = model;
    walk->play.moment = walk->moment;
    return all ? EF_OK : EF_MEMORY;
}

/* ---- what else changes ----------------------------------------------------------------------------------
 */

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

/* Lots whose moments have changed are put away anew. */
static void touch_stores(efi_season_walk *walk)
{
    const efi_season_model *model = walk->model;
    efi_season_keep_open(&walk->raw);
    efi_season_keep_open(&walk->finished);
    for (int i = 0; i < walk->moves; i++) {
        const int lot = walk->moved[i];
        const efi_season_moment *now = &walk->moment[lot];
        const efi_season_moment *before = &walk->moment_before[i];
        if (now->start_s != before->start_s || now->fed_s != before->fed_s)
            efi_season_keep_touch(&walk->raw, walk->moment, lot);
        if (now->end_s == before->end_s)
            continue;
        efi_season_keep_touch(&walk->finished, walk->moment, lot);
        for (int l = model->follower[lot]; l >= 0; l = model->next_follower[l])
            efi_season_keep_touch(&walk->raw, walk->moment, l);
    }
}

/* Works out the stores; false when they cost more than `limit`, which becomes what is left of it. */
static bool try_stores(efi_season_walk *walk, int64_t *limit)
{
    const efi_season_problem *p = walk->model->problem;
    touch_stores(walk);
    if (p->has_raw) {
        if (!efi_season_keep_try(&walk->raw, walk->moment, *limit))
            return false;
        *limit -= walk->raw.trial_value;
    }
    if (p->has_finished) {
        if (!efi_season_keep_try(&walk->finished, walk->moment, *limit))
            return false;
        *limit -= walk->finished.trial_value;
    }
    return true;
}

static void begin_stores(efi_season_walk *walk)
{
    if (walk->model->problem->has_raw)
        efi_season_keep_begin(&walk->raw, walk->moment);
    if (walk->model->problem->has_finished)
        efi_season_keep_begin(&walk->finished, walk->moment);
}

/* ---- all lots -------------------------------------------------------------------------------------------
 */

/* Puts the lots of a trial into an array of those of its line. */
static int put_lots(const efi_season_trial *trial, int *lot, int count)
{
    const size_t size = sizeof *lot;
    memmove(lot + trial->from + trial->count, lot + trial->until, (size_t)(count - trial->until) * size);
    memcpy(lot + trial->from, trial->lot, (size_t)trial->count * size);
    return count + trial->count - (trial->until - trial->from);
}

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

/* The lots of all lines as the trials would have them, each from the first on that may move; `anew`: all. */
static void lay_parts(efi_season_walk *walk, bool anew)
{
    const int lines = walk->model->problem->lines;
    for (int line = 0; line < lines; line++) {
        const efi_season_row *row = &walk->row[line];
        const efi_season_trial *trial = trial_of(walk, line);
        efi_season_part *part = &walk->play.part[line];
        *part = (efi_season_part){.lot = walk->sequence[line],
                                  .count = row->count,
                                  .from = anew || walk->vain > 0 ? 0 : row->count,
                                  .state = walk->lane[line].state,
                                  .depth = walk->lane[line].depth};
        memcpy(walk->sequence[line], row->lot, (size_t)row->count * sizeof *row->lot);
        if (!trial)
            continue;
        part->count = put_lots(trial, walk->sequence[line], row->count);
        part->from = trial->from < part->from ? trial->from : part->from;
    }
    for (bool grows = true; grows;) {
        grows = false;
        for (int line = 0; line < lines; line++)
            for (int i = walk->play.part[line].from; i < walk->play.part[line].count; i++)
                grows = pull_followers(walk, walk->play.part[line].lot[i]) || grows;
    }
}

/* Plays all lines as the trials would have them; false past the limit. */
static bool play_all(efi_season_walk *walk, int64_t limit, bool anew)
{
    efi_season_play *play = &walk->play;
    play->limit = limit;
    lay_parts(walk, anew);
    for (int line = 0; line < walk->model->problem->lines; line++) {
        const efi_season_row *row = &walk->row[line];
        efi_season_part *part = &play->part[line];
        if (part->from > 0) { /* played one upon the other, kept each alone */
            efi_season_state *before = &part->state[part->from - 1];
            *before = row->state[part->from - 1];
            before->value = row->sum[part->from - 1].value;
            before->sure = row->sum[part->from - 1].sure;
            before->over = row->sum[part->from - 1].over;
            if (part->depth)
                part->depth[part->from - 1] = row->depth[part->from - 1];
        }
        for (int i = part->from; i < part->count; i++)
            efi_season_note_moved(walk, part->lot[i]);
        walk->steps += (uint64_t)(part->count - part->from);
    }
    const bool good = efi_season_play_all(play);
    walk->lines = play->value;
    return good;
}

static void note_places(efi_season_walk *walk, int line, int from, int to)
{
    const efi_season_row *row = &walk->row[line];
    for (int i = from; i < to; i++) {
        walk->line_of[row->lot[i]] = line;
        walk->place_of[row->lot[i]] = i;
    }
}

/* Sums of a row from a place on, and its value. */
static void add_up(efi_season_walk *walk, int line, int from)
{
    efi_season_row *row = &walk->row[line];
    efi_season_sum sum = {0};
    if (from > 0)
        sum = row->sum[from - 1];
    for (int i = from; i < row->count; i++) {
        sum.value += row->state[i].value;
        sum.sure += row->state[i].sure;
        sum.over += row->state[i].over;
        row->sum[i] = sum;
    }
    row->value = row->count == 0 ? 0
                                 : row->sum[row->count - 1].value +
                                       efi_season_close(walk->model, line, &row->state[row->count - 1]);
}

static void take_all(efi_season_walk *walk)
{
    for (int line = 0; line < walk->model->problem->lines; line++) {
        const efi_season_part *part = &walk->play.part[line];
        efi_season_row *row = &walk->row[line];
        const size_t played = (size_t)(part->count - part->from);
        row->count = part->count;
        memcpy(row->lot + part->from, part->lot + part->from, played * sizeof *row->lot);
        if (row->depth)
            memcpy(row->depth + part->from, part->depth + part->from, played * sizeof *row->depth);
        for (int i = part->from; i < row->count; i++) {
            row->state[i] = part->state[i];
            if (i == 0)
                continue;
            row->state[i].value -= part->state[i - 1].value;
            row->state[i].sure -= part->state[i - 1].sure;
            row->state[i].over -= part->state[i - 1].over;
        }
        add_up(walk, line, part->from);
        note_places(walk, line, part->from, row->count);
    }
    walk->vain = walk->play.vain;
}

/* ---- taking over ----------------------------------------------------------------------------------------
 */

static void take_lane(efi_season_walk *walk, int line)
{
    efi_season_row *row = &walk->row[line];
    const efi_season_lane *lane = &walk->lane[line];
    const efi_season_trial *trial = lane->trial;
    int first = trial ? trial->from : row->count;
    if (trial) {
        const size_t rest = (size_t)(row->count - trial->until);
        if (lane->shift != 0) {
            memmove(row->state + lane->until, row->state + trial->until, rest * sizeof *row->state);
            if (row->depth)
                memmove(row->depth + lane->until, row->depth + trial->until, rest * sizeof *row->depth);
        }
        row->count = put_lots(trial, row->lot, row->count);
        note_places(walk, line, lane->from, lane->shift == 0 ? lane->until : row->count);
    }
    for (int i = 0; i < lane->listed; i++) {
        const int place = lane->list[i];
        row->state[place] = lane->state[place];
        if (row->depth)
            row->depth[place] = lane->depth[place];
        first = place < first ? place : first;
    }
    add_up(walk, line, first);
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

static void put_back(efi_season_walk *walk)
{
    while (walk->moves > 0) {
        walk->moves--;
        walk->moment[walk->moved[walk->moves]] = walk->moment_before[walk->moves];
    }
}

/* ---- trying ---------------------------------------------------------------------------------------------
 */

static void take_over(efi_season_walk *walk, bool all)
{
    if (all) {
        take_all(walk);
    } else {
        for (int line = 0; line < walk->model->problem->lines; line++)
            take_lane(walk, line);
    }
    for (int line = 0; line < walk->model->problem->lines; line++)
        walk->row[line].kept = walk->kept[line];
}

bool efi_season_walk_try(efi_season_walk *walk, int64_t limit)
{
    walk->moves = 0;
    walk->changes++;
    bool all = walk->plays_all || walk->vain > 0;
    efi_season_played played = EFI_SEASON_PLAYED_DEAR;
    if (!all)
        played = efi_season_lanes_play(walk, limit);
    all = all || played == EFI_SEASON_PLAYED_VAIN;
    bool good = all ? play_all(walk, limit, false) : played == EFI_SEASON_PLAYED_WELL;
    int64_t left = limit - walk->lines;
    if (good && efi_season_has_moves(walk->model)) {
        left -= moves_value(walk);
        good = left >= 0;
    }
    good = good && try_stores(walk, &left);
    if (!good) {
        put_back(walk);
        return false;
    }
    if (walk->model->problem->has_raw)
        efi_season_keep_take(&walk->raw, walk->moment);
    if (walk->model->problem->has_finished)
        efi_season_keep_take(&walk->finished, walk->moment);
    take_over(walk, all);
    walk->value = limit - left;
    keep_best(walk);
    return true;
}

void efi_season_walk_begin(efi_season_walk *walk)
{
    const efi_season_problem *p = walk->model->problem;
    walk->trials = walk->moves = 0;
    walk->changes++;
    (void)play_all(walk, INT64_MAX, true);
    take_over(walk, true);
    walk->value = walk->lines;
    for (int line = 0; line < p->lines; line++) {
        efi_season_row *row = &walk->row[line];
        const efi_season_sequence sequence = {
            .lot = row->lot, .count = row->count, .from = row->count, .until = row->count};
        row->kept = efi_season_kept(p, line, &sequence, walk->least);
    }
    if (efi_season_has_moves(walk->model))
        walk->value += moves_value(walk);
    begin_stores(walk);
    walk->value += walk->raw.value + walk->finished.value;
    for (int line = 0; line < p->lines; line++) {
        efi_season_row *row = &walk->row[line];
        row->fixed = 0;
        while (row->fixed < row->count && is_first(&p->lot[row->lot[row->fixed]]))
            row->fixed++;
        walk->before[line] = row->fixed;
        walk->after[line] = 0;
    }
    walk->best_value = INT64_MAX;
    keep_best(walk);
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

void efi_season_walk_return(efi_season_walk *walk)
{
    int first[EFI_SEASON_MOST_LINES + 1];
    if (walk->value == walk->best_value)
        return;
    memcpy(walk->moved, walk->best, (size_t)walk->model->problem->lots * sizeof *walk->best);
    memcpy(first, walk->best_first, sizeof first); /* setting it writes over the best */
    for (int line = 0; line < walk->model->problem->lines; line++) {
        efi_season_row *row = &walk->row[line];
        row->count = first[line + 1] - first[line];
        memcpy(row->lot, walk->moved + first[line], (size_t)row->count * sizeof *row->lot);
    }
    efi_season_walk_begin(walk);
}
