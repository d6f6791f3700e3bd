/* SPDX-License-Identifier: GPL-3.0-or-later
 * The stop modes of the stations of a plant: their own stops, and what the calendar stops. */
#include "base/memory.h"
#include "base/tongue.h"
#include "shared/calendar/calendar.h"
#include "shared/plant/plant_inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- single modes ---------------------------------------------------------------------------------------
 */

/* A distribution of the engine with this mean: Weibull's scale is mean / gamma(1 + 1/shape), the gamma
 * distribution's mean / shape, lognormal's mu ln(mean) - sigma^2 / 2. */
efi_distribution efi_plant_distribution(efi_form form, double mean, double shape)
{
    switch (form) {
    case EFI_FORM_EXPONENTIAL:
        return (efi_distribution){.kind = EFI_EXPONENTIAL, .a = mean};
    case EFI_FORM_WEIBULL:
        return (efi_distribution){.kind = EFI_WEIBULL, .a = mean / tgamma(1.0 + 1.0 / shape), .b = shape};
    case EFI_FORM_LOGNORMAL:
        return (efi_distribution){.kind = EFI_LOGNORMAL, .a = log(mean) - 0.5 * shape * shape, .b = shape};
    case EFI_FORM_GAMMA:
        return (efi_distribution){.kind = EFI_GAMMA, .a = mean / shape, .b = shape};
    case EFI_FORM_FIXED:
        break;
    }
    return (efi_distribution){.kind = EFI_FIXED, .a = mean};
}

efi_stop_mode efi_plant_stop_mode(const efi_stop *stop, int crop)
{
    const bool random = stop->between_h.given;
    efi_stop_mode mode = {.schedule = random ? EFI_STOPS_DRAWN : EFI_STOPS_EVERY,
                          .cause = random ? EFI_CAUSE_RANDOM : EFI_CAUSE_PLANNED};
    const bool clock = stop->counts == EFI_COUNTS_CLOCK || (stop->counts == EFI_COUNTS_UNSAID && !random);
    mode.counting = stop->after_t ? EFI_COUNT_TONNES : clock ? EFI_COUNT_CLOCK : EFI_COUNT_RUNNING;
    const efi_form between_form = (efi_form)stop->between_form;
    const efi_form lasts_form = stop->lasts_form >= 0 ? (efi_form)stop->lasts_form
                                : random              ? EFI_FORM_EXPONENTIAL
                                                      : EFI_FORM_FIXED;
    if (random)
        mode.gap = efi_plant_distribution(between_form, stop->between_h.value, stop->between_shape.value);
    else
        mode.every = stop->after_t ? stop->after_t[crop].value : stop->every_h.value;
    mode.duration = efi_plant_distribution(lasts_form, stop->lasts_h.value, stop->lasts_shape.value);
    mode.lockout_h = efi_stop_least_h(stop);
    return mode;
}

/* ---- the calendar ---------------------------------------------------------------------------------------
 */

/* Why the calendar stops a station: in which state, and as what it counts. */
typedef struct reason {
    efi_calendar_state state;
    efi_stop_cause cause;
    const char *name;
} reason;

static const reason reasons[EFI_PLANT_TIMES] = {
    [EFI_PLANT_CLOSED] = {EFI_TIME_CLOSED, EFI_CAUSE_CLOSED, EFI_TR("closed")},
    [EFI_PLANT_BREAK] = {EFI_TIME_BREAK, EFI_CAUSE_BREAK, EFI_TR("break")},
    [EFI_PLANT_MAINTENANCE] = {EFI_TIME_MAINTENANCE, EFI_CAUSE_PLANNED, EFI_TR("maintenance")},
};

static ef_status keep_times(const efi_plant_builder *b, const efi_timetable *timetable,
                            efi_plant_times *times)
{
    for (int k = 0; k < EFI_PLANT_TIMES; k++) {
        efi_interval *list;
        EF_TRY(efi_timetable_stops(timetable, EFI_TIME_SET(reasons[k].state), b->options->from_s, &list,
                                   &times->count[k]));
        const size_t count = (size_t)times->count[k];
        efi_interval *kept = efi_arena_get(b->arena, count, sizeof *kept);
        if (kept && count)
            memcpy(kept, list, count * sizeof *kept);
        efi_free(list);
        times->list[k] = kept;
        if (!kept)
            return EF_MEMORY;
    }
    return EF_OK;
}

/* The times of a station, or of EFI_WHOLE_PLANT. */
static ef_status lay_times(const efi_plant_builder *b, int station, efi_plant_times *times)
{
    const int64_t from_s = b->options->from_s;
    const int64_t to_s = from_s + (int64_t)ceil(b->options->hours * EFI_HOUR_S);
    efi_timetable timetable;
    EF_TRY(efi_timetable_build(&timetable, b->line->scenario->calendar, station, from_s, to_s));
    const ef_status status = keep_times(b, &timetable, times);
    efi_timetable_free(&timetable);
    return status;
}

