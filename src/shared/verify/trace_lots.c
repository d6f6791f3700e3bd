/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a trace of lots: each takes in its tonnes, in order; clean-downs by the rules. */
#include "shared/verify/trace_lots.h"
#include "shared/calendar/calendar.h"
#include "shared/verify/season.h"

#include <math.h>
#include <string.h>

/* Hours may miss by this much; tonnes by this share. */
#define HOURS      1e-6
#define MASS_SHARE 1e-9

typedef struct check {
    const ef_scenario *scenario;
    const ef_trace *trace;
    efi_differences *list;
} check;

double efi_trace_check_most(const ef_scenario *scenario, const ef_trace *trace, const efi_station *station)
{
    double most_tph = 0.0;
    for (int k = 0; k < trace->lot_count; k++) {
        const int crop = efi_index_find(&scenario->crop_index, trace->lots[k].crop,
                                        strlen(trace->lots[k].crop));
        if (crop < 0 || !station->capacity)
            return INFINITY;
        if (!station->capacity[crop].given) /* the crop does not pass it */
            continue;
        if (station->capacity[crop].of != EFI_KIND_MASS_RATE)
            return INFINITY;
        most_tph = fmax(most_tph, station->capacity[crop].value * station->count);
    }
    return most_tph > 0.0 ? most_tph : INFINITY;
}

/* Hours of work from one hour of the stretch to another. */
static double worked_h(const check *c, double from_h, double to_h)
{
    const efi_calendar *calendar = c->scenario->calendar;
    if (!c->trace->on_calendar)
        return to_h - from_h;
    const int64_t zero_s = c->trace->from_moment_s - efi_calendar_moment(calendar, 0);
    double work_s = 0.0;
    int64_t at = zero_s + (int64_t)floor(from_h * EFI_HOUR_S);
    while ((double)(at - zero_s) < to_h * EFI_HOUR_S) {
        const efi_time_interval one = efi_calendar_at(calendar, EFI_WHOLE_PLANT, at);
        const double begin_s = fmax((double)(at - zero_s), from_h * EFI_HOUR_S);
        const double end_s = fmin((double)(one.to_s - zero_s), to_h * EFI_HOUR_S);
        const bool works = one.state == EFI_TIME_SHIFT || one.state == EFI_TIME_OVERTIME;
        work_s += works ? fmax(end_s - begin_s, 0.0) : 0.0;
        at = one.to_s;
    }
    return work_s / EFI_HOUR_S;
}

/* What the intakes take from one hour to another. */
static double taken_t(const check *c, double from_h, double to_h)
{
    const ef_trace *trace = c->trace;
    double sum_t = 0.0;
    for (int s = 0; s < trace->station_count; s++) {
        const char *name = trace->stations[s].name;
        const int station = efi_index_find(&c->scenario->station_index, name, strlen(name));
        if (station < 0 || c->scenario->stations[station].kind != EFI_STATION_INTAKE)
            continue;
        for (int i = 0; i + 1 < trace->level_count; i++) {
            const double begin_h = fmax(trace->level_h[i], from_h);
            const double end_h = fmin(trace->level_h[i + 1], to_h);
            if (end_h > begin_h)
                sum_t += trace->feed_tph[(size_t)i * (size_t)trace->station_count + (size_t)s] *
                         (end_h - begin_h);
        }
    }
    return sum_t;
}

static void check_amount(const check *c, const ef_trace_lot *lot)
{
    if (lot->in_h < 0.0 || c->trace->events_cut)
        return;
    const double in_t = taken_t(c, lot->begin_h, lot->in_h);
    if (!(fabs(in_t - lot->tonnes_t) <= MASS_SHARE * (1.0 + lot->tonnes_t)))
        efi_differ(c->list, "%.12g t of it came in, and it has %.12g t", in_t, lot->tonnes_t);
    if (lot->end_h >= 0.0 && lot->end_h < lot->in_h)
        efi_differ(c->list, "it has left before it was in");
}

static void check_order(const check *c, const ef_trace_lot *before, const ef_trace_lot *lot)
{
    if (lot->begin_h >= 0.0 && (before->in_h < 0.0 || lot->begin_h < before->in_h))
        efi_differ(c->list, "it comes in before the lot before it is in");
    if (lot->end_h >= 0.0 && (before->end_h < 0.0 || lot->end_h < before->end_h))
        efi_differ(c->list, "it leaves before the lot before it");
    if (!c->trace->line_clear || lot->begin_h < 0.0)
        return;
    if (before->end_h < 0.0 || worked_h(c, before->end_h, lot->begin_h) < lot->clean_h - HOURS)
        efi_differ(c->list, "it comes in before the line is clear and has been cleaned for %.9g h",
                   lot->clean_h);
    if (lot->clean_h > 0.0 &&
        !(lot->clean_from_h >= before->end_h &&
          fabs(worked_h(c, lot->clean_from_h, lot->clean_to_h) - lot->clean_h) <= HOURS))
        efi_differ(c->list, "the line is cleaned for it from %.9g to %.9g h; the rule says %.9g h",
                   lot->clean_from_h, lot->clean_to_h, lot->clean_h);
}

static bool may_run(const efi_line_list *lines, int line)
{
    bool may = lines->count == 0;
    for (int i = 0; i < lines->count; i++)
        may = may || lines->items[i] == line;
    return may;
}

void efi_trace_check_lots(const ef_scenario *scenario, const ef_trace *trace, efi_differences *list)
{
    const check c = {scenario, trace, list};
    const int line = trace->line ? efi_index_find(&scenario->line_index, trace->line, strlen(trace->line))
                                 : 0;
    int before = -1;
    for (int k = 0; k < trace->lot_count; k++) {
        const ef_trace_lot *lot = &trace->lots[k];
        const int number = efi_index_find(&scenario->lot_index, lot->name, strlen(lot->name));
        list->subject = lot->name;
        if (number < 0) {
            efi_differ(list, "there is no such lot");
            break;
        }
        const efi_scenario_lot *of = &scenario->lots[number];
        if (line < 0 || !may_run(&of->lines, line) || of->state == EFI_LOT_DONE)
            efi_differ(list, "it must not run here");
        efi_differ_words(list, "its crop", lot->crop, scenario->crops[of->crop].name);
        efi_differ_number(list, "its amount", "t", lot->tonnes_t,
                          of->left_t.given ? of->left_t.value : of->amount_t.value, 0.0);
        const efi_rule_check rule = k > 0 ? efi_season_check_rule(scenario, before, number, line)
                                          : (efi_rule_check){0};
        efi_differ_number(list, "the clean-down before it", "h", lot->clean_h, rule.clean_h, 1e-12);
        check_amount(&c, lot);
        if (k > 0)
            check_order(&c, &trace->lots[k - 1], lot);
        before = number;
    }
    list->subject = NULL;
}
