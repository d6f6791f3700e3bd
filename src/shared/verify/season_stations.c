/* SPDX-License-Identifier: GPL-3.0-or-later
 * One lot on a line that is cleaned station by station, worked out anew. Moments here are working seconds of
 * the line from the moment of the plan. */
#include "shared/verify/season.h"

#include <math.h>
#include <string.h>

enum {
    MOST = 8
};

static int64_t seconds(double hours)
{
    return (int64_t)(hours * 3600.0 + 0.5);
}

/* ---- working seconds ------------------------------------------------------------------------------------
 */

static int64_t to_work(const efi_work_time *time, int64_t moment)
{
    int64_t work = 0;
    for (int i = 0; i < time->count && time->span[i].from < moment; i++)
        work += (time->span[i].to < moment ? time->span[i].to : moment) - time->span[i].from;
    return work;
}

/* As a beginning the first such moment with work after it, as an end the last with work before it. */
static int64_t to_moment(const efi_work_time *time, int64_t work, bool is_end)
{
    for (int i = 0; i < time->count; i++) {
        const int64_t length = time->span[i].to - time->span[i].from;
        if (work < length || (is_end && work == length) || i == time->count - 1)
            return time->span[i].from + work;
        work -= length;
    }
    return 0;
}

/* Adds the overtime of a stretch of working time. */
static void add_overtime(const efi_work_time *time, int64_t from, int64_t to, efi_over_check *over)
{
    int64_t before = 0;
    for (int i = 0; i < time->count && before < to; i++) {
        const int64_t after = before + time->span[i].to - time->span[i].from;
        const int64_t first = from > before ? from : before;
        const int64_t last = to < after ? to : after;
        if (last > first)
            efi_over_add(over, &time->span[i], last - first);
        before = after;
    }
}

static void overtime_within(const efi_work_time *time, int64_t from, int64_t to, int64_t after,
                            efi_over_check *over)
{
    add_overtime(time, from > after ? from : after, to, over);
}

/* Work of a lot from a moment on, with what each pause within costs. */
static int64_t add_work(const efi_season_check *c, const efi_work_time *time, int64_t from, int64_t work_s)
{
    const efi_value restart = c->scenario->season->restart_h;
    efi_over_check over = {0};
    int restarts = 0;
    if (!restart.given || work_s == 0)
        return from + work_s;
    return to_work(time, efi_work_add(time, to_moment(time, from, false), work_s, seconds(restart.value),
                                      &over, &restarts));
}

/* ---- the lot at its stations ----------------------------------------------------------------------------
 */

/* What is asked of each station, and when it does it. */
typedef struct passing {
    int count, slowest;
    int64_t work[MOST], delay[MOST], clean[MOST];
    double held[MOST]; /* share of the lot between it and the next */
    int64_t clean_from[MOST], clean_to[MOST], start[MOST], end[MOST];
    int64_t arrives;
    bool is_frozen, misses;
    int64_t wanted;
} passing;

/* Seconds of a cleaning: no less than locking out and, where a bin is entered, what comes before that. */
static int64_t no_less(const efi_season *season, efi_value takes_h, efi_value bin_entry_h)
{
    const double takes = takes_h.given ? takes_h.value : 0.0;
    const double entry = bin_entry_h.given ? bin_entry_h.value : 0.0;
    const double least = season->least_clean_h.given ? season->least_clean_h.value : 0.0;
    return takes > 0.0 || entry > 0.0 ? seconds(fmax(takes, least + entry)) : 0;
}

static void ask(const efi_season_check *c, int l, const efi_rule_check *rule, int64_t work_s, passing *p)
{
    const efi_lot_check *lot = &c->lot[l];
    const efi_season *season = c->scenario->season;
    const char *crop = c->scenario->crops[c->scenario->lots[l].crop].name;
    bool names_any = false;
    double most = 0.0;
    for (int i = 0; i < c->claim->passage_count && p->count < MOST; i++) {
        const ef_season_passage *one = &c->claim->passages[i];
        if (one->line != lot->claim->line || strcmp(one->crop, crop) != 0)
            continue;
        const int m = p->count++;
        const int64_t mine_s = (int64_t)llround(one->work_share * (double)work_s);
        p->work[m] = mine_s > 0 ? mine_s : 1;
        p->delay[m] = seconds(one->delay_h);
        p->held[m] = lot->raw_t > 0.0 ? floor(fmin(one->room_t / lot->raw_t, 1e6) * (double)p->work[m]) /
                                            (double)p->work[m]
                                      : 0.0;
        if (one->work_share > most) {
            most = one->work_share;
            p->slowest = m;
        }
        for (int s = 0; rule->rule && s < rule->rule->station_count; s++) {
            const efi_station_cleaning *cleaned = &rule->rule->stations[s];
            if (strcmp(cleaned->name, one->station) != 0)
                continue;
            names_any = true;
            p->clean[m] = no_less(season, cleaned->takes_h, cleaned->bin_entry_h);
        }
    }
    if (rule->rule && !names_any)
        p->clean[p->slowest] = no_less(season, rule->rule->takes_h, rule->rule->bin_entry_h);
}