ef_status efi_plant_read_calendar(const efi_plant_builder *b)
{
    efi_plant_times times = {0};
    if (b->options->on_calendar)
        EF_TRY(lay_times(b, EFI_WHOLE_PLANT, &times));
    memcpy(b->plant->common, times.list, sizeof b->plant->common);
    memcpy(b->plant->commons, times.count, sizeof b->plant->commons);
    return EF_OK;
}

static bool same_intervals(const efi_interval *a, const efi_interval *b, int count)
{
    for (int i = 0; i < count; i++)
        if (!(a[i].from_h == b[i].from_h && a[i].to_h == b[i].to_h))
            return false;
    return true;
}

/* The times of a station with maintenance of its own: those that are the plant's are its very list. */
static ef_status lay_own_times(const efi_plant_builder *b, int station, efi_plant_times *times)
{
    const efi_plant_network *plant = b->plant;
    EF_TRY(lay_times(b, station, times));
    for (int k = 0; k < EFI_PLANT_TIMES; k++)
        if (times->count[k] == plant->commons[k] &&
            same_intervals(times->list[k], plant->common[k], times->count[k]))
            times->list[k] = plant->common[k];
    return EF_OK;
}

static bool has_own_maintenance(const efi_calendar *calendar, int station)
{
    for (int i = 0; i < calendar->maintenance_count; i++)
        for (int k = 0; k < calendar->maintenances[i].stations.count; k++)
            if (calendar->maintenances[i].stations.items[k] == station)
                return true;
    return false;
}

/* ---- clock times and records ----------------------------------------------------------------------------
 */

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* The stop at times of the day: hours of a week that begins at hour 0. */
static ef_status lay_clock_times(const efi_plant_builder *b, const efi_stop *stop, efi_stop_mode *mode)
{
    const int64_t week_s = (int64_t)EFI_WEEK_DAYS * EFI_DAY_S;
    const int64_t begin_s = efi_calendar_moment(b->line->scenario->calendar, b->options->from_s);
    const int64_t phase_s = begin_s - efi_day_monday(efi_moment_day(begin_s)) * EFI_DAY_S;
    double *at_h = efi_arena_get(b->arena, (size_t)stop->at.count * EFI_WEEK_DAYS, sizeof *at_h);
    if (!at_h)
        return EF_MEMORY;
    int count = 0;
    for (int day = 0; day < EFI_WEEK_DAYS; day++)
        for (int i = 0; i < stop->at.count && (stop->days.value & 1 << day); i++) {
            const int64_t second = (int64_t)day * EFI_DAY_S + stop->at.items[i] - phase_s;
            at_h[count++] = efi_hours_of((second + week_s) % week_s);
        }
    qsort(at_h, (size_t)count, sizeof *at_h, rising);
    int kept = 0;
    for (int i = 0; i < count; i++)
        if (kept == 0 || at_h[i] > at_h[kept - 1])
            at_h[kept++] = at_h[i];
    mode->schedule = EFI_STOPS_AT;
    mode->counting = EFI_COUNT_CLOCK;
    mode->at_h = at_h;
    mode->ats = kept;
    mode->period_h = efi_hours_of(week_s);
    return EF_OK;
}

/* One recorded stop of one station. */
typedef struct record {
    int64_t from_s; /* of the calendar */
    int64_t to_s;
    const char *name;
} record;

static int by_time(const void *left, const void *right)
{
    const record *a = left;
    const record *b = right;
    return (a->from_s > b->from_s) - (a->from_s < b->from_s); /* those of a station never begin together */
}

static bool concerns(const efi_record *one, int station)
{
    for (int k = 0; k < one->stations.count; k++)
        if (one->stations.items[k] == station)
            return true;
    return false;
}

/* The records of a station of one sort that end after hour 0, sorted, into `found` unless that is NULL.
 * Returns how many. */
static int find_records(const efi_plant_builder *b, int station, bool planned, record *found)
{
    const ef_scenario *scenario = b->line->scenario;
    const int64_t zero_s = efi_calendar_moment(scenario->calendar, 0);
    int count = 0;
    for (int i = 0; i < scenario->record_count; i++) {
        const efi_record *one = &scenario->records[i];
        const int64_t to_s = one->to.value - zero_s;
        if (one->planned != planned || to_s <= b->options->from_s || !concerns(one, station))
            continue;
        if (found)
            found[count] = (record){one->from.value - zero_s, to_s, one->cause ? one->cause : one->name};
        count++;
    }
    if (found)
        qsort(found, (size_t)count, sizeof *found, by_time);
    return count;
}

