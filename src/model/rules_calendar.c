/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on the calendar: times that are none, that overlap, that lie outside. */
#include "model/rules.h"

#define WEEK_S (EFI_WEEK_DAYS * EFI_DAY_S)

enum {
    /* So many dates of one overtime are looked at; a longer one repeats itself. */
    MOST_DATES = 400
};

/* A time on a day: from `from_s` of it for `length_s`. */
typedef struct span {
    int64_t from_s;
    int64_t length_s;
} span;

static bool is_known(efi_when from, efi_when to)
{
    return from.given && to.given;
}

static span span_of(efi_when from, efi_when to)
{
    return (span){.from_s = from.value, .length_s = efi_clock_span(from.value, to.value)};
}

/* Do the two overlap when the second is `later_s` later? */
static bool overlap(span a, span b, int64_t later_s)
{
    return a.from_s < b.from_s + later_s + b.length_s && b.from_s + later_s < a.from_s + a.length_s;
}

static const char *clock_text(efi_rules *rules, int64_t clock_s)
{
    efi_text text = {0};
    efi_clock_add(&text, (int)clock_s);
    return efi_bind_keep(rules->binder, &text);
}

static const char *date_text(efi_rules *rules, int64_t day)
{
    efi_text text = {0};
    efi_date_add(&text, day);
    return efi_bind_keep(rules->binder, &text);
}

/* ---- single times ---------------------------------------------------------------------------------------
 */

static void check_empty(efi_rules *rules, const char *list, const char *name, efi_origin origin,
                        efi_when from, efi_when to)
{
    if (!is_known(from, to) || from.value != to.value)
        return;
    ef_diag draft = efi_rule_draft(rules, list, name, origin, "to");
    draft.message = efi_diags_textf(rules->diags, "from %s to %s is no time at all",
                                    clock_text(rules, from.value), clock_text(rules, to.value));
    draft.allowed = "an end that differs from the beginning; a whole day is from 00:00 to 24:00";
    efi_diags_add(rules->diags, EFI_DIAG_TIME_EMPTY, &draft);
}

void efi_rule_time_empty(efi_rules *rules)
{
    const efi_calendar *c = rules->scenario->calendar;
    for (int i = 0; i < c->shift_count; i++)
        check_empty(rules, "calendar.shifts", c->shifts[i].name, c->shifts[i].origin, c->shifts[i].from,
                    c->shifts[i].to);
    for (int i = 0; i < c->break_count; i++)
        check_empty(rules, "calendar.breaks", c->breaks[i].name, c->breaks[i].origin, c->breaks[i].from,
                    c->breaks[i].to);
    for (int i = 0; i < c->overtime_count; i++)
        check_empty(rules, "calendar.overtime", c->overtimes[i].name, c->overtimes[i].origin,
                    c->overtimes[i].from, c->overtimes[i].to);
    for (int i = 0; i < c->maintenance_count; i++)
        check_empty(rules, "calendar.maintenance", c->maintenances[i].name, c->maintenances[i].origin,
                    c->maintenances[i].from, c->maintenances[i].to);
    for (int i = 0; i < rules->scenario->crew_count; i++) {
        const efi_crew *one = &rules->scenario->crews[i];
        check_empty(rules, "crews", one->name, one->origin, one->from, one->to);
    }
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        const efi_node *key = efi_node_find_key(station->origin.value, "receipts");
        if (!key || !station->receipts)
            continue;
        const efi_origin origin = {key, key + 1};
        const char *list = efi_diags_textf(rules->diags, "stations.%s", station->name);
        check_empty(rules, list ? list : "", "receipts", origin, station->receipts->from,
                    station->receipts->to);
    }
}

static void check_order(efi_rules *rules, const char *list, const char *name, efi_origin origin,
                        const char *last_key, const char *first_key, bool good)
{
    if (good)
        return;
    ef_diag draft = efi_rule_draft(rules, list, name, origin, last_key);
    draft.message = efi_diags_textf(rules->diags, "\"%s\" is too early for its \"%s\"", last_key, first_key);
    const efi_node *first = efi_node_find_key(origin.value, first_key);
    if (first)
        efi_rule_second(rules, &draft, first, "the beginning");
    efi_diags_add(rules->diags, EFI_DIAG_END_EARLY, &draft);
}