/* Who asks first is cleaned first, then the one further up; a team is free when fewer are at work. */
static void clean(const efi_season_check *c, efi_through_check *t, passing *p)
{
    const int teams = c->scenario->season->teams < p->count ? c->scenario->season->teams : p->count;
    const bool at_once = c->scenario->season->cleaned_before_arrival || p->is_frozen;
    bool done[MOST] = {false};
    for (int m = 0; m < p->count; m++)
        p->clean_from[m] = p->clean_to[m] = at_once || t->end[m] > p->arrives ? t->end[m] : p->arrives;
    for (;;) {
        int next = -1;
        for (int m = 0; m < p->count; m++)
            if (!done[m] && p->clean[m] > 0 && (next < 0 || p->clean_from[m] < p->clean_from[next]))
                next = m;
        if (next < 0)
            return;
        done[next] = true;
        if (t->busy[teams - 1] > p->clean_from[next])
            p->clean_from[next] = t->busy[teams - 1];
        p->clean_to[next] = p->clean_from[next] + p->clean[next];
        int place = teams - 1; /* all teams but the one that was free first stay */
        for (; place > 0 && t->busy[place - 1] < p->clean_to[next]; place--)
            t->busy[place] = t->busy[place - 1];
        t->busy[place] = p->clean_to[next];
    }
}

static void start(passing *p)
{
    p->start[0] = p->clean_to[0] > p->arrives ? p->clean_to[0] : p->arrives;
    if (p->is_frozen) {
        p->misses = p->clean_to[0] > p->wanted;
        p->start[0] = p->misses ? p->clean_to[0] : p->wanted;
    }
    for (int m = 1; m < p->count; m++) {
        const int64_t fed = p->start[m - 1] + p->delay[m];
        p->start[m] = fed > p->clean_to[m] ? fed : p->clean_to[m];
    }
}

/* What is held between two stations when seed goes against the way from one to the other. */
static double held_back(const passing *p, int from, int to)
{
    double held = 0.0;
    for (int m = to; m < from; m++)
        held += p->held[m];
    return held;
}

/* The longest way from the start of any station over the work of any station to the end of `m`. */
static int64_t end_of(const efi_season_check *c, const efi_work_time *time, const passing *p, int m)
{
    int64_t end = m > 0 && m < p->count ? p->end[m - 1] + p->delay[m] : 0;
    for (int k = 0; k < p->count; k++) {
        int64_t from = p->start[k];
        for (int i = k; i < m; i++)
            from += p->delay[i + 1];
        for (int i = k; i > m; i--)
            from -= p->delay[i];
        for (int j = 0; j < p->count; j++) {
            const double left = 1.0 - (held_back(p, k, j) + held_back(p, j, m));
            if (left < -1e-9)
                continue;
            const int64_t mine = add_work(c, time, from, (int64_t)(left * (double)p->work[j] + 0.5));
            end = mine > end ? mine : end;
        }
    }
    return end;
}

/* ---- compared with the answer ---------------------------------------------------------------------------
 */

static void differ_moment(const efi_season_check *c, const char *what, int64_t claimed, int64_t expected)
{
    if (claimed != expected)
        efi_differ(c->list, "%s: the answer says %lld s, worked out anew it is %lld s from the plan's moment",
                   what, (long long)(claimed - c->claim->at), (long long)(expected - c->claim->at));
}

/* From the first to the last of the cleaning; false without any. */
static bool cleaning_span(const passing *p, int64_t *from, int64_t *to)
{
    bool any = false;
    for (int m = 0; m < p->count; m++) {
        if (p->clean[m] == 0)
            continue;
        *from = !any || p->clean_from[m] < *from ? p->clean_from[m] : *from;
        *to = !any || p->clean_to[m] > *to ? p->clean_to[m] : *to;
        any = true;
    }
    return any;
}

