/* SPDX-License-Identifier: GPL-3.0-or-later
 * Late acceptance: a change is taken when it is no worse than now, or than the plan of some steps ago
 * (E. K. Burke, Y. Bykov, The late acceptance hill-climbing heuristic, European Journal of Operational
 * Research 258 (2017) 70-78). */
#include "shared/season/walk.h"

#include <string.h>

enum {
    LONGEST_PIECE = 6
};

static ef_status build_row(efi_season_row *row, efi_arena *arena, size_t lots)
{
    row->lot = efi_arena_get(arena, lots, sizeof *row->lot);
    row->state = efi_arena_get(arena, lots, sizeof *row->state);
    return row->lot && row->state ? EF_OK : EF_MEMORY;
}

ef_status efi_season_walk_build(efi_season_walk *walk, efi_season_model *model, int histories)
{
    const size_t lots = (size_t)model->problem->lots;
    efi_arena *arena = model->arena;
    *walk = (efi_season_walk){.model = model, .histories = histories};
    for (int line = 0; line < model->problem->lines; line++)
        EF_TRY(build_row(&walk->row[line], arena, lots));
    EF_TRY(build_row(&walk->trial[0], arena, lots));
    EF_TRY(build_row(&walk->trial[1], arena, lots));
    walk->moment = efi_arena_get(arena, lots, sizeof *walk->moment);
    walk->moment_before = efi_arena_get(arena, lots, sizeof *walk->moment_before);
    walk->moved = efi_arena_get(arena, lots, sizeof *walk->moved);
    walk->by_end = efi_arena_get(arena, lots, sizeof *walk->by_end);
    walk->line_of = efi_arena_get(arena, lots, sizeof *walk->line_of);
    walk->place_of = efi_arena_get(arena, lots, sizeof *walk->place_of);
    walk->history = efi_arena_get(arena, (size_t)histories, sizeof *walk->history);
    walk->best = efi_arena_get(arena, lots, sizeof *walk->best);
    const bool all = walk->moment && walk->moment_before && walk->moved && walk->by_end && walk->line_of &&
                     walk->place_of && walk->history && walk->best;
    for (int l = 0; all && l < model->problem->lots; l++)
        walk->by_end[l] = l;
    return all ? EF_OK : EF_MEMORY;
}

/* ---- working out ----------------------------------------------------------------------------------------
 */

static int64_t value_of(const efi_season_model *model, const efi_season_state *state)
{
    int64_t price = state->price;
    int forbidden = state->forbidden;
    efi_season_close(model, state, &price, &forbidden);
    return price + forbidden * EFI_SEASON_FORBIDDEN_WEIGHT;
}

static efi_season_state state_before(const efi_season_walk *walk, const efi_season_row *row, int line,
                                     int place)
{
    return place > 0 ? row->state[place - 1] : efi_season_begin(walk->model, line);
}

/* Works out a row of a line from `place` on; false as soon as it is worth more than `limit`. Moments of lots
 * are set; those there before are kept in moment_before, beginning with number `*moved`. */
static bool work_out(efi_season_walk *walk, efi_season_row *row, int line, int place, int64_t limit,
                     int *moved)
{
    efi_season_state state = state_before(walk, row, line, place);
    for (int i = place; i < row->count; i++) {
        const int l = row->lot[i];
        walk->moved[*moved] = l;
        walk->moment_before[(*moved)++] = walk->moment[l];
        state = efi_season_next(walk->model, line, &state, l, &walk->moment[l], NULL);
        row->state[i] = state;
        walk->steps++;
        if (state.price + state.forbidden * EFI_SEASON_FORBIDDEN_WEIGHT > limit)
            return false;
    }
    row->value = value_of(walk->model, &state);
    return row->value <= limit;
}

static int64_t stores_value(efi_season_walk *walk)
{
    return efi_season_store_raw(walk->model, walk->moment, NULL) +
           efi_season_store_finished(walk->model, walk->moment, walk->by_end, NULL);
}

static int64_t lines_value(const efi_season_walk *walk)
{
    int64_t value = 0;
    for (int line = 0; line < walk->model->problem->lines; line++)
        value += walk->row[line].value;
    return value;
}

