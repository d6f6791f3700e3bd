/* SPDX-License-Identifier: GPL-3.0-or-later
 * A first plan, lot by lot. */
#include "shared/season/walk.h"

/* How far the first plan has come. */
typedef struct building {
    efi_season_walk *walk;
    efi_season_state state[EFI_SEASON_MOST_LINES];
    efi_season_depth depth[EFI_SEASON_MOST_LINES];
    bool asleep[EFI_SEASON_MOST_LINES]; /* nothing to run until another lot has run */
    bool done[EFI_SEASON_MOST_LOTS];
    int weight;   /* of an hour of cleaning */
    bool in_vain; /* lots no longer wait for others */
} building;

/* When a lot is there; NONE when it waits for one that has not run. */
static int64_t ready_s(const building *b, int lot)
{
    const efi_season_model *model = b->walk->model;
    const efi_season_lot *of = &model->problem->lot[lot];
    if (!model->has_passes || of->after < 0 || b->in_vain)
        return of->arrives_s;
    if (!b->done[of->after])
        return EFI_SEASON_NONE;
    const int64_t after_s = b->walk->moment[of->after].end_s + of->after_s;
    return after_s > of->arrives_s ? after_s : of->arrives_s;
}

static int64_t arrival_w(const building *b, int line, int lot)
{
    const efi_season_hot *hot = &b->walk->model->hot[line][lot];
    return hot->waits ? efi_season_clock_work(&b->walk->model->clock[line], ready_s(b, lot)) : hot->arrives_w;
}

/* The less the sooner: hours lost before the lot runs, and the slack it has, in working time. */
static int64_t urgency(const building *b, int line, int lot)
{
    const efi_season_model *model = b->walk->model;
    const efi_season_hot *hot = &model->hot[line][lot];
    const efi_season_setup *setup = efi_season_setup_of(model, line, b->state[line].last, lot);
    const int64_t at_w = b->state[line].at_w;
    const int64_t arrives_w = arrival_w(b, line, lot);
    const int64_t idle_s = arrives_w > at_w ? arrives_w - at_w : 0;
    if (hot->is_loose)
        return hot->fixed_w - 4 * setup->clean_s - at_w;
    const int64_t never = setup->value >= EFI_SEASON_FORBIDDEN_WEIGHT ? EFI_SEASON_MOST : 0;
    const int64_t slack_s = hot->urgent_w - hot->work_s - at_w;
    return never + b->weight * (setup->clean_s + idle_s) + (slack_s > 0 ? slack_s : slack_s / 64);
}

/* The lot that has to go next lest it miss its fixed start, because `lot` would not be done by then; else
 * `lot`. */
static int before_fixed(const building *b, int line, int lot)
{
    const efi_season_model *model = b->walk->model;
    const efi_season_hot *hot = model->hot[line];
    int first = -1;
    for (int l = 0; l < model->problem->lots; l++)
        if (!b->done[l] && hot[l].work_s > 0 && hot[l].is_loose &&
            (first < 0 || hot[l].fixed_w < hot[first].fixed_w))
            first = l;
    if (first < 0 || lot < 0 || lot == first)
        return lot;
    if (model->problem->lot[lot].fixed_line >= 0 && !hot[lot].is_loose)
        return lot;
    const int64_t at_w = b->state[line].at_w;
    const int64_t arrives_w = arrival_w(b, line, lot);
    const int64_t end_w = (arrives_w > at_w ? arrives_w : at_w) + hot[lot].work_s +
                          efi_season_setup_of(model, line, b->state[line].last, lot)->clean_s +
                          efi_season_setup_of(model, line, lot, first)->clean_s;
    return end_w > hot[first].fixed_w ? first : lot;
}

/* The most urgent lot of those left that may run on a line; -1: none. */
static int next_lot(const building *b, int line)
{
    const efi_season_model *model = b->walk->model;
    const efi_season_problem *p = model->problem;
    int best = -1;
    int64_t least = 0;
    for (int l = 0; l < p->lots; l++) {
        const efi_season_lot *lot = &p->lot[l];
        if (b->done[l] || model->hot[line][l].work_s < 0 || (lot->fixed_line >= 0 && lot->fixed_line != line))
            continue;
        int64_t mine = 0;
        if (lot->fixed_line == line && lot->fixed_place >= 0)
            mine = lot->fixed_place - INT64_C(4) * EFI_SEASON_MOST;
        else if (ready_s(b, l) == EFI_SEASON_NONE)
            continue;
        else
            mine = urgency(b, line, l);
        if (best < 0 || mine < least) {
            best = l;
            least = mine;
        }
    }
    best = before_fixed(b, line, best);
    return best >= 0 && ready_s(b, best) == EFI_SEASON_NONE ? -1 : best; /* a fixed lot lets none go first */
}

/* The line that is free first of those that are not asleep; -1: none. */
static int next_line(const building *b)
{
    const efi_season_model *model = b->walk->model;
    int best = -1;
    int64_t least_s = 0;
    for (int line = 0; line < model->problem->lines; line++) {
        if (b->asleep[line])
            continue;
        const int64_t free_s = efi_season_clock_begin(&model->clock[line], b->state[line].at_w);
        if (best < 0 || free_s < least_s) {
            best = line;
            least_s = free_s;
        }
    }
    return best;
}

static void put(building *b, int line, int lot)
{
    efi_season_walk *walk = b->walk;
    const efi_season_step step = {line, lot, arrival_w(b, line, lot)};
    walk->row[line].lot[walk->row[line].count++] = lot;
    efi_season_next(walk->model, &step, &b->state[line], &b->depth[line], &walk->moment[lot], NULL);
    b->done[lot] = true;
    for (int k = 0; k < walk->model->problem->lines; k++)
        b->asleep[k] = false;
}

static void build(efi_season_walk *walk, int weight)
{
    const efi_season_problem *p = walk->model->problem;
    building b = {.walk = walk, .weight = weight};
    for (int line = 0; line < p->lines; line++) {
        efi_season_begin(walk->model, line, &b.state[line], &b.depth[line]);
        walk->row[line].count = 0;
    }
    for (int placed = 0; placed < p->lots;) {
        const int line = next_line(&b);
        if (line < 0) {
            if (EF_NEVER(b.in_vain))
                return;
            b.in_vain = true;
            for (int k = 0; k < p->lines; k++)
                b.asleep[k] = false;
            continue;
        }
        const int lot = next_lot(&b, line);
        b.asleep[line] = lot < 0;
        if (lot < 0)
            continue;
        put(&b, line, lot);
        placed++;
    }
    efi_season_walk_begin(walk);
}

void efi_season_walk_first(efi_season_walk *walk)
{
    static const int weights[] = {4, 16, 64, 256};
    int best = 0;
    int64_t least = INT64_MAX;
    for (int i = 0; i < 4; i++) {
        build(walk, weights[i]);
        if (walk->value < least) {
            least = walk->value;
            best = i;
        }
    }
    build(walk, weights[best]);
}
