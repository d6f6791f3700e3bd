/* SPDX-License-Identifier: GPL-3.0-or-later
 * The hours of people: crews that see to stops, and receipts. */
#include "base/memory.h"
#include "shared/calendar/calendar.h"
#include "shared/plant/plant_inside.h"

#include <math.h>
#include <string.h>

/* Later than any run ends, h. */
#define EVER_H 1e8

/* Hours from hour 0. */
typedef struct hours {
    const efi_interval *list; /* shape [count], rising, apart */
    int count;
} hours;

/* The hours in which the plant is not closed. */
static ef_status lay_open_hours(const efi_plant_builder *b, hours *laid)
{
    const efi_interval *closed = b->plant->common[EFI_PLANT_CLOSED];
    const int closings = b->plant->commons[EFI_PLANT_CLOSED];
    efi_interval *list = efi_arena_get(b->arena, (size_t)closings + 1, sizeof *list);
    if (!list)
        return EF_MEMORY;
    *laid = (hours){.list = list};
    double open_h = 0.0;
    for (int i = 0; i <= closings; i++) {
        const double end_h = i < closings ? closed[i].from_h : EVER_H;
        if (end_h > open_h)
            list[laid->count++] = (efi_interval){open_h, end_h};
        if (i < closings)
            open_h = closed[i].to_h;
    }
    return EF_OK;
}

/* Hours of people's own: those of a calendar that has them as its only shift, and the plant's holidays. */
static ef_status lay_own_hours(const efi_plant_builder *b, efi_when days, efi_when from, efi_when to,
                               hours *laid)
{
    const efi_calendar *plant = b->line->scenario->calendar;
    efi_shift shift = {.name = "", .days = days, .from = from, .to = to};
    const efi_calendar own = {.start = plant->start,
                              .shifts = &shift,
                              .shift_count = 1,
                              .holidays = plant->holidays,
                              .holiday_count = plant->holiday_count};
    const int64_t from_s = b->options->from_s;
    const int64_t to_s = from_s + (int64_t)ceil(b->options->hours * EFI_HOUR_S);
    efi_timetable timetable;
    efi_interval *found = NULL;
    int count = 0;
    EF_TRY(efi_timetable_build(&timetable, &own, EFI_WHOLE_PLANT, from_s, to_s));
    const ef_status status = efi_timetable_stops(&timetable, EFI_TIME_SET(EFI_TIME_SHIFT), from_s, &found,
                                                 &count);
    efi_timetable_free(&timetable);
    if (status != EF_OK)
        return status;
    efi_interval *list = efi_arena_get(b->arena, (size_t)count, sizeof *list);
    if (list && count > 0)
        memcpy(list, found, (size_t)count * sizeof *list);
    *laid = (hours){list, count};
    efi_free(found);
    return list ? EF_OK : EF_MEMORY;
}

/* Own hours where both ends are said, else those of the plant. */
static ef_status lay_hours(const efi_plant_builder *b, efi_when days, efi_when from, efi_when to, hours *laid)
{
    return from.given && to.given ? lay_own_hours(b, days, from, to, laid) : lay_open_hours(b, laid);
}

/* ---- crews ----------------------------------------------------------------------------------------------
 */

static ef_status add_crew(const efi_plant_builder *b, const efi_crew *of, efi_network_crew *crew)
{
    *crew = (efi_network_crew){.name = of->name,
                               .teams = of->teams,
                               .has_duty = b->options->on_calendar && !of->on_call,
                               .breaks_off = !of->stays};
    hours laid = {0};
    if (crew->has_duty)
        EF_TRY(lay_hours(b, of->days, of->from, of->to, &laid));
    crew->duty = laid.list;
    crew->intervals = laid.count;
    return EF_OK;
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
    hours laid;
    EF_TRY(lay_open_hours(b, &laid));
    *anybody = (efi_network_crew){.teams = EFI_PLANT_TEAMS,
                                  .has_duty = true,
                                  .breaks_off = true,
                                  .intervals = laid.count,
                                  .duty = laid.list};
    return EF_OK;
}

void efi_plant_name_crew(const efi_plant_builder *b, const efi_stop *stop, efi_stop_mode *mode)
{
    const int anybody = stop->at.count > 0 ? -1 : b->plant->anybody;
    mode->crew = stop->crew >= 0 ? stop->crew : anybody;
    mode->has_crew = mode->crew >= 0;
}

/* ---- receipts -------------------------------------------------------------------------------------------
 */

ef_status efi_plant_lay_receipts(const efi_plant_builder *b, const efi_receipts *receipts,
                                 efi_network_loads *loads)
{
    static const efi_interval never = {EVER_H, 2.0 * EVER_H};
    if (!b->options->on_calendar || receipts->all_hours)
        return EF_OK;
    hours laid;
    EF_TRY(lay_hours(b, receipts->days, receipts->from, receipts->to, &laid));
    if (laid.count == 0)
        laid = (hours){&never, 1};
    loads->open = laid.list;
    loads->intervals = laid.count;
    return EF_OK;
}
