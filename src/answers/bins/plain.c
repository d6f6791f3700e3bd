/* SPDX-License-Identifier: GPL-3.0-or-later
 * The plain form of the sizing program, one linear program for all traces; see sizing.h. */
#include "answers/bins/sizing.h"

#include <math.h>

enum {
    BINS = EFI_FLUID_SEGMENTS_MOST - 1
};

typedef struct plain {
    const efi_sizing *sizing;
    efi_lp *lp;
    int bins;
    int volume[BINS];
    int next[EFI_FLUID_UNITS_MOST]; /* stop of the unit that has not ended yet */
    int short_column;               /* of the trace */
} plain;

/* Levels at the end of an interval; `level` holds the columns of those before, and receives the new ones. */
static ef_status add_levels(const plain *p, const efi_fluid_line *line, bool first, const int *through,
                            int *level)
{
    for (int j = 0; j < p->bins; j++) {
        int column = -1;
        EF_TRY(efi_lp_add_column(p->lp, NULL, efi_lp_at_least(0.0), 0.0, false, &column));
        const efi_lp_entry balance[] = {
            {column, 1.0},
            {first ? p->volume[j] : level[j], first ? -line->start_share[j] : -1.0},
            {through[j], -1.0},
            {through[j + 1], 1.0}};
        EF_TRY(efi_lp_add_row(p->lp, NULL, efi_lp_exactly(0.0), balance, 4, NULL));
        const efi_lp_entry room[] = {{column, 1.0}, {p->volume[j], -1.0}};
        EF_TRY(efi_lp_add_row(p->lp, NULL, efi_lp_at_most(0.0), room, 2, NULL));
        level[j] = column;
    }
    return EF_OK;
}

static ef_status add_trace(plain *p, const efi_fluid_line *line)
{
    const int feed = efi_fluid_feed_segment(line);
    int level[BINS] = {0};
    int row = -1;
    double set_t = 0.0;
    for (int u = 0; u < line->units; u++)
        p->next[u] = 0;
    EF_TRY(efi_lp_add_column(p->lp, "short", efi_lp_at_least(0.0), 0.0, false, &p->short_column));
    const efi_lp_entry own = {p->short_column, 1.0};
    EF_TRY(efi_lp_add_row(p->lp, "set", efi_lp_exactly(0.0), &own, 1, &row));
    for (double now_h = 0.0; now_h < line->to_h;) {
        double capacity[EFI_FLUID_SEGMENTS_MOST];
        double set_tph = 0.0;
        int through[EFI_FLUID_SEGMENTS_MOST];
        const double end_h = fmin(efi_fluid_capacity(line, p->next, now_h, capacity, &set_tph), line->to_h);
        for (int i = 0; i < line->segments; i++)
            EF_TRY(efi_lp_add_column(p->lp, NULL, efi_lp_between(0.0, capacity[i] * (end_h - now_h)), 0.0,
                                     false, &through[i]));
        EF_TRY(efi_lp_set_entry(p->lp, row, through[feed], 1.0));
        EF_TRY(add_levels(p, line, !(now_h > 0.0), through, level));
        set_t += set_tph * (end_h - now_h);
        now_h = end_h;
    }
    return efi_lp_set_row_bounds(p->lp, row, efi_lp_exactly(set_t));
}

/* L: the mean of the shortfalls, or a + (1 / tail) mean of z with z >= short - a. */
static ef_status add_traces(plain *p, int measure_row)
{
    const efi_sizing *sizing = p->sizing;
    const bool tail = sizing->tail_share < 1.0;
    int a = -1;
    if (tail) {
        EF_TRY(efi_lp_add_column(p->lp, "edge_of_tail", efi_lp_at_least(0.0), 0.0, false, &a));
        EF_TRY(efi_lp_set_entry(p->lp, measure_row, a, 1.0));
    }
    for (int i = 0; i < sizing->traces; i++) {
        if (sizing->add)
            EF_TRY(sizing->add(sizing->program, i, p->lp, p->volume, &p->short_column));
        else
            EF_TRY(add_trace(p, &sizing->line[i]));
        int counted = p->short_column;
        if (tail) {
            EF_TRY(efi_lp_add_column(p->lp, "over_edge", efi_lp_at_least(0.0), 0.0, false, &counted));
            const efi_lp_entry over[] = {{counted, 1.0}, {p->short_column, -1.0}, {a, 1.0}};
            EF_TRY(efi_lp_add_row(p->lp, NULL, efi_lp_at_least(0.0), over, 3, NULL));
        }
        EF_TRY(efi_lp_set_entry(p->lp, measure_row, counted,
                                1.0 / (sizing->traces * (tail ? sizing->tail_share : 1.0))));
    }
    return EF_OK;
}

static ef_status build(plain *p, const efi_sizing_aim *aim)
{
    int row = -1;
    EF_TRY(efi_sizing_add_volumes(p->lp, p->sizing, p->volume));
    EF_TRY(efi_lp_add_row(p->lp, "target", efi_lp_at_most(aim->target_t), NULL, 0, &row));
    if (aim->priced) {
        int excess = -1;
        EF_TRY(efi_lp_add_column(p->lp, "excess", efi_lp_at_least(0.0), aim->price, false, &excess));
        EF_TRY(efi_lp_set_entry(p->lp, row, excess, -1.0));
    }
    return add_traces(p, row);
}

ef_status efi_sizing_plain(const efi_sizing *sizing, const efi_sizing_aim *aim, efi_lp **lp, int *column)
{
    plain p = {.sizing = sizing, .bins = efi_sizing_bins(sizing)};
    if (p.bins > BINS || (!sizing->pass && sizing->line[0].units > EFI_FLUID_UNITS_MOST))
        return EF_USAGE;
    p.lp = efi_lp_new();
    const ef_status status = p.lp ? build(&p, aim) : EF_MEMORY;
    if (status != EF_OK) {
        efi_lp_free(p.lp);
        return status;
    }
    for (int j = 0; j < p.bins; j++)
        column[j] = p.volume[j];
    *lp = p.lp;
    return EF_OK;
}
