/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lots of several lines played side by side. */
#include "shared/season/play.h"

static bool has_to_wait(const efi_season_play *play, int line, int lot)
{
    return play->model->hot[line][lot].waits && play->pending[play->model->problem->lot[lot].after];
}

static void play_lot(efi_season_play *play, int line, int place, bool in_vain)
{
    const efi_season_model *model = play->model;
    const efi_season_part *part = &play->part[line];
    const int lot = part->lot[place];
    efi_season_step step = efi_season_step_of(model, line, lot);
    efi_season_depth *depth = part->depth ? &part->depth[place] : NULL;
    int64_t arrives_s = model->problem->lot[lot].arrives_s;
    if (place == 0) {
        efi_season_begin(model, line, &part->state[0], depth);
    } else {
        part->state[place] = part->state[place - 1];
        if (depth)
            *depth = part->depth[place - 1];
    }
    if (model->hot[line][lot].waits && !in_vain) {
        const efi_season_lot *of = &model->problem->lot[lot];
        const int64_t ready_s = play->moment[of->after].end_s + of->after_s;
        if (ready_s > arrives_s) {
            arrives_s = ready_s;
            step.arrives_w = efi_season_clock_work(&model->clock[line], ready_s);
        }
    }
    efi_season_run *run = play->run ? &play->run[lot] : NULL;
    efi_season_next(model, &step, &part->state[place], depth, &play->moment[lot], run);
    if (run) {
        run->place = place;
        run->arrives_s = arrives_s;
        run->waits_in_vain = in_vain;
    }
    play->pending[lot] = false;
    play->vain += in_vain;
}

static int64_t value_at(const efi_season_part *part, int place)
{
    return place > 0 ? part->state[place - 1].value : 0;
}

/* Plays the lots of a line until one has to wait; false when that is the first of them, or none is left. */
static bool go_on(efi_season_play *play, int line, int *at)
{
    const efi_season_part *part = &play->part[line];
    const int before = *at;
    while (*at < part->count && !has_to_wait(play, line, part->lot[*at])) {
        play_lot(play, line, *at, false);
        (*at)++;
    }
    play->value += value_at(part, *at) - value_at(part, before);
    return *at > before;
}

/* The first line that has lots left runs the next without waiting; false when none has. */
static bool break_up(efi_season_play *play, int at[EFI_SEASON_MOST_LINES])
{
    for (int line = 0; line < play->model->problem->lines; line++) {
        const efi_season_part *part = &play->part[line];
        if (at[line] == part->count)
            continue;
        const int64_t before = value_at(part, at[line]);
        play_lot(play, line, at[line], true);
        at[line]++;
        play->value += value_at(part, at[line]) - before + EFI_SEASON_FORBIDDEN_WEIGHT;
        return true;
    }
    return false;
}

bool efi_season_play_all(efi_season_play *play)
{
    const int lines = play->model->problem->lines;
    int at[EFI_SEASON_MOST_LINES];
    play->vain = 0;
    play->value = 0;
    for (int line = 0; line < lines; line++) {
        const efi_season_part *part = &play->part[line];
        at[line] = part->from;
        play->value += value_at(part, part->from);
        for (int i = part->from; i < part->count; i++)
            play->pending[part->lot[i]] = true;
    }
    for (bool goes = true; goes && play->value <= play->limit;) {
        goes = false;
        for (int line = 0; line < lines; line++)
            goes = go_on(play, line, &at[line]) || goes;
        goes = goes || break_up(play, at);
    }
    for (int line = 0; line < lines; line++) {
        const efi_season_part *part = &play->part[line];
        for (int i = at[line]; i < part->count; i++)
            play->pending[part->lot[i]] = false;
        if (at[line] == part->count && part->count > 0)
            play->value += efi_season_close(play->model, line, &part->state[part->count - 1]);
    }
    return play->value <= play->limit;
}