static bool in_order(efi_when first, efi_when last, int64_t least)
{
    return !is_known(first, last) || last.value - first.value >= least;
}

void efi_rule_end_early(efi_rules *rules)
{
    const efi_calendar *c = rules->scenario->calendar;
    for (int i = 0; i < c->holiday_count; i++)
        check_order(rules, "calendar.holidays", c->holidays[i].name, c->holidays[i].origin, "last", "date",
                    in_order(c->holidays[i].date, c->holidays[i].last, 0));
    for (int i = 0; i < c->overtime_count; i++)
        check_order(rules, "calendar.overtime", c->overtimes[i].name, c->overtimes[i].origin, "last", "date",
                    in_order(c->overtimes[i].date, c->overtimes[i].last, 0));
    for (int i = 0; i < c->maintenance_count; i++)
        check_order(rules, "calendar.maintenance", c->maintenances[i].name, c->maintenances[i].origin, "end",
                    "begin", in_order(c->maintenances[i].begin, c->maintenances[i].end, 1));
    for (int i = 0; i < rules->scenario->record_count; i++) {
        const efi_record *one = &rules->scenario->records[i];
        check_order(rules, "recorded stops", one->name, one->origin, "to", "from",
                    in_order(one->from, one->to, 1));
    }
}

void efi_rule_maintenance_when(efi_rules *rules)
{
    static const char *const once[] = {"begin", "end"};
    static const char *const recurring[] = {"days", "from", "to"};
    const efi_calendar *c = rules->scenario->calendar;
    for (int i = 0; i < c->maintenance_count; i++) {
        const efi_maintenance *one = &c->maintenances[i];
        int onces = 0;
        int recurrings = 0;
        for (size_t k = 0; k < EF_COUNT(once); k++)
            onces += efi_rule_has(one->origin, once[k]);
        for (size_t k = 0; k < EF_COUNT(recurring); k++)
            recurrings += efi_rule_has(one->origin, recurring[k]);
        if ((onces == 2 && recurrings == 0) || (onces == 0 && recurrings == 3))
            continue;
        ef_diag draft = efi_rule_draft(rules, "calendar.maintenance", one->name, one->origin, NULL);
        draft.message = onces && recurrings   ? "it is once and again and again at the same time"
                        : onces || recurrings ? "it says only in part when it is"
                                              : "it does not say when it is";
        draft.allowed = "begin and end for once; days, from and to for again and again";
        efi_diags_add(rules->diags, EFI_DIAG_MAINTENANCE_WHEN, &draft);
    }
}

/* ---- times of a week ------------------------------------------------------------------------------------
 */

/* Do two times on weekdays overlap in any week? `*day` is then the weekday of the second. */
static bool weekly_overlap(span a, int64_t a_days, span b, int64_t b_days, int *day)
{
    for (int i = 0; i < EFI_WEEK_DAYS; i++)
        for (int j = 0; j < EFI_WEEK_DAYS; j++) {
            const int64_t later_s = (int64_t)(j - i) * EFI_DAY_S;
            if (!(a_days & 1 << i) || !(b_days & 1 << j))
                continue;
            if (overlap(a, b, later_s) || overlap(a, b, later_s + WEEK_S) ||
                overlap(a, b, later_s - WEEK_S)) {
                *day = j;
                return true;
            }
        }
    return false;
}

void efi_rule_shifts_overlap(efi_rules *rules)
{
    const efi_calendar *c = rules->scenario->calendar;
    for (int j = 1; j < c->shift_count; j++)
        for (int i = 0; i < j; i++) {
            const efi_shift *a = &c->shifts[i];
            const efi_shift *b = &c->shifts[j];
            int day;
            if (!is_known(a->from, a->to) || !is_known(b->from, b->to) ||
                !weekly_overlap(span_of(a->from, a->to), a->days.value, span_of(b->from, b->to),
                                b->days.value, &day))
                continue;
            ef_diag draft = efi_rule_draft(rules, "calendar.shifts", b->name, b->origin, "from");
            draft.message = efi_diags_textf(rules->diags, "it overlaps \"%s\", on %s for one", a->name,
                                            efi_weekday_name((efi_weekday)day));
            draft.allowed = "one shift at a time";
            efi_rule_second(rules, &draft, a->origin.key, "the other shift");
            efi_diags_add(rules->diags, EFI_DIAG_SHIFTS_OVERLAP, &draft);
            break;
        }
}

