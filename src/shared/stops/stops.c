/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/stops/stops.h"

#include <assert.h>
#include <math.h>

static bool positive(double x)
{
    return isfinite(x) && x > 0.0;
}

static bool not_negative(double x)
{
    return isfinite(x) && x >= 0.0;
}

static efi_stop_fault check_times(const efi_stop_mode *mode)
{
    if (mode->counting != EFI_COUNT_CLOCK)
        return EFI_STOP_BAD_COUNTING;
    if (mode->schedule == EFI_STOPS_LIST) {
        double last_h = 0.0;
        for (int i = 0; i < mode->intervals; i++) {
            const efi_interval *one = &mode->list[i];
            if (!(one->from_h >= last_h && one->to_h > one->from_h && one->to_h < EFI_GRID_MOST))
                return EFI_STOP_BAD_LIST;
            last_h = one->to_h;
        }
        return EFI_STOP_GOOD;
    }
    if (mode->ats < 1 || !not_negative(mode->period_h))
        return EFI_STOP_BAD_LIST;
    for (int i = 0; i < mode->ats; i++)
        if (!not_negative(mode->at_h[i]) || (i > 0 && !(mode->at_h[i] > mode->at_h[i - 1])))
            return EFI_STOP_BAD_LIST;
    return mode->period_h <= 0.0 || mode->period_h > mode->at_h[mode->ats - 1] ? EFI_STOP_GOOD
                                                                               : EFI_STOP_BAD_LIST;
}

static bool gap_valid(const efi_stop_mode *mode)
{
    if (mode->has_first && !not_negative(mode->first))
        return false;
    switch (mode->schedule) {
    case EFI_STOPS_DRAWN:
        return efi_distribution_valid(&mode->gap);
    case EFI_STOPS_EVERY:
        return positive(mode->every);
    case EFI_STOPS_AT:
    case EFI_STOPS_LIST:
        return true;
    }
    return false;
}

efi_stop_fault efi_stop_mode_check(const efi_stop_mode *mode)
{
    if (!gap_valid(mode))
        return EFI_STOP_BAD_GAP;
    if (mode->schedule != EFI_STOPS_LIST &&
        (!efi_distribution_valid(&mode->duration) || !not_negative(mode->lockout_h)))
        return EFI_STOP_BAD_DURATION;
    if (mode->schedule == EFI_STOPS_AT || mode->schedule == EFI_STOPS_LIST)
        return check_times(mode);
    return EFI_STOP_GOOD;
}

uint64_t efi_stop_stream(uint64_t station_key, int unit, int mode)
{
    assert(unit >= 0 && unit < 4096 && mode >= 0 && mode < 4096);
    return station_key << 24 | (uint64_t)unit << 12 | (uint64_t)mode;
}

/* A clock time on the grid; 0 stays 0. */
static double clock_on_grid(double at_h)
{
    return at_h < 0.5 * EFI_GRID_STEP ? 0.0 : efi_grid_round(at_h);
}

void efi_stop_source_start(efi_stop_source *source, const efi_stop_mode *mode, uint64_t seed,
                           uint64_t replication, uint64_t stream)
{
    source->mode = mode;
    source->random = efi_random_stream(seed, replication, stream);
    source->first = mode->has_first ? clock_on_grid(mode->first) : -1.0;
    source->clock_h = 0.0;
    source->taken = 0;
    source->period = 0;
    source->next = 0;
}

void efi_stop_source_look_in(efi_stop_source *source)
{
    const efi_stop_mode *mode = source->mode;
    assert(source->taken == 0);
    if (mode->has_first)
        return;
    if (mode->schedule == EFI_STOPS_DRAWN)
        source->first = efi_distribution_remaining(&mode->gap, &source->random);
    else if (mode->schedule == EFI_STOPS_EVERY)
        source->first = clock_on_grid(efi_random_uniform(&source->random) * efi_grid_round(mode->every));
}

/* Start-to-start schedule on the clock: the first start not before the end of the last stop. */
static double next_every(const efi_stop_source *source)
{
    const efi_stop_mode *mode = source->mode;
    const double every = efi_grid_round(mode->every);
    const double first = source->first >= 0.0 ? source->first : every;
    if (first >= source->clock_h)
        return first;
    double start_h = first + floor((source->clock_h - first) / every) * every;
    while (start_h < source->clock_h)
        start_h += every;
    return start_h;
}

static double next_at(efi_stop_source *source)
{
    const efi_stop_mode *mode = source->mode;
    for (;;) {
        if (source->next >= mode->ats) {
            if (mode->period_h <= 0.0)
                return INFINITY;
            source->next = 0;
            source->period++;
        }
        const double start_h = clock_on_grid(mode->at_h[source->next++] +
                                             mode->period_h * (double)source->period);
        if (start_h >= source->clock_h)
            return start_h;
    }
}

static double next_listed(efi_stop_source *source)
{
    const efi_stop_mode *mode = source->mode;
    while (source->next < mode->intervals) {
        const double start_h = clock_on_grid(mode->list[source->next++].from_h);
        if (start_h >= source->clock_h)
            return start_h;
    }
    return INFINITY;
}

static double drawn_gap(efi_stop_source *source)
{
    const efi_stop_mode *mode = source->mode;
    const double gap = efi_distribution_draw(&mode->gap, &source->random);
    return source->taken == 0 && source->first >= 0.0 ? source->first : gap;
}

static double timed_gap(efi_stop_source *source)
{
    double start_h = INFINITY;
    switch (source->mode->schedule) {
    case EFI_STOPS_DRAWN:
        start_h = source->clock_h + drawn_gap(source);
        break;
    case EFI_STOPS_EVERY:
        start_h = next_every(source);
        break;
    case EFI_STOPS_AT:
        start_h = next_at(source);
        break;
    case EFI_STOPS_LIST:
        start_h = next_listed(source);
        break;
    }
    const double gap = start_h < EFI_GRID_MOST ? start_h - source->clock_h : INFINITY;
    source->clock_h = start_h;
    return gap;
}

double efi_stop_source_gap(efi_stop_source *source)
{
    const efi_stop_mode *mode = source->mode;
    if (mode->counting == EFI_COUNT_CLOCK)
        return timed_gap(source);
    if (mode->schedule == EFI_STOPS_DRAWN)
        return drawn_gap(source);
    return source->taken == 0 && source->first >= 0.0 ? source->first : efi_grid_round(mode->every);
}

double efi_stop_source_duration(efi_stop_source *source)
{
    const efi_stop_mode *mode = source->mode;
    double duration_h;
    if (mode->schedule == EFI_STOPS_LIST) {
        assert(source->next > 0);
        duration_h = efi_grid_round(mode->list[source->next - 1].to_h) - source->clock_h;
        if (duration_h < EFI_GRID_STEP)
            duration_h = EFI_GRID_STEP;
    } else {
        duration_h = efi_distribution_draw(&mode->duration, &source->random);
        if (duration_h < mode->lockout_h)
            duration_h = efi_grid_round(mode->lockout_h);
    }
    source->taken++;
    source->clock_h += duration_h;
    return duration_h;
}

void efi_stop_source_wait(efi_stop_source *source, double waited_h)
{
    source->clock_h += waited_h;
}
