/* SPDX-License-Identifier: GPL-3.0-or-later
 * The stop modes of the stations of a plant: their own stops, and what the calendar stops. */
#include "base/memory.h"
#include "shared/calendar/calendar.h"
#include "shared/plant/plant_inside.h"

#include <math.h>
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
    mode.lockout_h = stop->lockout_h.given ? stop->lockout_h.value : 0.0;
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
    [EFI_PLANT_CLOSED] = {EFI_TIME_CLOSED, EFI_CAUSE_CLOSED, "closed"},
    [EFI_PLANT_BREAK] = {EFI_TIME_BREAK, EFI_CAUSE_BREAK, "break"},
    [EFI_PLANT_MAINTENANCE] = {EFI_TIME_MAINTENANCE, EFI_CAUSE_PLANNED, "maintenance"},
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
        (*count)++;
        if (b->options->on_calendar && mode->schedule == EFI_STOPS_EVERY &&
            mode->counting == EFI_COUNT_CLOCK && b->options->hours < MOST_LAID * mode->every)
            EF_TRY(lay_every(b, mode));
    }
    return EF_OK;
}

static int add_times(const efi_plant_times *times, efi_stop_mode *modes, const char **names)
{
    int count = 0;
    for (int k = 0; k < EFI_PLANT_TIMES; k++) {
        if (times->count[k] == 0)
            continue;
        names[count] = reasons[k].name;
        modes[count++] = (efi_stop_mode){.schedule = EFI_STOPS_LIST,
                                         .cause = reasons[k].cause,
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
    efi_stop_mode *modes = efi_arena_get(b->arena, (size_t)own + EFI_PLANT_TIMES, sizeof *modes);
    const char **names = efi_arena_get(b->arena, (size_t)own + EFI_PLANT_TIMES, sizeof *names);
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
    station->modes += add_times(&times, modes + station->modes, names + station->modes);
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

const char *efi_plant_stop_name(const efi_plant_network *plant, int station, int mode, double at_h)
{
    const char *usual = plant->mode_name[station][mode];
    const efi_stop_cause cause = plant->stations[station].mode[mode].cause;
    if (mode < plant->own_modes[station] || cause == EFI_CAUSE_CLOSED)
        return usual;
    /* a start is the end of the interval */
    const int64_t second = plant->from_s + efi_seconds_of(at_h);
    const efi_calendar *calendar = plant->line->scenario->calendar;
    const int number = scenario_station(plant, station);
    const char *name = name_at(calendar, number, cause, second);
    if (!name)
        name = name_at(calendar, number, cause, second - 1);
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
