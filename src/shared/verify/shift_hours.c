/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a shift: the calendar's hours, accounts, effectiveness. */
#include "shared/calendar/calendar.h"
#include "shared/verify/reference.h"
#include "shared/verify/shift.h"

#include <math.h>
#include <string.h>

/* ---- the calendar ---------------------------------------------------------------------------------------
 */

static int64_t begin_s(const efi_shift_check *c)
{
    return (c->claim->from_day - c->scenario->calendar->start.value) * EFI_DAY_S;
}

static const char *name_of(const efi_calendar *calendar, const efi_time_interval *one)
{
    if (one->shift >= 0 && calendar->shifts)
        return calendar->shifts[one->shift].name;
    return one->overtime >= 0 && calendar->overtimes ? calendar->overtimes[one->overtime].name : NULL;
}

/* What a shift of the calendar is, added up interval by interval. */
static void check_period(const efi_shift_check *c, const ef_shift_period *period)
{
    const efi_calendar *calendar = c->scenario->calendar;
    ef_shift_period sum = {0};
    const int64_t to_s = begin_s(c) + efi_seconds_of(period->to_h);
    for (int64_t at = begin_s(c) + efi_seconds_of(period->from_h); at < to_s;) {
        const efi_time_interval one = efi_calendar_at(calendar, EFI_WHOLE_PLANT, at);
        const char *name = name_of(calendar, &one);
        const int64_t end = one.to_s < to_s ? one.to_s : to_s;
        const double hours = (double)(end - at) / EFI_HOUR_S;
        if (!name || strcmp(name, period->name) != 0 || calendar->start.value + one.day != period->day)
            efi_differ(c->list, "at hour %.10g of the run \"%s\" is not on duty",
                       (double)(at - begin_s(c)) / EFI_HOUR_S, period->name);
        const double people = one.has_people ? one.people : c->people;
        const efi_overtime *over = one.overtime >= 0 ? &calendar->overtimes[one.overtime] : NULL;
        const bool works = one.state == EFI_TIME_SHIFT || one.state == EFI_TIME_OVERTIME;
        sum.work_h += works ? hours : 0.0;
        sum.crew_h += people * hours;
        sum.paid_h += people * hours * (over && over->price_factor.given ? over->price_factor.value : 1.0);
        sum.extra += over && over->cost_ph.given ? over->cost_ph.value * hours : 0.0;
        at = end;
    }
    efi_differ_number(c->list, "the work of a shift", "h", period->work_h, sum.work_h, 1e-9);
    efi_differ_number(c->list, "the hours of its crew", "h", period->crew_h, sum.crew_h, 1e-9);
    efi_differ_number(c->list, "the paid hours of its crew", "h", period->paid_h, sum.paid_h, 1e-9);
    efi_differ_number(c->list, "what its overtime costs", "", period->extra, sum.extra, 1e-9);
}

/* Is everybody who is on duty in one of the shifts? */
static void check_duty(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    const efi_calendar *calendar = c->scenario->calendar;
    const int64_t end = begin_s(c) + (int64_t)(shift->days + 1) * EFI_DAY_S;
    double duty_h = 0.0;
    for (int64_t at = begin_s(c); at < end;) {
        const efi_time_interval one = efi_calendar_at(calendar, EFI_WHOLE_PLANT, at);
        const int64_t day = calendar->start.value + one.day;
        const bool counts = name_of(calendar, &one) && day >= shift->from_day &&
                            day < shift->from_day + shift->days;
        const int64_t to = one.to_s < end ? one.to_s : end;
        duty_h += counts ? (double)(to - at) / EFI_HOUR_S : 0.0;
        at = to;
    }
    double claimed_h = 0.0;
    for (int p = 0; p < shift->period_count; p++)
        claimed_h += shift->periods[p].to_h - shift->periods[p].from_h;
    efi_differ_number(c->list, "the length of all shifts", "h", claimed_h, duty_h, 1e-9);
}

/* Do stops go by the time of the day, or by the date? */
static bool goes_by_clock(const ef_scenario *scenario)
{
    for (int s = 0; s < scenario->station_count; s++)
        for (int i = 0; i < scenario->stations[s].stops.count; i++)
            if (scenario->stations[s].stops.items[i].at.count > 0)
                return true;
    return scenario->record_count > 0;
}

/* How often a stop comes at even intervals by what the scenario says alone, h; 0 where chance or tonnes say.
 */
static double even_interval_h(const efi_stop *stop)
{
    if (stop->between_h.given)
        return stop->between_form == EFI_FORM_FIXED ? stop->between_h.value + stop->lasts_h.value : 0.0;
    if (!stop->every_h.given)
        return 0.0;
    return stop->every_h.value + (stop->counts == EFI_COUNTS_RUNNING ? stop->lasts_h.value : 0.0);
}