static void compare_cleaning(const efi_season_check *c, const ef_season_run *run, const efi_through_check *t,
                             const passing *p, int64_t stands)
{
    const efi_work_time *time = &c->time[run->line];
    int64_t from = 0;
    int64_t to = 0;
    int count = 0;
    if (cleaning_span(p, &from, &to)) {
        differ_moment(c, "cleaning begins", run->clean_from, to_moment(time, from, false));
        differ_moment(c, "cleaning ends", run->clean_to, to_moment(time, to, true));
    }
    for (int m = 0; m < p->count; m++) {
        if (p->clean[m] == 0)
            continue;
        if (count >= run->cleaned_count) {
            efi_differ(c->list, "fewer stations are cleaned than the rule asks for");
            return;
        }
        const ef_season_cleaned *one = &run->cleaned[count++];
        efi_differ_words(c->list, "cleaned", one->station, c->scenario->stations[t->station[m]].name);
        efi_differ_number(c->list, "hours of cleaning at a station", "h", one->clean_h,
                          (double)p->clean[m] / 3600.0, 1e-9);
        differ_moment(c, "cleaning of a station begins", one->from, to_moment(time, p->clean_from[m], false));
        differ_moment(c, "cleaning of a station ends", one->to, to_moment(time, p->clean_to[m], true));
    }
    efi_differ_count(c->list, "stations that are cleaned", run->cleaned_count, count);
    efi_differ_number(c->list, "the slowest station stands", "h", run->stands_h, (double)stands / 3600.0,
                      1e-9);
}

/* Overtime from the first to the last of cleaning and work, after the lot before. */
static void overtime_of(const efi_work_time *time, const passing *p, int64_t before, efi_over_check *over)
{
    int64_t from = 0;
    int64_t to = 0;
    const bool cleans = cleaning_span(p, &from, &to);
    const int64_t end = p->end[p->count - 1];
    if (cleans && !p->is_frozen && p->start[0] <= to) {
        overtime_within(time, from < p->start[0] ? from : p->start[0], end, before, over);
        return;
    }
    if (cleans)
        overtime_within(time, from, to, before, over);
    overtime_within(time, p->start[0], end, p->is_frozen ? 0 : before, over);
}

void efi_season_check_pass(efi_season_check *c, int l, const efi_rule_check *rule, int64_t work_s,
                           efi_over_check *over, int *restarts)
{
    efi_lot_check *lot = &c->lot[l];
    const ef_season_run *run = lot->claim;
    const efi_work_time *time = &c->time[run->line];
    efi_through_check *t = &c->through[run->line];
    passing p = {.arrives = to_work(time, lot->arrives),
                 .is_frozen = c->claim->lots[l].state == EF_SEASON_FROZEN};
    efi_over_check spare = {0};
    p.wanted = p.is_frozen ? to_work(time, efi_season_check_frozen(c, l)) : 0;
    ask(c, l, rule, work_s, &p);
    if (p.count != t->count) {
        efi_differ(c->list, "the answer does not say how it passes the stations of its line");
        lot->start = lot->end = lot->fed = run->start;
        return;
    }
    const int64_t before = t->end[t->count - 1];
    clean(c, t, &p);
    start(&p);
    for (int m = 0; m < p.count; m++)
        p.end[m] = end_of(c, time, &p, m);
    int64_t stands = t->has_lot ? p.start[p.slowest] - t->end[p.slowest] : 0;
    stands = stands > 0 ? stands : 0;
    if (c->claim->lots[l].state != EF_SEASON_RUNNING && !run->forbidden)
        compare_cleaning(c, run, t, &p, stands);
    lot->start = p.is_frozen && !p.misses ? efi_season_check_frozen(c, l)
                                          : to_moment(time, p.start[0], false);
    lot->end = to_moment(time, p.end[p.count - 1], true);
    lot->fed = to_moment(time, p.end[0], true);
    c->forbidden += p.misses;
    overtime_of(time, &p, before, over);
    if (p.count == 1)
        (void)efi_work_add(
            time, to_moment(time, p.start[0], false), p.work[0],
            seconds(c->scenario->season->restart_h.given ? c->scenario->season->restart_h.value : 0.0),
            &spare, restarts);
    else
        (void)efi_work_add(time, to_moment(time, p.start[0], false), p.end[p.count - 1] - p.start[0], 0,
                           &spare, restarts);
    memcpy(t->end, p.end, sizeof p.end);
    t->has_lot = true;
}