/* The recorded stops of a station, of one sort, as a mode. EF_OK, `recorded` empty where there are none. */
static ef_status lay_records(const efi_plant_builder *b, int station, bool planned,
                             efi_plant_recorded *recorded)
{
    const int64_t from_s = b->options->from_s;
    const int count = find_records(b, station, planned, NULL);
    if (count == 0)
        return EF_OK;
    record *found = efi_arena_get(b->arena, (size_t)count, sizeof *found);
    efi_interval *list = efi_arena_get(b->arena, (size_t)count, sizeof *list);
    const char **name = efi_arena_get(b->arena, (size_t)count, sizeof *name);
    if (!found || !list || !name)
        return EF_MEMORY;
    (void)find_records(b, station, planned, found);
    for (int i = 0; i < count; i++) {
        const int64_t begin_s = found[i].from_s > from_s ? found[i].from_s : from_s;
        list[i] = (efi_interval){efi_hours_of(begin_s - from_s), efi_hours_of(found[i].to_s - from_s)};
        name[i] = found[i].name;
    }
    recorded->list = list;
    recorded->name = name;
    recorded->count = count;
    return EF_OK;
}

/* ---- a station ------------------------------------------------------------------------------------------
 */

static int scenario_station(const efi_plant_network *plant, int n)
{
    return plant->line->stations[plant->line_station[n]].station;
}

/* The hours at which `every` open hours have passed once, twice ...; open is what is not closed. */
static ef_status lay_every(const efi_plant_builder *b, efi_stop_mode *mode)
{
    const efi_interval *closed = b->plant->common[EFI_PLANT_CLOSED];
    const int closings = b->plant->commons[EFI_PLANT_CLOSED];
    const int most = (int)(b->options->hours / mode->every);
    double *at_h = efi_arena_get(b->arena, (size_t)most + 1, sizeof *at_h);
    if (!at_h)
        return EF_MEMORY;
    int count = 0;
    double open_h = 0.0; /* hour at which the open stretch begins */
    double left_h = mode->every;
    for (int i = 0; i <= closings; i++) {
        const double end_h = i < closings ? closed[i].from_h : b->options->hours;
        while (count < most && open_h + left_h < end_h) {
            open_h += left_h;
            at_h[count++] = open_h;
            left_h = mode->every;
        }
        left_h -= fmax(end_h - open_h, 0.0);
        open_h = i < closings ? closed[i].to_h : open_h;
    }
    mode->schedule = count > 0 ? EFI_STOPS_AT : EFI_STOPS_LIST; /* an empty list: none in the stretch */
    mode->at_h = at_h;
    mode->ats = count;
    return EF_OK;
}

/* So many planned stops in a stretch are laid out at the most; more often than that the calendar does not
 * matter. */
#define MOST_LAID 1e6

static ef_status add_own(const efi_plant_builder *b, const efi_stops *stops, efi_stop_mode *modes,
                         const char **names, int *count)
{
    for (int i = 0; i < stops->count; i++) {
        const efi_stop *stop = &stops->items[i];
        if (stop->after_t && !stop->after_t[b->line->crop].given)
            continue;
        efi_stop_mode *mode = &modes[*count];
        names[*count] = stop->name;
        *mode = efi_plant_stop_mode(stop, b->line->crop);
        efi_plant_name_crew(b, stop, mode);
        (*count)++;
        if (stop->at.count > 0)
            EF_TRY(lay_clock_times(b, stop, mode));
        if (b->options->on_calendar && mode->schedule == EFI_STOPS_EVERY &&
            mode->counting == EFI_COUNT_CLOCK && b->options->hours < MOST_LAID * mode->every)
            EF_TRY(lay_every(b, mode));
    }
    return EF_OK;
}

static ef_status add_records(const efi_plant_builder *b, int n, efi_stop_mode *modes, const char **names)
{
    efi_network_station *station = &b->plant->stations[n];
    for (int planned = 0; planned < 2 && b->line->scenario->record_count > 0; planned++) {
        efi_plant_recorded *recorded = &b->plant->recorded[n][planned];
        EF_TRY(lay_records(b, scenario_station(b->plant, n), planned, recorded));
        if (recorded->count == 0)
            continue;
        recorded->mode = station->modes++;
        names[recorded->mode] = EFI_TR("recorded");
        modes[recorded->mode] = (efi_stop_mode){.schedule = EFI_STOPS_LIST,
                                                .cause = planned ? EFI_CAUSE_PLANNED : EFI_CAUSE_RANDOM,
                                                .counting = EFI_COUNT_CLOCK,
                                                .intervals = recorded->count,
                                                .list = recorded->list};
    }
    return EF_OK;
}