/* The least number of shifts to warm up by the stops of the stations of the answer, see docs/shift.md; bins
 * may ask for more. */
static double least_warm_up(const efi_shift_check *c, double shift_h)
{
    double longest_h = 0.0;
    int kinds = 0;
    for (int i = 0; i < c->claim->station_count; i++) {
        const int s = efi_shift_check_find(c, c->claim->stations[i].name);
        for (int k = 0; s >= 0 && k < c->scenario->stations[s].stops.count; k++) {
            const double hours = even_interval_h(&c->scenario->stations[s].stops.items[k]);
            kinds += hours > 0.0;
            longest_h = hours > longest_h ? hours : longest_h;
        }
    }
    const double in_step = kinds < 2 ? 0.0 : ceil(30.0 * longest_h / shift_h);
    return fmax(10.0, fmin(in_step, 40.0));
}

static void check_warm_up(const efi_shift_check *c, double shift_h)
{
    const double shifts = c->claim->warm_up_h / shift_h;
    if (!(fabs(shifts - round(shifts)) <= 1e-9))
        efi_differ(c->list, "the warm-up of %.10g h is no number of whole shifts", c->claim->warm_up_h);
    const double least = least_warm_up(c, shift_h);
    if (!(shifts >= least - 1e-9) || !(shifts <= 100.0 + 1e-9))
        efi_differ(c->list, "a warm-up of %.10g shifts is not from %.10g to 100", shifts, least);
}

/* Without calendar: shifts of the same length, one right after the other. */
static void check_shifts(const efi_shift_check *c, double shift_h)
{
    const ef_shift *shift = c->claim;
    const bool single = shift->period_count == 1;
    if (single)
        efi_differ_number(c->list, "the warm-up", "h", shift->warm_up_h, 3.0 * shift_h, 0.0);
    else
        check_warm_up(c, shift_h);
    if (!single)
        efi_differ_count(c->list, "the number of shifts in a run", shift->period_count,
                         goes_by_clock(c->scenario) ? 1 : 50);
    for (int p = 0; p < shift->period_count; p++) {
        const ef_shift_period *one = &shift->periods[p];
        efi_differ_number(c->list, "the beginning of a shift", "h", one->from_h, p * shift_h, 1e-9);
        efi_differ_number(c->list, "the end of a shift", "h", one->to_h, (p + 1) * shift_h, 1e-9);
        efi_differ_number(c->list, "the work of a shift", "h", one->work_h, shift_h, 1e-12);
        efi_differ_number(c->list, "the hours of its crew", "h", one->crew_h, c->people * shift_h, 1e-9);
        efi_differ_number(c->list, "the paid hours of its crew", "h", one->paid_h, c->people * shift_h, 1e-9);
        efi_differ_number(c->list, "what its overtime costs", "", one->extra, 0.0, 0.0);
    }
}

void efi_shift_check_calendar(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    const double shift_h = c->scenario->plant->shift_h.value;
    efi_differ_number(c->list, "what is counted", "h", shift->counted_h,
                      shift->on_calendar ? 24.0 * shift->days : shift_h, 0.0);
    efi_differ_count(c->list, "the parts of a run that are counted", shift->parts,
                     shift->on_calendar ? 1 : shift->period_count);
    if (!shift->on_calendar) {
        check_shifts(c, shift_h);
        return;
    }
    efi_differ_number(c->list, "the warm-up", "h", shift->warm_up_h, 168.0, 0.0);
    for (int p = 0; p < shift->period_count; p++) {
        const ef_shift_period *period = &shift->periods[p];
        if (!(period->to_h > period->from_h) || (p > 0 && !(period->from_h >= shift->periods[p - 1].to_h)))
            efi_differ(c->list, "shift %d of a run does not come after the one before", p + 1);
        else
            check_period(c, period);
    }
    check_duty(c);
}

/* Closed hours and breaks of a station by the calendar. */
static void calendar_hours(const efi_shift_check *c, int station, double *closed_h, double *break_h)
{
    const int64_t end = begin_s(c) + (int64_t)c->claim->days * EFI_DAY_S;
    *closed_h = *break_h = 0.0;
    for (int64_t at = begin_s(c); at < end;) {
        const efi_time_interval one = efi_calendar_at(c->scenario->calendar, station, at);
        const int64_t to = one.to_s < end ? one.to_s : end;
        *closed_h += one.state == EFI_TIME_CLOSED ? (double)(to - at) / EFI_HOUR_S : 0.0;
        *break_h += one.state == EFI_TIME_BREAK ? (double)(to - at) / EFI_HOUR_S : 0.0;
        at = to;
    }
}

/* ---- accounts -------------------------------------------------------------------------------------------
 */

