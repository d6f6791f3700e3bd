/* SPDX-License-Identifier: GPL-3.0-or-later
 * Two plants on the same random numbers: what a shift makes more or less, and what differs between them. */
#include "answers/shift/shift.h"
#include "base/locale.h"
#include "model/difference.h"

#include <string.h>

enum {
    MOST_CHANGES = 40
};

typedef struct owned_comparison {
    ef_shift_comparison comparison; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
    ef_shift *here;
    ef_shift *there;
} owned_comparison;

/* ---- streams --------------------------------------------------------------------------------------------
 */

/* What a run gave of a stream, t: the intake (-2), the product (-1), or an outlet. */
static double tonnes_of(const ef_shift *shift, int stream, int run)
{
    const size_t periods = (size_t)shift->period_count;
    const size_t from = (size_t)run * periods;
    const size_t shifts = (size_t)shift->runs * periods;
    double sum = 0.0;
    for (size_t i = from; i < from + periods; i++) {
        if (stream == -2)
            sum += shift->intake_t[i];
        for (int o = 0; o < shift->outlet_count; o++)
            if (stream == o || (stream == -1 && shift->is_product[o]))
                sum += shift->outlet_t[(size_t)o * shifts + i];
    }
    return sum;
}

static int find_outlet(const ef_shift *shift, const char *name)
{
    for (int o = 0; o < shift->outlet_count; o++)
        if (strcmp(shift->outlets[o], name) == 0)
            return o;
    return -1;
}

/* Compares stream `here` with stream `there`; a number past the last outlet stands for none. */
static void fill_stream(const owned_comparison *owned, int here, int there, double *more,
                        ef_shift_difference *out)
{
    const ef_shift_comparison *comparison = &owned->comparison;
    const int runs = owned->here->runs;
    for (int r = 0; r < runs; r++) {
        const double here_t = tonnes_of(owned->here, here, r) / comparison->shifts;
        const double there_t = tonnes_of(owned->there, there, r) / comparison->shifts;
        out->here_t += here_t / runs;
        out->there_t += there_t / runs;
        more[r] = here_t - there_t;
    }
    const efi_estimate e = efi_estimate_mean(more, runs, EFI_SHIFT_CONFIDENCE);
    out->more_t = (ef_shift_estimate){e.value, e.low, e.high};
}

static void count_better(ef_shift_comparison *comparison, const double *more, int runs)
{
    int better = 0;
    int worse = 0;
    for (int r = 0; r < runs; r++) {
        better += more[r] > 0.0;
        worse += more[r] < 0.0;
    }
    comparison->better_share = (double)better / runs;
    comparison->worse_share = (double)worse / runs;
}

static void fill_streams(owned_comparison *owned, ef_shift_difference *streams, double *more)
{
    ef_shift_comparison *comparison = &owned->comparison;
    const ef_shift *here = owned->here;
    const ef_shift *there = owned->there;
    streams[0] = (ef_shift_difference){.name = "intake", .is_here = true, .is_there = true};
    fill_stream(owned, -2, -2, more, &streams[0]);
    streams[1] = (ef_shift_difference){.name = "product", .product = true, .is_here = true, .is_there = true};
    fill_stream(owned, -1, -1, more, &streams[1]);
    count_better(comparison, more, here->runs);
    int count = 2;
    for (int o = 0; o < here->outlet_count; o++) {
        const int other = find_outlet(there, here->outlets[o]);
        streams[count] = (ef_shift_difference){.name = here->outlets[o],
                                               .product = here->is_product[o],
                                               .is_here = true,
                                               .is_there = other >= 0};
        fill_stream(owned, o, other >= 0 ? other : there->outlet_count, more, &streams[count++]);
    }
    for (int o = 0; o < there->outlet_count; o++) {
        if (find_outlet(here, there->outlets[o]) >= 0)
            continue;
        streams[count] = (ef_shift_difference){
            .name = there->outlets[o], .product = there->is_product[o], .is_there = true};
        fill_stream(owned, here->outlet_count, o, more, &streams[count++]);
    }
    comparison->streams = streams;
    comparison->stream_count = count;
}

/* ---- stations and changes -------------------------------------------------------------------------------
 */

static int find_station(const ef_shift *shift, const char *name)
{
    for (int s = 0; s < shift->station_count; s++)
        if (strcmp(shift->stations[s].name, name) == 0)
            return s;
    return -1;
}

static void fill_stations(owned_comparison *owned, ef_shift_pair *pairs)
{
    ef_shift_comparison *comparison = &owned->comparison;
    for (int s = 0; s < owned->here->station_count; s++) {
        const char *name = owned->here->stations[s].name;
        pairs[comparison->station_count++] = (ef_shift_pair){name, s, find_station(owned->there, name)};
    }
    for (int s = 0; s < owned->there->station_count; s++) {
        const char *name = owned->there->stations[s].name;
        if (find_station(owned->here, name) < 0)
            pairs[comparison->station_count++] = (ef_shift_pair){name, -1, s};
    }
    comparison->stations = pairs;
}

