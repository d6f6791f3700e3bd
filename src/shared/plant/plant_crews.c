/* SPDX-License-Identifier: GPL-3.0-or-later
 * The crews of a plant: who sees to stops, and in which hours. */
#include "base/memory.h"
#include "shared/calendar/calendar.h"
#include "shared/plant/plant_inside.h"

#include <math.h>
#include <string.h>

/* Later than any run ends, h. */
#define EVER_H 1e8

/* The hours in which the plant is not closed. */
static ef_status lay_open_hours(const efi_plant_builder *b, efi_network_crew *crew)
{
    const efi_interval *closed = b->plant->common[EFI_PLANT_CLOSED];
    const int closings = b->plant->commons[EFI_PLANT_CLOSED];
    efi_interval *duty = efi_arena_get(b->arena, (size_t)closings + 1, sizeof *duty);
    if (!duty)
        return EF_MEMORY;
    double open_h = 0.0;
    for (int i = 0; i <= closings; i++) {
        const double end_h = i < closings ? closed[i].from_h : EVER_H;
        if (end_h > open_h)
            duty[crew->intervals++] = (efi_interval){open_h, end_h};
        if (i < closings)
            open_h = closed[i].to_h;
    }
    crew->duty = duty;
    return EF_OK;
}

/* A crew's own hours: those of a calendar that has them as its only shift, and the plant's holidays. */
static ef_status lay_own_hours(const efi_plant_builder *b, const efi_crew *of, efi_network_crew *crew)
{
    const efi_calendar *plant = b->line->scenario->calendar;
    efi_shift shift = {.name = of->name, .days = of->days, .from = of->from, .to = of->to};
    const efi_calendar own = {.start = plant->start,
                              .shifts = &shift,
                              .shift_count = 1,
                              .holidays = plant->holidays,
                              .holiday_count = plant->holiday_count};
    const int64_t from_s = b->options->from_s;
    const int64_t to_s = from_s + (int64_t)ceil(b->options->hours * EFI_HOUR_S);
    efi_timetable timetable;
    efi_interval *list = NULL;
    EF_TRY(efi_timetable_build(&timetable, &own, EFI_WHOLE_PLANT, from_s, to_s));
    ef_status status = efi_timetable_stops(&timetable, EFI_TIME_SET(EFI_TIME_SHIFT), from_s, &list,
                                           &crew->intervals);
    efi_timetable_free(&timetable);
    if (status != EF_OK)
        return status;
    const size_t count = (size_t)crew->intervals;
    efi_interval *duty = efi_arena_get(b->arena, count, sizeof *duty);
    if (duty && count)
        memcpy(duty, list, count * sizeof *duty);
    crew->duty = duty;
    efi_free(list);
    return duty ? EF_OK : EF_MEMORY;
}

static ef_status add_crew(const efi_plant_builder *b, const efi_crew *of, efi_network_crew *crew)
{
    *crew = (efi_network_crew){.name = of->name,
                               .teams = of->teams,
                               .has_duty = b->options->on_calendar && !of->on_call,
                               .breaks_off = !of->stays};
    if (!crew->has_duty)
        return EF_OK;
    return of->from.given && of->to.given ? lay_own_hours(b, of, crew) : lay_open_hours(b, crew);
}

ef_status efi_plant_add_crews(const efi_plant_builder *b)
{
    const ef_scenario *scenario = b->line->scenario;
    efi_plant_network *plant = b->plant;
    efi_network_crew *crews = efi_arena_get(b->arena, (size_t)scenario->crew_count + 1, sizeof *crews);
    if (!crews)
        return EF_MEMORY;
    for (int i = 0; i < scenario->crew_count; i++)
        EF_TRY(add_crew(b, &scenario->crews[i], &crews[i]));
    plant->network.crew = crews;
    plant->network.crews = scenario->crew_count;
    plant->anybody = -1;
    if (plant->commons[EFI_PLANT_CLOSED] == 0)
        return EF_OK;
    plant->anybody = plant->network.crews++;
    efi_network_crew *anybody = &crews[plant->anybody];
    *anybody = (efi_network_crew){.teams = EFI_PLANT_TEAMS, .has_duty = true, .breaks_off = true};
    return lay_open_hours(b, anybody);
}

void efi_plant_name_crew(const efi_plant_builder *b, const efi_stop *stop, efi_stop_mode *mode)
{
    const int anybody = stop->at.count > 0 ? -1 : b->plant->anybody;
    mode->crew = stop->crew >= 0 ? stop->crew : anybody;
    mode->has_crew = mode->crew >= 0;
}
