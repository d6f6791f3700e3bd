/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lists of lots on a plant of several lines: one for each, beside each other, and what they make together. */
#include "answers/shift/lots.h"
#include "shared/lots/deal.h"

#include <math.h>

typedef struct sum {
    const ef_scenario *scenario;
    efi_arena *arena;
    ef_shift_lots *out;
    ef_shift_lots *lines; /* shape [out->line_count] */
    double *sorted;       /* scratch, shape [runs][periods, at least 1] */
} sum;

/* ---- each line ------------------------------------------------------------------------------------------
 */

static ef_status run_lines(sum *s, const ef_shift_lots_settings *settings, const efi_lots_deal *deal,
                           char **reason)
{
    const char **idle = efi_arena_get(s->arena, (size_t)deal->lines, sizeof *idle);
    s->lines = efi_arena_get(s->arena, (size_t)deal->lines, sizeof *s->lines);
    if (!idle || !s->lines)
        return EF_MEMORY;
    for (int line = 0; line < deal->lines; line++) {
        const efi_lots_one one = {.scenario = s->scenario,
                                  .settings = settings,
                                  .line = line,
                                  .order = deal->lots + deal->first[line],
                                  .count = deal->first[line + 1] - deal->first[line]};
        if (one.count == 0)
            idle[s->out->idle_line_count++] = s->scenario->lines[line].name;
        else
            EF_TRY(efi_lots_run_one(&one, s->arena, &s->lines[s->out->line_count++], reason));
    }
    s->out->idle_lines = idle;
    s->out->lines = s->lines;
    return EF_OK;
}

/* ---- together -------------------------------------------------------------------------------------------
 */

static void fill_frame(const sum *s)
{
    ef_shift_lots *out = s->out;
    const ef_shift_lots *first = &s->lines[0];
    out->plant = first->plant;
    out->scenario_file = first->scenario_file;
    out->seed = first->seed;
    out->runs = first->runs;
    out->by_plan = first->by_plan;
    out->without_stops = first->without_stops;
    out->line_clear = first->line_clear;
    out->cleared_after_all = first->cleared_after_all;
    out->teams = first->teams;
    out->on_calendar = first->on_calendar;
    out->from_moment_s = first->from_moment_s;
    out->left_out = s->scenario->lot_count;
    for (int i = 0; i < out->line_count; i++) {
        const ef_shift_lots *line = &s->lines[i];
        out->has_batches = out->has_batches || line->has_batches;
        out->has_loads = out->has_loads || line->has_loads;
        out->lot_count += line->lot_count;
        out->tonnes_t += line->tonnes_t;
        out->balance_h += line->balance_h;
        out->clean_h += line->clean_h;
    }
    out->left_out -= out->lot_count;
}

/* Until the last line has ended. */
static ef_status fill_hours(const sum *s)
{
    ef_shift_lots *out = s->out;
    double *list_h = efi_arena_get(s->arena, (size_t)out->runs, sizeof *list_h);
    double *work_h = efi_arena_get(s->arena, (size_t)out->runs, sizeof *work_h);
    if (!list_h || !work_h)
        return EF_MEMORY;
    for (int i = 0; i < out->line_count; i++) {
        const ef_shift_lots *line = &s->lines[i];
        for (int r = 0; r < out->runs; r++) {
            list_h[r] = fmax(list_h[r], line->end_h[(size_t)(r + 1) * (size_t)line->lot_count - 1]);
            work_h[r] = fmax(work_h[r], line->run_work_h[r]);
        }
    }
    out->list_h = efi_lots_spread(list_h, out->runs, s->sorted);
    out->work_h = efi_lots_spread(work_h, out->runs, s->sorted);
    out->run_work_h = work_h;
    out->rate_tph = out->tonnes_t / out->work_h.mean.value;
    return EF_OK;
}

/* Adds what a line took, and made of product, in the shifts that lie within all lists. */
static void add_shifts(const sum *s, const ef_shift_lots *line, double *intake, double *product)
{
    const size_t per = (size_t)s->out->period_count;
    const size_t own = (size_t)line->period_count;
    const size_t count = (size_t)line->runs * own;
    for (size_t r = 0; r < (size_t)line->runs; r++)
        for (size_t p = 0; p < per; p++) {
            intake[r * per + p] += line->shift_intake_t[r * own + p];
            for (size_t o = 0; o < (size_t)line->outlet_count; o++)
                if (line->is_product[o])
                    product[r * per + p] += line->shift_outlet_t[o * count + r * own + p];
        }
}

static ef_status fill_shifts(const sum *s)
{
    ef_shift_lots *out = s->out;
    const size_t count = (size_t)out->runs * (size_t)out->period_count;
    if (out->period_count == 0)
        return EF_OK;
    double *intake = efi_arena_get(s->arena, count, sizeof *intake);
    double *product = efi_arena_get(s->arena, count, sizeof *product);
    ef_shift_stream *streams = efi_arena_get(s->arena, 2, sizeof *streams);
    if (!intake || !product || !streams)
        return EF_MEMORY;
    for (int i = 0; i < out->line_count; i++)
        add_shifts(s, &s->lines[i], intake, product);
    efi_shift_measure(intake, out->runs, out->period_count, s->sorted, &streams[0]);
    efi_shift_measure(product, out->runs, out->period_count, s->sorted, &streams[1]);
    streams[0].name = "intake";
    streams[1].name = "product";
    streams[1].product = true;
    for (int p = 0; p < out->period_count; p++)
        out->shift_work_h += out->periods[p].work_h / out->period_count;
    out->shift_intake_t = intake;
    out->streams = streams;
    out->stream_count = 2;
    return EF_OK;
}

static ef_status put_together(sum *s)
{
    ef_shift_lots *out = s->out;
    const ef_shift_lots *least = &s->lines[0];
    fill_frame(s);
    for (int i = 1; i < out->line_count; i++)
        least = s->lines[i].period_count < least->period_count ? &s->lines[i] : least;
    out->periods = least->periods;
    out->period_count = least->period_count;
    const size_t room = (size_t)out->runs * (size_t)(out->period_count > 0 ? out->period_count : 1);
    s->sorted = efi_arena_get(s->arena, room, sizeof *s->sorted);
    if (!s->sorted)
        return EF_MEMORY;
    EF_TRY(fill_hours(s));
    return fill_shifts(s);
}

ef_status efi_lots_run_lines(const ef_scenario *scenario, const ef_shift_lots_settings *settings,
                             efi_arena *arena, ef_shift_lots *out, char **reason)
{
    sum s = {.scenario = scenario, .arena = arena, .out = out};
    efi_lots_deal deal;
    EF_TRY(efi_lots_deal_build(&deal, arena, scenario, settings->lots, settings->lines, settings->lot_count,
                               reason));
    out->is_dealt = !settings->lots || !settings->lines;
    EF_TRY(run_lines(&s, settings, &deal, reason));
    return put_together(&s);
}