static ef_status fill_changes(owned_comparison *owned, const ef_scenario *here, const ef_scenario *there)
{
    efi_difference_list list;
    EF_TRY(efi_scenario_differences(here, there, owned->arena, MOST_CHANGES, &list));
    ef_shift_change *changes = efi_arena_get(owned->arena, (size_t)list.count, sizeof *changes);
    if (!changes)
        return EF_MEMORY;
    for (int i = 0; i < list.count; i++)
        changes[i] = (ef_shift_change){list.items[i].path, list.items[i].here, list.items[i].there};
    owned->comparison.changes = changes;
    owned->comparison.change_count = list.count;
    owned->comparison.more_changes = list.more;
    return EF_OK;
}

static ef_status fill(owned_comparison *owned, const ef_scenario *here, const ef_scenario *there)
{
    ef_shift_comparison *comparison = &owned->comparison;
    const size_t streams = 2 + (size_t)owned->here->outlet_count + (size_t)owned->there->outlet_count;
    const size_t stations = (size_t)owned->here->station_count + (size_t)owned->there->station_count;
    ef_shift_difference *differences = efi_arena_get(owned->arena, streams, sizeof *differences);
    ef_shift_pair *pairs = efi_arena_get(owned->arena, stations, sizeof *pairs);
    double *more = efi_new((size_t)owned->here->runs, sizeof *more);
    if (!differences || !pairs || !more) {
        efi_free(more);
        return EF_MEMORY;
    }
    comparison->here = owned->here;
    comparison->there = owned->there;
    const bool same = owned->here->period_count == owned->there->period_count;
    comparison->shifts = same ? owned->here->period_count : 1;
    fill_streams(owned, differences, more);
    efi_free(more);
    fill_stations(owned, pairs);
    return fill_changes(owned, here, there);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

/* Runs the one with the shorter warm-up again with the longer: only then do the same random numbers stand for
 * the same shifts. */
static ef_status warm_up_alike(owned_comparison *owned, const ef_scenario *here, ef_shift_settings *own,
                               const ef_scenario *there, ef_shift_settings *other)
{
    const double here_h = owned->here->warm_up_h;
    const double there_h = owned->there->warm_up_h;
    if (here_h == there_h || owned->here->period_count == 1)
        return EF_OK;
    const bool again = here_h < there_h;
    ef_shift_settings *settings = again ? own : other;
    settings->least_warm_up_h = again ? there_h : here_h;
    settings->runs = owned->here->runs;
    settings->shifts = 0;
    settings->precision = 0.0;
    ef_shift **place = again ? &owned->here : &owned->there;
    ef_shift *longer;
    EF_TRY(ef_shift_run(again ? here : there, settings, &longer, NULL));
    longer->precision = (*place)->precision;
    longer->precise = longer->precision > 0.0 && longer->reached <= longer->precision;
    ef_shift_free(*place);
    *place = longer;
    return EF_OK;
}

static ef_status run_both(owned_comparison *owned, const ef_scenario *here, const ef_scenario *there,
                          const ef_shift_settings *settings, char **reason)
{
    ef_shift_settings other = *settings;
    other.crop = settings->crop >= 0 && settings->crop < here->crop_count
                     ? ef_scenario_find_crop(there, here->crops[settings->crop].name)
                     : -1;
    if (other.crop < 0)
        return EF_USAGE;
    ef_shift_settings own = *settings;
    own.single = other.single = settings->single || efi_shift_goes_by_clock(here) ||
                                efi_shift_goes_by_clock(there);
    EF_TRY(ef_shift_run(here, &own, &owned->here, reason));
    other.runs = owned->here->runs;
    other.shifts = 0;
    other.precision = 0.0;
    other.remedies = false;
    if (owned->here->on_calendar && there->calendar->is_given) {
        other.has_from = true;
        other.from_day = owned->here->from_day;
        other.days = owned->here->days;
    }
    EF_TRY(ef_shift_run(there, &other, &owned->there, reason));
    if (owned->there->on_calendar != owned->here->on_calendar)
        return EF_USAGE;
    EF_TRY(warm_up_alike(owned, here, &own, there, &other));
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    const ef_status status = fill(owned, here, there);
    efi_locale_leave(&locale);
    return status;
}

ef_status ef_shift_compare(const ef_scenario *here, const ef_scenario *there,
                           const ef_shift_settings *settings, ef_shift_comparison **comparison, char **reason)
{
    owned_comparison *owned = efi_new(1, sizeof *owned);
    if (owned)
        owned->arena = efi_arena_new();
    const ef_status status = owned && owned->arena ? run_both(owned, here, there, settings, reason)
                                                   : EF_MEMORY;
    if (status != EF_OK) {
        if (owned)
            ef_shift_comparison_free(&owned->comparison);
        return status;
    }
    *comparison = &owned->comparison;
    return EF_OK;
}

void ef_shift_comparison_free(ef_shift_comparison *comparison)
{
    if (!comparison)
        return;
    owned_comparison *owned = (owned_comparison *)(void *)comparison;
    ef_shift_free(owned->here);
    ef_shift_free(owned->there);
    efi_arena_free(owned->arena);
    efi_free(owned);
}
