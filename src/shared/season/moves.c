/* SPDX-License-Identifier: GPL-3.0-or-later
 * Changes, drawn at random, and which of them are taken: a change that costs d more is taken with the chance
 * exp(-d / heat), while the heat falls (S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, Optimization by simulated
 * annealing, Science 220 (1983) 671-680). The chance is drawn first, so that a change is given up as soon as
 * it costs too much. */
#include "shared/season/walk.h"

#include <string.h>

/* Of each of the coolings of a part: 2^-6 of the heat at the end. */
#define COOLING_OF_PART 0.937083817055149950665

enum {
    LONGEST_PIECE = 6,
    REACH = 12,
    DOUBLINGS = 4,   /* of the reach, for a change that goes far */
    LIKE_REACH = 16, /* to either side, among the lots of a class */
    TRIES = 3,       /* lots of a class of which the nearest is taken */
    STAY = 128,      /* changes drawn near each other, so that what they read is at hand */
    NEAR = 32        /* places to either side of where they are */
};

/* Lots next to each other on a line. */
typedef struct piece {
    int line, from, count;
} piece;

static int below(efi_season_walk *walk, int count)
{
    return (int)efi_random_below(&walk->random, (uint32_t)count);
}

/* Changes touch the places from .. end - 1 of a line. */
static inline int open_from(const efi_season_walk *walk, int line)
{
    return walk->before[line];
}

static inline int open_end(const efi_season_walk *walk, int line)
{
    return walk->row[line].count - walk->after[line];
}

static bool may_run(const efi_season_walk *walk, const piece *a, int line)
{
    for (int i = a->from; i < a->from + a->count; i++)
        if (walk->model->hot[line][walk->row[a->line].lot[i]].work_s < 0)
            return false;
    return true;
}

