/* SPDX-License-Identifier: GPL-3.0-or-later
 * What one more lot does to a line that is cleared between lots. */
#include "shared/season/model.h"

void efi_season_begin(const efi_season_model *model, int line, efi_season_state *state,
                      efi_season_depth *depth)
{
    *state = (efi_season_state){.last = model->problem->lots};
    if (model->through[line].stations > 0)
        *depth = (efi_season_depth){0};
}

static inline int64_t beyond(int64_t moment_s, int64_t limit_s)
{
    return moment_s > limit_s ? moment_s - limit_s : 0;
}

static void tell(const efi_season_model *model, const efi_season_step *step, const efi_season_when *when,
                 const efi_season_moment *moment, efi_season_run *run)
{
    const efi_season_clock *clock = &model->clock[step->line];
    const efi_season_hot *hot = &model->hot[step->line][step->lot];
    run->line = step->line;
    run->start_s = moment->start_s;
    run->end_s = moment->end_s;
    run->fed_s = moment->fed_s;
    run->late_s = beyond(moment->end_s, hot->due_s);
    run->wet_s = beyond(moment->start_s, hot->latest_start_s);
    run->overtime_s = when->over.s;
    run->overtime = when->over.price / EFI_SEASON_HOUR_S;
    run->fits = when->end_w <= clock->work_s;
    run->misses_start = when->misses;
}

void efi_season_settle(const efi_season_model *model, const efi_season_step *step,
                       const efi_season_when *when, efi_season_state *state, efi_season_moment *moment,
                       efi_season_run *run)
{
    const efi_season_clock *clock = &model->clock[step->line];
    const efi_season_hot *hot = &model->hot[step->line][step->lot];
    const efi_season_setup *setup = efi_season_setup_of(model, step->line, state->last, step->lot);
    moment->start_s = when->is_fixed && !when->misses ? model->problem->lot[step->lot].fixed_start_s
                                                      : efi_season_clock_begin(clock, when->start_w);
    moment->end_s = efi_season_clock_end(clock, when->end_w);
    moment->fed_s = when->fed_w == when->end_w ? moment->end_s : efi_season_clock_end(clock, when->fed_w);
    const int64_t over = when->over.price / EFI_SEASON_HOUR_S;
    const int64_t sure = setup->value +
                         (when->end_w > clock->work_s || when->misses ? EFI_SEASON_FORBIDDEN_WEIGHT : 0);
    int64_t value = sure + over;
    if (moment->end_s > hot->due_s)
        value += efi_season_scale(moment->end_s - hot->due_s, hot->late_price, EFI_SEASON_DAY_S);
    if (moment->start_s > hot->latest_start_s)
        value += efi_season_scale(moment->start_s - hot->latest_start_s, hot->wet_price, EFI_SEASON_DAY_S);
    if (run) {
        run->before = state->last;
        tell(model, step, when, moment, run);
    }
    state->at_w = when->end_w;
    state->value += value;
    state->sure += setup->value;
    state->over += over;
    state->last = step->lot;
}

/* What the lot's run says besides. */
static void tell_cleaning(const efi_season_model *model, const efi_season_step *step, int64_t clean_w,
                          int64_t clean_s, efi_season_run *run)
{
    const efi_season_clock *clock = &model->clock[step->line];
    *run = (efi_season_run){0};
    run->clean_from_s = clean_s > 0 ? efi_season_clock_begin(clock, clean_w)
                                    : efi_season_clock_end(clock, clean_w);
    run->clean_to_s = clean_s > 0 ? efi_season_clock_end(clock, clean_w + clean_s) : run->clean_from_s;
}

/* A lot that has run already: its line stands where it stood, but for the last lot. */
static void note(const efi_season_model *model, const efi_season_step *step, efi_season_state *state,
                 efi_season_moment *moment, efi_season_run *run)
{
    const efi_season_lot *of = &model->problem->lot[step->lot];
    const efi_season_setup *setup = efi_season_setup_of(model, step->line, state->last, step->lot);
    *moment = (efi_season_moment){of->fixed_start_s, of->ended_s, of->ended_s};
    if (run)
        *run = (efi_season_run){.line = step->line,
                                .before = state->last,
                                .clean_from_s = of->fixed_start_s,
                                .clean_to_s = of->fixed_start_s,
                                .start_s = of->fixed_start_s,
                                .end_s = of->ended_s,
                                .fed_s = of->ended_s,
                                .fits = true};
    state->value += setup->value;
    state->sure += setup->value;
    state->last = step->lot;
    state->holds = false;
}

void efi_season_next(const efi_season_model *model, const efi_season_step *step, efi_season_state *state,
                     efi_season_depth *depth, efi_season_moment *moment, efi_season_run *run)
{
    if (model->hot[step->line][step->lot].has_run) {
        note(model, step, state, moment, run);
        return;
    }
    if (model->through[step->line].stations > 0) {
        efi_season_pass(model, step, state, depth, moment, run);
        return;
    }
    const efi_season_problem *p = model->problem;
    const efi_season_clock *clock = &model->clock[step->line];
    const efi_season_hot *hot = &model->hot[step->line][step->lot];
    const int64_t clean_s = efi_season_setup_of(model, step->line, state->last, step->lot)->clean_s;
    int64_t clean_w = state->at_w;
    if (!p->cleaned_before_arrival && !hot->is_loose && step->arrives_w > clean_w)
        clean_w = step->arrives_w;
    efi_season_when when = {.start_w = clean_w + clean_s, .is_fixed = hot->fixed_w >= 0};
    when.misses = hot->is_loose && when.start_w > hot->fixed_w;
    if (when.is_fixed)
        when.start_w = when.misses ? when.start_w : hot->fixed_w;
    else if (step->arrives_w > when.start_w)
        when.start_w = step->arrives_w;
    state->holds = when.is_fixed ? !when.misses
                                 : p->cleaned_before_arrival && when.start_w == step->arrives_w;
    int restarts = 0;
    when.end_w = p->restart_s == 0 && !run
                     ? when.start_w + hot->work_s
                     : efi_season_clock_add(clock, when.start_w, hot->work_s, p->restart_s, &restarts);
    when.fed_w = when.end_w;
    if (model->has_overtime || run)
        when.over = efi_season_over_add(efi_season_clock_between(clock, clean_w, clean_w + clean_s),
                                        efi_season_clock_between(clock, when.start_w, when.end_w));
    if (run) {
        tell_cleaning(model, step, clean_w, clean_s, run);
        run->restarts = restarts;
    }
    efi_season_settle(model, step, &when, state, moment, run);
}
