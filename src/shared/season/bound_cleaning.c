/* SPDX-License-Identifier: GPL-3.0-or-later
 * The least price of cleaning over all orders: the larger of two bounds.
 *
 * Assignment. Each lot has one before it and one after it, each line a beginning and an end; dropping that
 * they form one sequence for each line leaves the assignment problem of the prices.
 *
 * Arborescence. Lots of a class have the same changeovers. Let base(f) be the least price of anything before
 * a lot of class f. In any plan take the changeovers from one class to another, and from nothing to the first
 * lot of each line: on each line they lead from nothing to each of its classes, so together they hold an
 * arborescence from nothing to all classes, with one changeover into each. Every other lot costs base(f) at
 * least, but for the first lots of lines, which come after nothing: they may cost less, and at most (lines
 * - 1) of them are not in the arborescence. So
 *   cleaning >= sum of base over all lots + least arborescence of price(g, f) - base(f) - (lines - 1) d,
 * d the most by which nothing before a lot is cheaper than its base. As there are no more than so many lines,
 * any fine m >= 0 for each changeover from nothing may be added and lines * m taken off; a few are tried. The
 * arborescence is that of shared/sequence. */
#include "shared/season/bound.h"
#include "shared/sequence/arborescence.h"
#include "shared/sequence/assignment.h"

#include <stdlib.h>
#include <string.h>

enum {
    FINES = 6,
    MOST_CLASSES = 300, /* beyond, the assignment alone; time grows with the third power */
    MOST_LOTS = 1000    /* beyond, the arborescence alone where there is one: for the same reason */
};

#define FAR (INT64_C(1) << 48)

static int64_t price_of(const efi_season_model *model, int from, int to)
{
    const size_t pair = (size_t)from * ((size_t)model->setups + 1) + (size_t)to;
    int64_t least = FAR; /* on the line where it costs least */
    for (int line = 0; line < model->problem->lines; line++) {
        const int64_t value = model->setup[line][pair].value;
        least = value < least ? value : least;
        if (model->setup[line] == model->setup[0] && line > 0)
            break;
    }
    return least;
}

static ef_status assign(const efi_season_model *model, int64_t *bound)
{
    const efi_season_problem *p = model->problem;
    const int side = p->lots + p->lines;
    const size_t cells = (size_t)side * (size_t)side;
    int64_t *price = efi_new(cells, sizeof *price);
    int *column = efi_new((size_t)side, sizeof *column);
    int64_t *dual = efi_new(2 * (size_t)side, sizeof *dual);
    ef_status status = price && column && dual ? EF_OK : EF_MEMORY;
    for (int i = 0; i < side && status == EF_OK; i++) {
        for (int j = 0; j < side; j++) {
            const bool unused = i >= p->lots && j >= p->lots;
            const int from = model->setup_of[i < p->lots ? i : p->lots];
            const int to = model->setup_of[j < p->lots ? j : p->lots];
            price[(size_t)i * (size_t)side + (size_t)j] = unused   ? 0
                                                          : i == j ? FAR
                                                                   : price_of(model, from, to);
        }
    }
    if (status == EF_OK)
        status = efi_assignment_solve(side, price, column, dual, dual + side, bound);
    if (status == EF_OK && *bound >= FAR)
        *bound = 0;
    efi_free(price);
    efi_free(column);
    efi_free(dual);
    return status;
}

ef_status efi_season_find_entries(const efi_season_model *model, efi_season_entries *e)
{
    const int classes = model->setups;
    e->base = efi_arena_get(model->arena, (size_t)classes, sizeof *e->base);
    e->extra = efi_arena_get(model->arena, (size_t)classes, sizeof *e->extra);
    e->sum = e->less = 0;
    if (!e->base || !e->extra)
        return EF_MEMORY;
    for (int f = 0; f < classes; f++) {
        const int lots = model->first_of[f + 1] - model->first_of[f];
        const int64_t within = lots > 1 ? price_of(model, f, f) : FAR;
        int64_t other = FAR;
        for (int g = 0; g < classes; g++)
            if (g != f && price_of(model, g, f) < other)
                other = price_of(model, g, f);
        const int64_t first = price_of(model, classes, f);
        e->base[f] = within < other ? within : other;
        if (e->base[f] == FAR) /* only as the first of a line */
            e->base[f] = first < FAR ? first : 0;
        e->extra[f] = other > e->base[f] && other < FAR ? other - e->base[f] : 0;
        e->sum += lots * e->base[f];
        e->less = e->base[f] - first > e->less ? e->base[f] - first : e->less;
    }
    return EF_OK;
}

/* ---- the least arborescence -----------------------------------------------------------------------------
 */

/* The least arborescence with a fine for each edge from nothing, less as many fines as there are lines. */
static int64_t branch_with(const efi_season_model *model, const efi_season_entries *e, efi_arborescence *tree,
                           int64_t fine)
{
    const int nodes = model->setups + 1;
    int64_t *price = efi_arborescence_prices(tree, nodes);
    for (int to = 0; to < model->setups; to++)
        for (int from = 0; from < nodes; from++)
            price[(size_t)to * (size_t)nodes + (size_t)from] = price_of(model, from, to) - e->base[to] +
                                                               (from == model->setups ? fine : 0);
    return efi_arborescence_solve(tree, NULL) - model->problem->lines * fine;
}

static int by_size(const void *left, const void *right)
{
    const int64_t a = *(const int64_t *)left;
    const int64_t b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

static ef_status branch(const efi_season_model *model, int64_t *bound)
{
    const size_t nodes = (size_t)model->setups + 1;
    efi_season_entries e;
    EF_TRY(efi_season_find_entries(model, &e));
    int64_t *fine = efi_arena_get(model->arena, nodes, sizeof *fine);
    efi_arborescence *tree = fine ? efi_arborescence_new((int)nodes) : NULL;
    if (!tree)
        return EF_MEMORY;
    memcpy(fine, e.extra, (nodes - 1) * sizeof *fine); /* the last is 0 */
    qsort(fine, nodes, sizeof *fine, by_size);
    int64_t sum = INT64_MIN;
    for (int i = 0; i <= FINES; i++) {
        const int64_t mine = branch_with(model, &e, tree, fine[(nodes - 1) * (size_t)i / FINES]);
        sum = mine > sum ? mine : sum;
    }
    efi_arborescence_free(tree);
    *bound = e.sum + sum - (model->problem->lines - 1) * e.less;
    if (sum >= FAR / 2 || *bound < 0)
        *bound = 0;
    return EF_OK;
}

ef_status efi_season_bound_cleaning(const efi_season_model *model, int64_t *bound)
{
    int64_t branched = 0;
    const bool has_few_classes = model->setups <= MOST_CLASSES;
    *bound = 0;
    if (!has_few_classes || model->problem->lots <= MOST_LOTS)
        EF_TRY(assign(model, bound));
    if (has_few_classes)
        EF_TRY(branch(model, &branched));
    *bound = branched > *bound ? branched : *bound;
    return EF_OK;
}