/* The days an overtime is on; false for those that are not known or only long after the first. */
static bool overtime_on(const efi_overtime *one, int64_t day)
{
    return one->date.given && one->last.given && is_known(one->from, one->to) && day >= one->date.value &&
           day <= one->last.value && (one->days.value & 1 << efi_day_weekday(day));
}

static int64_t last_looked_at(const efi_overtime *one)
{
    const int64_t last = one->date.value + MOST_DATES;
    return last < one->last.value ? last : one->last.value;
}

static bool break_in_overtime(const efi_break *pause, const efi_overtime *one)
{
    const span rest = span_of(pause->from, pause->to);
    for (int64_t day = one->date.value; day <= last_looked_at(one); day++)
        for (int64_t other = day - 1; other <= day + 1; other++)
            if (overtime_on(one, day) && (pause->days.value & 1 << efi_day_weekday(other)) &&
                overlap(span_of(one->from, one->to), rest, (other - day) * EFI_DAY_S))
                return true;
    return false;
}

static bool break_inside(const efi_calendar *c, const efi_break *pause)
{
    const span rest = span_of(pause->from, pause->to);
    int ignored;
    for (int i = 0; i < c->shift_count; i++)
        if (!is_known(c->shifts[i].from, c->shifts[i].to) ||
            weekly_overlap(span_of(c->shifts[i].from, c->shifts[i].to), c->shifts[i].days.value, rest,
                           pause->days.value, &ignored))
            return true;
    for (int i = 0; i < c->overtime_count; i++)
        if (!c->overtimes[i].date.given || break_in_overtime(pause, &c->overtimes[i]))
            return true;
    return false;
}

void efi_rule_break_outside(efi_rules *rules)
{
    const efi_calendar *c = rules->scenario->calendar;
    for (int i = 0; i < c->break_count; i++) {
        const efi_break *pause = &c->breaks[i];
        if (!is_known(pause->from, pause->to) || break_inside(c, pause))
            continue;
        ef_diag draft = efi_rule_draft(rules, "calendar.breaks", pause->name, pause->origin, "from");
        draft.message = efi_diags_textf(rules->diags, "from %s to %s nobody works on its days",
                                        clock_text(rules, pause->from.value),
                                        clock_text(rules, pause->to.value));
        draft.allowed = "a time within a shift or overtime";
        efi_diags_add(rules->diags, EFI_DIAG_BREAK_OUTSIDE, &draft);
    }
}

/* How far all-stop breaks reach from `at_s` of a weekday on without a gap, at most to `end_s`. */
static int64_t breaks_reach(const efi_calendar *c, int weekday, int64_t at_s, int64_t end_s)
{
    for (bool moved = true; moved && at_s < end_s;) {
        moved = false;
        for (int i = 0; i < c->break_count; i++) {
            const efi_break *pause = &c->breaks[i];
            const span rest = span_of(pause->from, pause->to);
            const bool stops = !pause->staggered && is_known(pause->from, pause->to);
            for (int ahead = -1; ahead <= 1 && stops; ahead++) {
                const int day = (weekday + ahead + EFI_WEEK_DAYS) % EFI_WEEK_DAYS;
                const int64_t from_s = rest.from_s + (int64_t)ahead * EFI_DAY_S;
                if ((pause->days.value & 1 << day) && from_s <= at_s && at_s < from_s + rest.length_s) {
                    at_s = from_s + rest.length_s;
                    moved = true;
                }
            }
        }
    }
    return at_s;
}

void efi_rule_breaks_over(efi_rules *rules)
{
    const efi_calendar *c = rules->scenario->calendar;
    for (int i = 0; i < c->shift_count; i++) {
        const efi_shift *shift = &c->shifts[i];
        const span work = span_of(shift->from, shift->to);
        for (int day = 0; day < EFI_WEEK_DAYS && is_known(shift->from, shift->to); day++) {
            if (!(shift->days.value & 1 << day) ||
                breaks_reach(c, day, work.from_s, work.from_s + work.length_s) < work.from_s + work.length_s)
                continue;
            ef_diag draft = efi_rule_draft(rules, "calendar.shifts", shift->name, shift->origin, NULL);
            draft.message = efi_diags_textf(rules->diags, "breaks fill all of it on %s",
                                            efi_weekday_name((efi_weekday)day));
            draft.allowed = "breaks shorter than the shift";
            efi_diags_add(rules->diags, EFI_DIAG_BREAKS_OVER, &draft);
            break;
        }
    }
}