static void note_places(efi_season_walk *walk, int line)
{
    for (int i = 0; i < walk->row[line].count; i++) {
        walk->line_of[walk->row[line].lot[i]] = line;
        walk->place_of[walk->row[line].lot[i]] = i;
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

/* Works all lines out anew. */
static void work_out_all(efi_season_walk *walk)
{
    const efi_season_problem *p = walk->model->problem;
    for (int line = 0; line < p->lines; line++) {
        efi_season_row *row = &walk->row[line];
        int moved = 0;
        row->fixed = 0;
        while (row->fixed < row->count && p->lot[row->lot[row->fixed]].fixed_line >= 0)
            row->fixed++;
        (void)work_out(walk, row, line, 0, INT64_MAX, &moved);
        note_places(walk, line);
    }
    walk->value = lines_value(walk) + stores_value(walk);
    for (int i = 0; i < walk->histories; i++)
        walk->history[i] = walk->value;
}

void efi_season_walk_set(efi_season_walk *walk, const int *lot, const int *first)
{
    for (int line = 0; line < walk->model->problem->lines; line++) {
        efi_season_row *row = &walk->row[line];
        row->count = first[line + 1] - first[line];
        memcpy(row->lot, lot + first[line], (size_t)row->count * sizeof *row->lot);
    }
    work_out_all(walk);
    walk->best_value = INT64_MAX;
    keep_best(walk);
}

/* ---- the first plan -------------------------------------------------------------------------------------
 */

static int64_t work_of(const efi_season_problem *p, int line, int lot)
{
    return p->work_s[(size_t)line * (size_t)p->lots + (size_t)lot];
}

/* The less the sooner: hours lost before the lot runs, and the slack it has. */
static int64_t urgency(const efi_season_model *model, const efi_season_state *state, int line, int lot)
{
    const efi_season_problem *p = model->problem;
    const efi_season_lot *of = &p->lot[lot];
    const int64_t clean_s = p->clean_s[(size_t)state->last * (size_t)(p->lots + 1) + (size_t)lot];
    const int64_t idle_s = of->arrives_s > state->at_s ? of->arrives_s - state->at_s : 0;
    int64_t due_s = of->due_s < of->latest_start_s ? of->due_s : of->latest_start_s;
    if (due_s == EFI_SEASON_NONE)
        due_s = model->clock[line].to_s;
    const int64_t slack_s = due_s - work_of(p, line, lot) - state->at_s;
    return (clean_s == EFI_SEASON_NEVER ? EFI_SEASON_MOST : 4 * clean_s) + 2 * idle_s + slack_s;
}

/* The most urgent lot of those left that may run on a line; -1: none. */
static int next_lot(const efi_season_walk *walk, const efi_season_state *state, int line, const bool *done)
{
    const efi_season_problem *p = walk->model->problem;
    int best = -1;
    int64_t least = 0;
    for (int l = 0; l < p->lots; l++) {
        const efi_season_lot *lot = &p->lot[l];
        if (done[l] || work_of(p, line, l) < 0)
            continue;
        int64_t mine = urgency(walk->model, state, line, l);
        if (lot->fixed_line >= 0)
            mine = lot->fixed_line == line ? lot->fixed_place - INT64_C(4) * EFI_SEASON_MOST : INT64_MAX;
        if (mine < INT64_MAX && (best < 0 || mine < least)) {
            best = l;
            least = mine;
        }
    }
    return best;
}

void efi_season_walk_first(efi_season_walk *walk)
{
    const efi_season_problem *p = walk->model->problem;
    efi_season_state state[EFI_SEASON_MOST_LINES];
    bool closed[EFI_SEASON_MOST_LINES] = {false};
    bool done[EFI_SEASON_MOST_LOTS] = {false};
    for (int line = 0; line < p->lines; line++) {
        state[line] = efi_season_begin(walk->model, line);
        walk->row[line].count = 0;
    }
    for (int placed = 0; placed < p->lots;) {
        int line = -1;
        for (int k = 0; k < p->lines; k++)
            if (!closed[k] && (line < 0 || state[k].at_s < state[line].at_s))
                line = k;
        if (EF_NEVER(line < 0))
            return;
        const int l = next_lot(walk, &state[line], line, done);
        if (l < 0) {
            closed[line] = true;
            continue;
        }
        done[l] = true;
        placed++;
        walk->row[line].lot[walk->row[line].count++] = l;
        state[line] = efi_season_next(walk->model, line, &state[line], l, &walk->moment[l], NULL);
    }
    work_out_all(walk);
    walk->best_value = INT64_MAX;
    keep_best(walk);
}

/* ---- changes --------------------------------------------------------------------------------------------
 */

/* A change: `length` lots from `from` on line `line` go before place `to` of line `other` (places as they are
 * before it), or with `swaps` change places with the lots there. */
typedef struct change {
    int line, from, length;
    int other, to;
    bool swaps;
} change;

static int below(efi_season_walk *walk, int count)
{
    return (int)efi_random_below(&walk->random, (uint32_t)count);
}

static bool may_run(const efi_season_walk *walk, const efi_season_row *row, int from, int length, int line)
{
    for (int i = from; i < from + length; i++)
        if (work_of(walk->model->problem, line, row->lot[i]) < 0)
            return false;
    return true;
}

/* Draws a change; false when the draw is none. */
static bool draw(efi_season_walk *walk, change *c)
{
    const efi_season_problem *p = walk->model->problem;
    const int lot = below(walk, p->lots);
    c->line = walk->line_of[lot];
    c->from = walk->place_of[lot];
    const efi_season_row *row = &walk->row[c->line];
    if (c->from < row->fixed)
        return false;
    c->swaps = below(walk, 4) == 0;
    c->length = c->swaps ? 1 : 1 + below(walk, below(walk, 2) ? 1 : LONGEST_PIECE);
    if (c->length > row->count - c->from)
        c->length = row->count - c->from;
    if (p->lines > 1 && below(walk, 2) == 0) {
        c->other = below(walk, p->lines);
        const efi_season_row *there = &walk->row[c->other];
        const int places = there->count - there->fixed + (c->swaps ? 0 : 1);
        if (places < 1)
            return false;
        c->to = there->fixed + below(walk, places);
    } else { /* near by on the same line, mostly */
        const int free_places = row->count - row->fixed + (c->swaps ? 0 : 1);
        const int reach = below(walk, 3) ? 12 : free_places;
        c->other = c->line;
        c->to = c->from + (below(walk, 2) ? c->length + below(walk, reach) : -1 - below(walk, reach));
        if (c->to < row->fixed || c->to >= row->fixed + free_places)
            return false;
    }
    if (c->other == c->line && c->to >= c->from && c->to <= c->from + c->length - (c->swaps ? 1 : 0))
        return false;
    return c->other == c->line || (may_run(walk, row, c->from, c->length, c->other) &&
                                   (!c->swaps || may_run(walk, &walk->row[c->other], c->to, 1, c->line)));
}

static void copy_row(efi_season_row *to, const efi_season_row *from, int states)
{
    memcpy(to->lot, from->lot, (size_t)from->count * sizeof *from->lot);
    memcpy(to->state, from->state, (size_t)states * sizeof *from->state);
    to->count = from->count;
    to->fixed = from->fixed;
}

/* Rows as the change would make them, in `trial`; `place[i]`: from where they differ. Returns how many. */
static int make_trial(efi_season_walk *walk, const change *c, int place[2])
{
    efi_season_row *mine = &walk->trial[0];
    efi_season_row *theirs = c->other == c->line ? mine : &walk->trial[1];
    const efi_season_row *row = &walk->row[c->line];
    const efi_season_row *there = &walk->row[c->other];
    place[0] = c->other == c->line && c->to < c->from ? c->to : c->from;
    place[1] = c->to;
    copy_row(mine, row, place[0]);
    if (theirs != mine)
        copy_row(theirs, there, place[1]);
    if (c->swaps) {
        mine->lot[c->from] = there->lot[c->to];
        theirs->lot[c->to] = row->lot[c->from];
        return theirs == mine ? 1 : 2;
    }
    const size_t size = sizeof *mine->lot;
    memmove(mine->lot + c->from, mine->lot + c->from + c->length,
            (size_t)(mine->count - c->from - c->length) * size);
    mine->count -= c->length;
    const int to = theirs == mine && c->to > c->from ? c->to - c->length : c->to;
    memmove(theirs->lot + to + c->length, theirs->lot + to, (size_t)(theirs->count - to) * size);
    memcpy(theirs->lot + to, row->lot + c->from, (size_t)c->length * size);
    theirs->count += c->length;
    return theirs == mine ? 1 : 2;
}

static void swap_rows(efi_season_row *a, efi_season_row *b)
{
    const efi_season_row kept = *a;
    *a = *b;
    *b = kept;
}

/* Tries a change against a limit; takes it, or leaves everything as it was. */
static void try_change(efi_season_walk *walk, const change *c, int64_t limit)
{
    int place[2];
    const int rows = make_trial(walk, c, place);
    const int line[2] = {c->line, c->other};
    int moved = 0;
    int64_t value = lines_value(walk);
    bool good = true;
    for (int r = 0; r < rows; r++)
        value -= walk->row[line[r]].value;
    for (int r = 0; r < rows && good; r++) {
        good = work_out(walk, &walk->trial[r], line[r], place[r], limit - value, &moved);
        value += good ? walk->trial[r].value : 0;
    }
    if (good) {
        value += stores_value(walk);
        good = value <= limit;
    }
    if (!good) {
        while (moved > 0) {
            moved--;
            walk->moment[walk->moved[moved]] = walk->moment_before[moved];
        }
        return;
    }
    for (int r = 0; r < rows; r++) {
        swap_rows(&walk->row[line[r]], &walk->trial[r]);
        note_places(walk, line[r]);
    }
    walk->value = value;
    keep_best(walk);
}

void efi_season_walk_go(efi_season_walk *walk, int steps, int shake)
{
    for (int step = 0; step < steps; step++) {
        change c;
        const int slot = step % walk->histories;
        if (draw(walk, &c)) {
            const int64_t late = walk->history[slot];
            const int64_t limit = step < shake ? INT64_MAX / 2 : late > walk->value ? late : walk->value;
            try_change(walk, &c, limit);
        }
        if (walk->value < walk->history[slot] || step < shake)
            walk->history[slot] = walk->value;
    }
}
