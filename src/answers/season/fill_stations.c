/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lines that are cleaned station by station, as the planner reads them. */
#include "answers/season/fill.h"

/* ---- how crops pass -------------------------------------------------------------------------------------
 */

ef_status efi_season_fill_passages(const efi_season_case *of, ef_season *season)
{
    const ef_scenario *scenario = of->scenario;
    const size_t most = (size_t)of->lines * (size_t)scenario->crop_count * EFI_SEASON_MOST_STATIONS;
    if (!of->way)
        return EF_OK;
    ef_season_passage *list = efi_arena_get(of->arena, most, sizeof *list);
    if (!list)
        return EF_MEMORY;
    for (int line = 0; line < of->lines; line++) {
        const efi_line_way *way = &of->way[line];
        for (int crop = 0; crop < scenario->crop_count; crop++) {
            for (int m = 0; way->crop[crop].is_known && m < way->count; m++)
                list[season->passage_count++] = (ef_season_passage){
                    .line = line,
                    .crop = scenario->crops[crop].name,
                    .station = scenario->stations[way->station[m]].name,
                    .work_share = way->crop[crop].share[m],
                    .delay_h = way->delay_h[m],
                    .room_t = way->crop[crop].room_t[m]};
        }
    }
    season->passages = list;
    return EF_OK;
}

/* ---- what is cleaned ------------------------------------------------------------------------------------
 */

/* Working seconds for which the slowest station of the line stands before a lot. */
static int64_t stands_s(const efi_season_case *of, const efi_season_worked *worked, int e)
{
    const efi_season_problem *p = &of->problem;
    const efi_season_run *run = &worked->run[e];
    if (run->before >= p->lots || p->lot[run->before].has_run)
        return 0;
    const int slowest = of->way[run->line].crop[of->lots[of->lot_of[e]].crop].slowest;
    const int64_t from_s = worked->run[run->before].station_end_s[slowest];
    const int64_t to_s = run->station_start_s[slowest];
    return to_s > from_s ? efi_timetable_worked(p->time[run->line], from_s, to_s) : 0;
}

static ef_status fill_run(const efi_season_case *of, const efi_season_worked *worked, int e,
                          ef_season_run *into)
{
    const efi_season_problem *p = &of->problem;
    const efi_season_run *run = &worked->run[e];
    const efi_line_way *way = &of->way[run->line];
    const size_t pair = (size_t)run->before * (size_t)(p->lots + 1) + (size_t)e;
    const int64_t *clean_s = p->stations[run->line].clean_s +
                             (size_t)p->clean_class[pair] * (size_t)way->count;
    ef_season_cleaned *list = efi_arena_get(of->arena, (size_t)way->count, sizeof *list);
    if (!list)
        return EF_MEMORY;
    into->stands_h = efi_hours_of(stands_s(of, worked, e));
    for (int m = 0; m < way->count; m++) {
        int64_t to_s = run->station_clean_s[m];
        if (clean_s[m] == 0)
            continue;
        (void)efi_timetable_add_work(p->time[run->line], run->station_clean_s[m], clean_s[m], &to_s);
        list[into->cleaned_count++] = (ef_season_cleaned){
            .station = of->scenario->stations[way->station[m]].name,
            .from = efi_season_to_moment(of->scenario, run->station_clean_s[m]),
            .to = efi_season_to_moment(of->scenario, to_s),
            .clean_h = efi_hours_of(clean_s[m])};
    }
    into->cleaned = list;
    return EF_OK;
}

ef_status efi_season_fill_cleaned(const efi_season_case *of, const efi_season_worked *worked,
                                  ef_season_run *runs, int run_count, ef_season_line *lines)
{
    for (int line = 0; line < of->lines; line++)
        if (efi_season_by_station(of, line))
            lines[line].clean_h = 0.0;
    for (int r = 0; r < run_count; r++) {
        ef_season_run *run = &runs[r];
        const efi_lot_now *now = &of->now[run->lot];
        if (!efi_season_by_station(of, run->line) || now->state == EF_SEASON_DONE ||
            now->state == EF_SEASON_RUNNING || run->forbidden)
            continue;
        EF_TRY(fill_run(of, worked, now->engine, run));
        double sum_h = 0.0;
        for (int i = 0; i < run->cleaned_count; i++)
            sum_h += run->cleaned[i].clean_h;
        lines[run->line].clean_h += run->stands_h < sum_h ? run->stands_h : sum_h;
    }
    for (int line = 0; line < of->lines; line++) {
        const double idle_h = lines[line].open_h - lines[line].work_h - lines[line].clean_h;
        if (efi_season_by_station(of, line))
            lines[line].idle_h = idle_h > 0.0 ? idle_h : 0.0;
    }
    return EF_OK;
}