static int add_times(const efi_plant_builder *b, const efi_plant_times *times, efi_stop_mode *modes,
                     const char **names)
{
    int count = 0;
    for (int k = 0; k < EFI_PLANT_TIMES; k++) {
        if (times->count[k] == 0)
            continue;
        names[count] = reasons[k].name;
        modes[count++] = (efi_stop_mode){.schedule = EFI_STOPS_LIST,
                                         .cause = reasons[k].cause,
                                         .is_rest = times->list[k] == b->plant->common[k],
                                         .counting = EFI_COUNT_CLOCK,
                                         .intervals = times->count[k],
                                         .list = times->list[k]};
    }
    return count;
}

ef_status efi_plant_add_stops(const efi_plant_builder *b, int n)
{
    efi_plant_network *plant = b->plant;
    efi_network_station *station = &plant->stations[n];
    const int number = scenario_station(plant, n);
    const efi_station *of = &b->line->scenario->stations[number];
    if (station->kind == EFI_NETWORK_BIN || station->kind == EFI_NETWORK_SPLIT)
        return EF_OK;
    const int own = b->options->without_stops ? 0 : of->stops.count;
    const size_t most = (size_t)own + 2 + EFI_PLANT_TIMES;
    efi_stop_mode *modes = efi_arena_get(b->arena, most, sizeof *modes);
    const char **names = efi_arena_get(b->arena, most, sizeof *names);
    if (!modes || !names)
        return EF_MEMORY;
    efi_plant_times times;
    memcpy(times.list, plant->common, sizeof times.list);
    memcpy(times.count, plant->commons, sizeof times.count);
    if (b->options->on_calendar && has_own_maintenance(b->line->scenario->calendar, number))
        EF_TRY(lay_own_times(b, number, &times));
    if (own > 0)
        EF_TRY(add_own(b, &of->stops, modes, names, &plant->own_modes[n]));
    station->modes = plant->own_modes[n];
    if (!b->options->without_stops)
        EF_TRY(add_records(b, n, modes, names));
    station->modes += add_times(b, &times, modes + station->modes, names + station->modes);
    station->mode = modes;
    plant->mode_name[n] = names;
    return EF_OK;
}

/* ---- names ----------------------------------------------------------------------------------------------
 */

/* The break or maintenance that holds for a station at a second, NULL when there is none. */
static const char *name_at(const efi_calendar *calendar, int station, efi_stop_cause cause, int64_t second)
{
    const efi_time_interval one = efi_calendar_at(calendar, station, second);
    if (cause == EFI_CAUSE_BREAK && one.state == EFI_TIME_BREAK)
        return calendar->breaks[one.pause].name;
    if (cause == EFI_CAUSE_PLANNED && one.state == EFI_TIME_MAINTENANCE)
        return calendar->maintenances[one.maintenance].name;
    return NULL;
}

/* The last of the recorded stops that has begun by an hour. */
static const char *record_at(const efi_plant_recorded *recorded, double at_h)
{
    int low = 0;
    int high = recorded->count - 1;
    while (low < high) {
        const int middle = low + (high - low + 1) / 2;
        if (recorded->list[middle].from_h <= at_h)
            low = middle;
        else
            high = middle - 1;
    }
    return recorded->name[low];
}

/* Half a second to either side of the beginning or the end of a stop lies within it, or without. */
#define BESIDE_H (0.5 / EFI_HOUR_S)

const char *efi_plant_stop_name(const efi_plant_network *plant, int station, int mode, double at_h,
                                bool begins)
{
    const double within_h = begins ? at_h + BESIDE_H : at_h - BESIDE_H;
    for (int planned = 0; planned < 2; planned++) {
        const efi_plant_recorded *recorded = &plant->recorded[station][planned];
        if (recorded->count > 0 && recorded->mode == mode)
            return record_at(recorded, within_h);
    }
    const char *usual = plant->mode_name[station][mode];
    const efi_stop_cause cause = plant->stations[station].mode[mode].cause;
    if (mode < plant->own_modes[station] || cause == EFI_CAUSE_CLOSED)
        return usual;
    const efi_calendar *calendar = plant->line->scenario->calendar;
    const int number = scenario_station(plant, station);
    const int64_t second = plant->from_s + (int64_t)floor(within_h * EFI_HOUR_S);
    const char *name = name_at(calendar, number, cause, second);
    return name ? name : usual;
}

int efi_plant_common_time(const efi_plant_network *plant, int station, int mode)
{
    const efi_stop_mode *of = &plant->stations[station].mode[mode];
    if (mode < plant->own_modes[station])
        return -1;
    for (int k = 0; k < EFI_PLANT_TIMES; k++)
        if (plant->commons[k] > 0 && of->list == plant->common[k])
            return k;
    return -1;
}
