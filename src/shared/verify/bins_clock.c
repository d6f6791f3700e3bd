/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/bins_clock.h"

#include "base/date.h"

#include <math.h>
#include <stdlib.h>

#define DAY_H  24.0
#define HOUR_S 3600.0

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static int by_beginning(const void *left, const void *right)
{
    const efi_interval *a = left;
    const efi_interval *b = right;
    return (a->from_h > b->from_h) - (a->from_h < b->from_h);
}

ef_status efi_bins_clock_times(const ef_scenario *scenario, const efi_stop *stop, double hours,
                               efi_arena *arena, efi_stop_mode *mode)
{
    const int days = (int)ceil(hours / DAY_H) + 1;
    double *at_h = efi_arena_get(arena, (size_t)days * (size_t)stop->at.count, sizeof *at_h);
    int count = 0;
    if (!at_h)
        return EF_MEMORY;
    for (int day = 0; day < days; day++)
        for (int i = 0; i < stop->at.count; i++)
            if (stop->days.value & 1 << efi_day_weekday(scenario->calendar->start.value + day))
                at_h[count++] = day * DAY_H + (double)stop->at.items[i] / HOUR_S;
    qsort(at_h, (size_t)count, sizeof *at_h, rising);
    int kept = 0;
    for (int i = 0; i < count; i++)
        if (kept == 0 || at_h[i] > at_h[kept - 1])
            at_h[kept++] = at_h[i];
    mode->schedule = kept > 0 ? EFI_STOPS_AT : EFI_STOPS_LIST;
    mode->counting = EFI_COUNT_CLOCK;
    mode->at_h = at_h;
    mode->ats = kept;
    mode->period_h = 0.0; /* each hour stands there once */
    return EF_OK;
}

ef_status efi_bins_records(const ef_scenario *scenario, int station, efi_arena *arena, efi_stop_mode *mode,
                           int *count)
{
    const double start_h = (double)scenario->calendar->start.value * DAY_H;
    *count = 0;
    for (int planned = 0; planned < 2; planned++) {
        efi_interval *list = efi_arena_get(arena, (size_t)scenario->record_count + 1, sizeof *list);
        int found = 0;
        if (!list)
            return EF_MEMORY;
        for (int i = 0; i < scenario->record_count; i++) {
            const efi_record *one = &scenario->records[i];
            const double from_h = (double)one->from.value / HOUR_S - start_h;
            const double to_h = (double)one->to.value / HOUR_S - start_h;
            for (int k = 0; k < one->stations.count; k++)
                if (one->stations.items[k] == station && one->planned == (planned == 1) && to_h > 0.0)
                    list[found++] = (efi_interval){fmax(from_h, 0.0), to_h};
        }
        if (found == 0)
            continue;
        qsort(list, (size_t)found, sizeof *list, by_beginning);
        mode[(*count)++] = (efi_stop_mode){
            .schedule = EFI_STOPS_LIST, .counting = EFI_COUNT_CLOCK, .intervals = found, .list = list};
    }
    return EF_OK;
}