int efi_season_place_at(const efi_season_walk *walk, int line, int64_t second)
{
    const efi_season_row *row = &walk->row[line];
    int low = row->fixed;
    int high = row->count;
    while (low < high) {
        const int middle = low + (high - low) / 2;
        if (walk->moment[row->lot[middle]].start_s < second)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* A piece that begins with a lot: it alone, some lots, or as far as the class of changeovers stays. */
static void draw_piece(efi_season_walk *walk, int lot, piece *a)
{
    const efi_season_row *row = &walk->row[walk->line_of[lot]];
    const int setup = walk->model->setup_of[lot];
    a->line = walk->line_of[lot];
    a->from = walk->place_of[lot];
    a->count = 1;
    const int kind = below(walk, walk->is_long ? 12 : 6);
    const int end = open_end(walk, a->line);
    if (kind >= 3 && kind < 5) {
        a->count += below(walk, LONGEST_PIECE);
    } else if (kind >= 5) { /* that is what takes changeovers away */
        while (a->from > open_from(walk, a->line) && walk->model->setup_of[row->lot[a->from - 1]] == setup) {
            a->from--;
            a->count++;
        }
        while (a->from + a->count < end && walk->model->setup_of[row->lot[a->from + a->count]] == setup)
            a->count++;
    }
    if (a->count > end - a->from)
        a->count = end - a->from;
}

static void start_trial(efi_season_trial *trial, int line, int from, int until)
{
    *trial = (efi_season_trial){.line = line, .from = from, .until = until, .lot = trial->lot};
}

static void add_lots(efi_season_trial *trial, const int *lot, int count)
{
    memcpy(trial->lot + trial->count, lot, (size_t)count * sizeof *lot);
    trial->count += count;
}

/* A piece goes before place `to` of a line. */
static bool relocate(efi_season_walk *walk, const piece *a, int line, int to)
{
    const int *lot = walk->row[a->line].lot;
    efi_season_trial *trial = walk->trial;
    const int end = a->from + a->count;
    if (to < open_from(walk, line) || to > open_end(walk, line) || !may_run(walk, a, line))
        return false;
    walk->trials = 1;
    if (line != a->line) {
        start_trial(&trial[0], a->line, a->from, end);
        start_trial(&trial[1], line, to, to);
        add_lots(&trial[1], lot + a->from, a->count);
        walk->trials = 2;
    } else if (to < a->from) {
        start_trial(&trial[0], line, to, end);
        add_lots(&trial[0], lot + a->from, a->count);
        add_lots(&trial[0], lot + to, a->from - to);
    } else if (to > end) {
        start_trial(&trial[0], line, a->from, to);
        add_lots(&trial[0], lot + end, to - end);
        add_lots(&trial[0], lot + a->from, a->count);
    } else {
        return false;
    }
    return true;
}

/* Two pieces change places. */
static bool exchange(efi_season_walk *walk, const piece *a, const piece *b)
{
    efi_season_trial *trial = walk->trial;
    const int *mine = walk->row[a->line].lot;
    const int *theirs = walk->row[b->line].lot;
    if (a->line == b->line) {
        if (a->from > b->from)
            return exchange(walk, b, a);
        const int between = a->from + a->count;
        if (between > b->from)
            return false;
        walk->trials = 1;
        start_trial(&trial[0], a->line, a->from, b->from + b->count);
        add_lots(&trial[0], mine + b->from, b->count);
        add_lots(&trial[0], mine + between, b->from - between);
        add_lots(&trial[0], mine + a->from, a->count);
        return true;
    }
    if (!may_run(walk, a, b->line) || !may_run(walk, b, a->line))
        return false;
    walk->trials = 2;
    start_trial(&trial[0], a->line, a->from, a->from + a->count);
    add_lots(&trial[0], theirs + b->from, b->count);
    start_trial(&trial[1], b->line, b->from, b->from + b->count);
    add_lots(&trial[1], mine + a->from, a->count);
    return true;
}

/* A lot of the same class that is to run, and runs, near in time; the lot itself when there is none. */
static int draw_like(efi_season_walk *walk, int lot)
{
    const efi_season_model *model = walk->model;
    const int setup = model->setup_of[lot];
    const int at = model->in_setup[lot];
    const int reach = walk->is_long ? LIKE_REACH : model->problem->lots;
    const int first = at - reach > model->first_of[setup] ? at - reach : model->first_of[setup];
    const int end = model->first_of[setup + 1];
    const int count = (at + reach + 1 < end ? at + reach + 1 : end) - first;
    int best = lot;
    int64_t least_s = INT64_MAX;
    for (int i = 0; i < TRIES && count > 1; i++) {
        const int other = model->by_setup[first + below(walk, count)];
        const int64_t apart_s = walk->moment[other].start_s - walk->moment[lot].start_s;
        const int64_t mine_s = apart_s < 0 ? -apart_s : apart_s;
        if (other != lot && mine_s < least_s) {
            best = other;
            least_s = mine_s;
        }
    }
    return best;
}

/* The place on a line at which it is as late as it is where a piece begins. */
static int place_beside(const efi_season_walk *walk, const piece *a, int lot, int line)
{
    return line == a->line ? a->from : efi_season_place_at(walk, line, walk->moment[lot].start_s);
}

/* Some places further on or back: twice as far is half as likely. Where that is most of the line, and now and
 * then elsewhere, anywhere. */
static bool draw_far(efi_season_walk *walk, const piece *a, int lot)
{
    const int line = below(walk, walk->model->problem->lines);
    const int reach = REACH << (1 + below(walk, DOUBLINGS));
    const int open = open_end(walk, line) - open_from(walk, line);
    if (!walk->is_long || below(walk, 64) == 0 || 2 * reach > open)
        return relocate(walk, a, line, open_from(walk, line) + below(walk, open + 1));
    return relocate(walk, a, line, place_beside(walk, a, lot, line) + below(walk, 2 * reach + 1) - reach);
}

static bool draw_near(efi_season_walk *walk, const piece *a, int lot, bool swaps)
{
    const int lines = walk->model->problem->lines;
    int line = a->line;
    if (lines > 1 && below(walk, 2)) {
        line = below(walk, lines - 1);
        line += line >= a->line;
    }
    const int open = open_end(walk, line) - open_from(walk, line);
    const int reach = REACH < open ? REACH : open;
    const int to = place_beside(walk, a, lot, line) + below(walk, 2 * reach + 1) - reach;
    if (!swaps)
        return relocate(walk, a, line, to);
    const efi_season_row *row = &walk->row[line];
    if (to < open_from(walk, line) || to >= open_end(walk, line))
        return false;
    piece b;
    draw_piece(walk, row->lot[to], &b);
    return exchange(walk, a, &b);
}

/* Any lot that may be touched; -1: there is none. */
static int draw_any(efi_season_walk *walk, int *line)
{
    const int lines = walk->model->problem->lines;
    int open = 0;
    for (int k = 0; k < lines; k++)
        open += open_end(walk, k) - open_from(walk, k);
    if (open <= 0)
        return -1;
    int place = below(walk, open);
    *line = 0;
    while (place >= open_end(walk, *line) - open_from(walk, *line)) {
        place -= open_end(walk, *line) - open_from(walk, *line);
        ++*line;
    }
    return walk->row[*line].lot[open_from(walk, *line) + place];
}

/* Goes on to another stretch of the plan. */
static void move_on(efi_season_walk *walk, int lot)
{
    walk->stays = STAY;
    for (int line = 0; line < walk->model->problem->lines; line++)
        walk->around[line] = efi_season_place_at(walk, line, walk->moment[lot].start_s);
}

/* A lot of the stretch at which the walk is; each is as likely as any other in the long run, as places beyond
 * the ends of a line are mirrored. -1: none. */
static int draw_lot(efi_season_walk *walk)
{
    int line = 0;
    const int lot = draw_any(walk, &line);
    if (lot < 0 || !walk->is_long)
        return lot;
    if (walk->stays-- <= 0)
        move_on(walk, lot);
    const int from = open_from(walk, line);
    const int end = open_end(walk, line);
    if (end - from <= 2 * NEAR)
        return lot;
    int place = walk->around[line] + below(walk, 2 * NEAR) - NEAR;
    place = place < from ? 2 * from - 1 - place : place;
    place = place < end ? place : 2 * end - 1 - place;
    return walk->row[line].lot[place < from || place >= end ? walk->place_of[lot] : place];
}

bool efi_season_walk_draw(efi_season_walk *walk)
{
    const int lot = draw_lot(walk);
    piece a;
    if (lot < 0)
        return false;
    draw_piece(walk, lot, &a);
    const int kind = below(walk, 8);
    if (kind < 2) { /* next to one of its class */
        const int like = draw_like(walk, lot);
        return like != lot && relocate(walk, &a, walk->line_of[like], walk->place_of[like] + below(walk, 2));
    }
    if (kind == 7)
        return draw_far(walk, &a, lot);
    return draw_near(walk, &a, lot, kind >= 5);
}

static void try_one(efi_season_walk *walk)
{
    const int64_t chill = walk->chill[efi_random_bits(&walk->random) % EFI_SEASON_CHILLS];
    if (efi_season_walk_draw(walk))
        (void)efi_season_walk_try(walk, walk->value + (int64_t)(walk->heat * (double)chill / 1048576.0));
}

void efi_season_walk_go(efi_season_walk *walk, int changes)
{
    for (int i = 1; i <= changes && walk->parts.of_lot == 0; i++) {
        try_one(walk);
        if (i % (changes / EFI_SEASON_COOLINGS) == 0)
            walk->heat *= walk->cooling;
    }
    for (int i = 1; i <= changes && walk->parts.of_lot > 0; i++) {
        if (walk->parts.left == 0)
            efi_season_next_part(walk);
        try_one(walk);
        walk->parts.left--;
        if (walk->parts.left % (walk->parts.changes / EFI_SEASON_COOLINGS) == 0)
            walk->heat *= COOLING_OF_PART;
    }
}