static void check_rate(const efi_shift_check *c, const ef_shift_station *claim, const efi_station *of)
{
    const efi_value *capacity = of->capacity ? &of->capacity[c->crop] : NULL;
    const double ran_h = claim->hours[EF_SHIFT_FULL_RATE] + claim->hours[EF_SHIFT_SLOW] + claim->warming_h;
    efi_differ_flag(c->list, "steady feed", claim->steady_feed, of->steady_band.given);
    if (capacity && capacity->given && capacity->of == EFI_KIND_MASS_RATE) {
        const double most_tph = capacity->value * of->count;
        if (!(claim->rate_tph <= most_tph * (1.0 + 1e-9)))
            efi_differ(c->list, "its rate is given as %.10g t/h, over its capacity of %.10g t/h",
                       claim->rate_tph, most_tph);
        else if (!claim->steady_feed && !of->derating)
            efi_differ_number(c->list, "its rate", "t/h", claim->rate_tph, most_tph, 0.0);
    }
    const double most_t = ran_h > 0.0 ? claim->rate_tph * ran_h : 0.0; /* the rate may be without limit */
    if (!isfinite(claim->taken_t) || !(claim->taken_t <= most_t * (1.0 + 1e-9) + 1e-9))
        efi_differ(c->list, "took %.10g t in %.10g h of running, more than its %.10g t/h", claim->taken_t,
                   ran_h, claim->rate_tph);
    if (!(claim->warm_up_t >= 0.0) || !(claim->warm_up_t <= claim->taken_t * (1.0 + 1e-9)))
        efi_differ(c->list, "%.10g t of %.10g t were fed while warming up", claim->warm_up_t, claim->taken_t);
}

/* While not stopped it could have taken its set rate; what it took is the rest of that. */
static void check_shortfall(const efi_shift_check *c, const ef_shift_station *claim)
{
    const double *hours = claim->hours;
    const double stopped_h = hours[EF_SHIFT_CLOSED] + hours[EF_SHIFT_BREAK] + hours[EF_SHIFT_OWN_STOP] +
                             hours[EF_SHIFT_CREW];
    const double running_h = hours[EF_SHIFT_FULL_RATE] + hours[EF_SHIFT_SLOW] + claim->warming_h;
    const double expected_t = claim->steady_feed
                                  ? claim->rate_tph * (c->claim->counted_h - stopped_h) - claim->taken_t
                                  : 0.0;
    efi_differ_number(c->list, "its shortfall", "t", claim->shortfall_t, expected_t, 1e-6);
    if (!(claim->out_of_band_h >= 0.0) || !(claim->out_of_band_h <= running_h + EFI_VERIFY_HOURS))
        efi_differ(c->list, "runs out of its band for %.10g h of %.10g h", claim->out_of_band_h, running_h);
}

static void check_station(const efi_shift_check *c, const ef_shift_station *claim)
{
    const int s = efi_shift_check_find(c, claim->name);
    if (s < 0) {
        efi_differ(c->list, "the scenario has no such station");
        return;
    }
    const efi_station *of = &c->scenario->stations[s];
    const double *hours = claim->hours;
    double sum = 0.0;
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++) {
        sum += hours[h];
        if (!(hours[h] >= 0.0))
            efi_differ(c->list, "account %d is %.10g h", h, hours[h]);
    }
    if (!(fabs(sum - c->claim->counted_h) <= EFI_VERIFY_HOURS))
        efi_differ(c->list, "its account adds up to %.12g h of %.12g h", sum, c->claim->counted_h);
    double closed_h = 0.0;
    double break_h = 0.0;
    if (c->claim->on_calendar)
        calendar_hours(c, s, &closed_h, &break_h);
    efi_differ_number(c->list, "closed hours", "h", hours[EF_SHIFT_CLOSED], closed_h, EFI_VERIFY_HOURS);
    efi_differ_number(c->list, "breaks", "h", hours[EF_SHIFT_BREAK], break_h, EFI_VERIFY_HOURS);
    if (!(claim->planned_h >= 0.0) || !(claim->planned_h <= hours[EF_SHIFT_OWN_STOP] + EFI_VERIFY_HOURS))
        efi_differ(c->list, "planned stops of %.10g h are more than all", claim->planned_h);
    if (!(claim->warming_h >= 0.0) || !(claim->warming_h <= hours[EF_SHIFT_START_UP] + EFI_VERIFY_HOURS))
        efi_differ(c->list, "a warm-up of %.10g h is more than the start-up", claim->warming_h);
    check_rate(c, claim, of);
    check_shortfall(c, claim);
    const double driven_h = c->claim->counted_h - hours[EF_SHIFT_CLOSED] - hours[EF_SHIFT_BREAK] -
                            hours[EF_SHIFT_CLEAN_DOWN] - hours[EF_SHIFT_OWN_STOP] - hours[EF_SHIFT_CREW];
    const double idle_kw = of->idle_kw.given ? of->idle_kw.value * of->count : 0.0;
    const bool by_tonnes = of->energy_kwhpt && of->energy_kwhpt[c->crop].given;
    efi_differ_number(c->list, "idle energy", "kWh", claim->idle_kwh, idle_kw * driven_h, 1e-9);
    efi_differ_number(c->list, "energy by tonnes", "kWh", claim->load_kwh,
                      by_tonnes ? of->energy_kwhpt[c->crop].value * claim->taken_t : 0.0, 1e-9);
}

