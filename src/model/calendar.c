/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from a calendar as given: the usual shift, last days, people. */
#include "model/bind.h"

#include <math.h>

enum {
    USUAL_START_DAY = 11323, /* Monday 2001-01-01 */
    USUAL_FROM_S = 6 * EFI_HOUR_S
};

int efi_clock_span(int64_t from_s, int64_t to_s)
{
    const int64_t span = to_s - from_s;
    return (int)(span < 0 ? span + EFI_DAY_S : span);
}

/* The shift of a plant that names none: its shift length, to the second, at most a day. */
static void make_usual_shift(efi_binder *b, efi_calendar *calendar)
{
    efi_shift *shift = efi_bind_get(b, 1, sizeof *shift);
    if (!shift)
        return;
    const efi_value wanted_h = b->scenario->plant->shift_h;
    const double length_s = round(EFI_HOUR_S * (wanted_h.given ? wanted_h.value : 8.0));
    const bool whole_day = !(length_s < EFI_DAY_S);
    const int64_t from_s = whole_day ? 0 : USUAL_FROM_S;
    const int64_t end_s = whole_day ? EFI_DAY_S : from_s + (length_s < 1.0 ? 1 : (int64_t)length_s);
    shift->name = "day";
    shift->days = (efi_when){.value = EFI_WEEKDAYS_WORK, .given = true};
    shift->from = (efi_when){.value = from_s, .given = true};
    shift->to = (efi_when){.value = end_s > EFI_DAY_S ? end_s - EFI_DAY_S : end_s, .given = true};
    calendar->shifts = shift;
    calendar->shift_count = 1;
}

static efi_value people_of(efi_value own, efi_value plant)
{
    return own.given || own.bad ? own : plant;
}

static void make_moment(const efi_calendar *calendar, efi_when *when)
{
    if (when->is_relative)
        when->value += calendar->start.value * EFI_DAY_S;
}

void efi_calendar_finish(efi_binder *b)
{
    ef_scenario *scenario = b->scenario;
    if (scenario->calendar)
        scenario->calendar->is_given = true;
    else
        scenario->calendar = efi_bind_get(b, 1, sizeof *scenario->calendar);
    efi_calendar *calendar = scenario->calendar;
    if (!calendar || !scenario->plant)
        return;
    if (!calendar->start.given && !calendar->start.bad)
        calendar->start = (efi_when){.value = USUAL_START_DAY, .given = true};
    if (calendar->shift_count == 0)
        make_usual_shift(b, calendar);
    for (int i = 0; i < scenario->record_count; i++) {
        make_moment(calendar, &scenario->records[i].from);
        make_moment(calendar, &scenario->records[i].to);
    }
    for (int i = 0; i < calendar->shift_count; i++)
        calendar->shifts[i].people = people_of(calendar->shifts[i].people, scenario->plant->people);
    for (int i = 0; i < calendar->holiday_count; i++)
        if (!calendar->holidays[i].last.given && !calendar->holidays[i].last.bad)
            calendar->holidays[i].last = calendar->holidays[i].date;
    for (int i = 0; i < calendar->overtime_count; i++) {
        efi_overtime *one = &calendar->overtimes[i];
        one->people = people_of(one->people, scenario->plant->people);
        if (!one->last.given && !one->last.bad)
            one->last = one->date;
    }
    for (int i = 0; i < calendar->maintenance_count; i++)
        if (!calendar->maintenances[i].first.given && !calendar->maintenances[i].first.bad)
            calendar->maintenances[i].first = calendar->start;
}