/* ---- dates ----------------------------------------------------------------------------------------------
 */

static bool is_holiday(const efi_calendar *c, int64_t day)
{
    for (int i = 0; i < c->holiday_count; i++)
        if (c->holidays[i].date.given && c->holidays[i].last.given && day >= c->holidays[i].date.value &&
            day <= c->holidays[i].last.value)
            return true;
    return false;
}

/* What is worked already while the overtime lasts that begins on `day`: the name of a shift, or of one of the
 * first `overtimes` overtimes. NULL for nothing. */
static const char *worked_already(const efi_calendar *c, span extra, int64_t day, int overtimes,
                                  const efi_node **at)
{
    for (int64_t other = day - 1; other <= day + 1; other++) {
        const int64_t later_s = (other - day) * EFI_DAY_S;
        for (int i = 0; i < c->shift_count; i++) {
            const efi_shift *shift = &c->shifts[i];
            if ((shift->days.value & 1 << efi_day_weekday(other)) && is_known(shift->from, shift->to) &&
                overlap(extra, span_of(shift->from, shift->to), later_s) && !is_holiday(c, other)) {
                *at = shift->origin.key;
                return shift->name;
            }
        }
        for (int i = 0; i < overtimes; i++)
            if (overtime_on(&c->overtimes[i], other) &&
                overlap(extra, span_of(c->overtimes[i].from, c->overtimes[i].to), later_s)) {
                *at = c->overtimes[i].origin.key;
                return c->overtimes[i].name;
            }
    }
    return NULL;
}

void efi_rule_overtime_overlap(efi_rules *rules)
{
    const efi_calendar *c = rules->scenario->calendar;
    for (int i = 0; i < c->overtime_count; i++) {
        const efi_overtime *one = &c->overtimes[i];
        const efi_node *at = NULL;
        const char *name = NULL;
        int64_t day = one->date.value;
        for (; one->date.given && day <= last_looked_at(one) && !name; day++)
            if (overtime_on(one, day))
                name = worked_already(c, span_of(one->from, one->to), day, i, &at);
        if (!name)
            continue;
        ef_diag draft = efi_rule_draft(rules, "calendar.overtime", one->name, one->origin, "from");
        draft.message = efi_diags_textf(rules->diags, "on %s it overlaps \"%s\"", date_text(rules, day - 1),
                                        name);
        draft.allowed = "a time outside the shifts and other overtime";
        if (at)
            efi_rule_second(rules, &draft, at, "what is worked then");
        efi_diags_add(rules->diags, EFI_DIAG_OVERTIME_OVERLAP, &draft);
    }
}

void efi_rule_holiday_twice(efi_rules *rules)
{
    const efi_calendar *c = rules->scenario->calendar;
    for (int j = 1; j < c->holiday_count; j++)
        for (int i = 0; i < j; i++) {
            const efi_holiday *a = &c->holidays[i];
            const efi_holiday *b = &c->holidays[j];
            if (!is_known(a->date, a->last) || !is_known(b->date, b->last) || a->date.value > b->last.value ||
                b->date.value > a->last.value)
                continue;
            if (efi_rule_only_counted(rules, EFI_DIAG_HOLIDAY_TWICE))
                break;
            const int64_t day = a->date.value > b->date.value ? a->date.value : b->date.value;
            ef_diag draft = efi_rule_draft(rules, "calendar.holidays", b->name, b->origin, "date");
            draft.message = efi_diags_textf(rules->diags, "%s is already \"%s\"", date_text(rules, day),
                                            a->name);
            efi_rule_second(rules, &draft, a->origin.key, "the other holiday");
            efi_diags_add(rules->diags, EFI_DIAG_HOLIDAY_TWICE, &draft);
            break;
        }
}