/* The first steady-feed station; without one the machine or conveyor with the greatest load. */
static void check_account(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    int expected = -1;
    for (int s = 0; s < shift->station_count && expected < 0; s++)
        expected = shift->stations[s].steady_feed ? s : -1;
    double most = -1.0;
    for (int s = 0; s < shift->station_count && (expected < 0 || most >= 0.0); s++) {
        const ef_shift_station *one = &shift->stations[s];
        const int at = efi_shift_check_find(c, one->name);
        const efi_class class = at >= 0 ? efi_station_class((efi_station_kind)c->scenario->stations[at].kind)
                                        : EFI_CLASS_OUTLET;
        const bool works = class == EFI_CLASS_MACHINE || class == EFI_CLASS_CONVEYOR;
        if (works && isfinite(one->rate_tph) && one->taken_t / one->rate_tph > most) {
            most = one->taken_t / one->rate_tph;
            expected = s;
        }
    }
    if (expected >= 0 && expected != shift->account)
        efi_differ(c->list, "the line's account is given as that of %s, by the rule it is that of %s",
                   shift->stations[shift->account].name, shift->stations[expected].name);
}

/* ISO 22400-2 (from memory), from the account. */
static void check_effectiveness(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    const ef_shift_station *of = &shift->stations[shift->account];
    const double planned_h = shift->counted_h - of->hours[EF_SHIFT_CLOSED] - of->hours[EF_SHIFT_BREAK];
    const double ran_h = of->hours[EF_SHIFT_FULL_RATE] + of->hours[EF_SHIFT_SLOW] + of->warming_h;
    const double could_t = isfinite(of->rate_tph) ? of->rate_tph * ran_h : 0.0;
    const double availability = planned_h > 0.0 ? ran_h / planned_h : 0.0;
    const double performance = could_t > 0.0 ? of->taken_t / could_t : 0.0;
    const double quality = of->taken_t > 0.0 ? (of->taken_t - of->warm_up_t) / of->taken_t : 0.0;
    efi_differ_number(c->list, "availability", "", shift->availability, availability, 1e-12);
    efi_differ_number(c->list, "performance", "", shift->performance, performance, 1e-12);
    efi_differ_number(c->list, "quality", "", shift->quality, quality, 1e-12);
    efi_differ_number(c->list, "effectiveness", "", shift->effectiveness,
                      availability * performance * quality, 1e-12);
}

/* What intakes and outlets took by their accounts is what the shifts took, where the shifts cover all work.
 */
static void check_taken(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    if (shift->on_calendar)
        return; /* the last shift may reach past what is counted */
    for (int o = 0; o < shift->outlet_count; o++)
        for (int s = 0; s < shift->station_count; s++)
            if (strcmp(shift->outlets[o], shift->stations[s].name) == 0)
                efi_differ_number(c->list, "what an outlet took", "t", shift->stations[s].taken_t,
                                  shift->groups[0].streams[2 + o].mean_t.value, 1e-9);
    double intake_t = 0.0;
    for (int s = 0; s < shift->station_count; s++) {
        const int at = efi_shift_check_find(c, shift->stations[s].name);
        if (at >= 0 &&
            efi_station_class((efi_station_kind)c->scenario->stations[at].kind) == EFI_CLASS_INTAKE)
            intake_t += shift->stations[s].taken_t;
    }
    efi_differ_number(c->list, "what the intakes took", "t", intake_t,
                      shift->groups[0].streams[0].mean_t.value, 1e-9);
}

void efi_shift_check_hours(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    for (int s = 0; s < shift->station_count; s++) {
        c->list->subject = shift->stations[s].name;
        check_station(c, &shift->stations[s]);
    }
    c->list->subject = NULL;
    check_account(c);
    check_effectiveness(c);
    check_taken(c);
}

ef_status efi_shift_check_people(efi_shift_check *c, efi_arena *arena)
{
    efi_reference reference;
    EF_TRY(efi_reference_prepare(&reference, arena, c->scenario, c->crop));
    c->people = c->scenario->plant->people.value;
    for (int s = 0; s < reference.stations && !c->scenario->plant->people.given; s++)
        if (reference.reached[s] && c->scenario->stations[s].people.given)
            c->people += c->scenario->stations[s].people.value;
    return EF_OK;
}
