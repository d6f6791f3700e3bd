/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a list of lots: order, mass, clean-downs and hours of every run, and what is made of them.
 */
#include "base/locale.h"
#include "base/memory.h"
#include "shared/calendar/calendar.h"
#include "shared/verify/sample.h"
#include "shared/verify/season.h"

#include <evenfeed/shift_lots.h>
#include <math.h>
#include <string.h>

/* Tonnes of a lot and hours may miss by this much, relative to the tonnes and in h. A drawn or given time
 * lies on a grid of 2^-20 h. */
#define MASS_SHARE 1e-9
#define HOURS      1e-6
#define CONFIDENCE 0.95

typedef struct lots_check {
    const ef_scenario *scenario;
    const ef_shift_lots *claim;
    efi_differences *list;
    int *number;    /* shape [lots]: in the scenario */
    double *values; /* shape [runs][periods, at least 1] */
    double *sorted; /* the same */
} lots_check;

static const double *row(const lots_check *c, const double *all, int run)
{
    return all + (size_t)run * (size_t)c->claim->lot_count;
}

/* ---- which lots -----------------------------------------------------------------------------------------
 */

static void check_lot(const lots_check *c, int k)
{
    const ef_shift_lot *lot = &c->claim->lots[k];
    const efi_scenario_lot *of = &c->scenario->lots[c->number[k]];
    const double left_t = of->left_t.given ? of->left_t.value : of->amount_t.value;
    c->list->subject = lot->name;
    efi_differ_words(c->list, "the crop", lot->crop, c->scenario->crops[of->crop].name);
    efi_differ_number(c->list, "the amount", "t", lot->tonnes_t, left_t, 0.0);
    const efi_rule_check rule = k > 0 ? efi_season_check_rule(c->scenario, c->number[k - 1], c->number[k], 0)
                                      : (efi_rule_check){0};
    efi_differ_words(c->list, "the rule", lot->rule ? lot->rule : "none",
                     rule.rule ? rule.rule->name : "none");
    efi_differ_number(c->list, "the clean-down", "h", lot->clean_h, rule.clean_h, 1e-12);
    efi_differ_number(c->list, "the flushed seed", "t", lot->flush_t, rule.flush_t, 1e-12);
    if (rule.rule && rule.rule->never)
        efi_differ(c->list, "must not follow the lot before it");
    c->list->subject = NULL;
}

/* Without a plan: those that wait, in the order of the scenario; in any case none twice, none done. */
static bool find_lots(lots_check *c)
{
    int next = 0;
    for (int k = 0; k < c->claim->lot_count; k++) {
        const char *name = c->claim->lots[k].name;
        c->number[k] = efi_index_find(&c->scenario->lot_index, name, strlen(name));
        if (c->number[k] < 0) {
            efi_differ(c->list, "the scenario has no lot %s", name);
            return false;
        }
        for (int j = 0; j < k; j++)
            if (c->number[j] == c->number[k])
                efi_differ(c->list, "lot %s runs twice", name);
        while (next < c->scenario->lot_count && c->scenario->lots[next].state != EFI_LOT_WAITING)
            next++;
        if (!c->claim->by_plan && c->number[k] != next++)
            efi_differ(c->list, "lot %s is not the next that waits in the scenario", name);
        if (c->scenario->lots[c->number[k]].state == EFI_LOT_DONE)
            efi_differ(c->list, "lot %s is done", name);
    }
    efi_differ_count(c->list, "lots left out", c->claim->left_out,
                     c->scenario->lot_count - c->claim->lot_count);
    return true;
}

/* ---- hours of work --------------------------------------------------------------------------------------
 */

/* Hours of work between two hours of the list, walking through the calendar. */
static double worked_h(const lots_check *c, double from_h, double to_h)
{
    const efi_calendar *calendar = c->scenario->calendar;
    if (!c->claim->on_calendar)
        return to_h - from_h;
    const int64_t zero_s = c->claim->from_moment_s - calendar->start.value * EFI_DAY_S;
    const double from_s = from_h * EFI_HOUR_S;
    const double to_s = to_h * EFI_HOUR_S;
    double work_s = 0.0;
    int64_t at = zero_s + (int64_t)floor(from_s);
    while ((double)(at - zero_s) < to_s) {
        const efi_time_interval one = efi_calendar_at(calendar, EFI_WHOLE_PLANT, at);
        const double begin_s = fmax((double)(at - zero_s), from_s);
        const double end_s = fmin((double)(one.to_s - zero_s), to_s);
        if (one.state == EFI_TIME_SHIFT || one.state == EFI_TIME_OVERTIME)
            work_s += fmax(end_s - begin_s, 0.0);
        at = one.to_s;
    }
    return work_s / EFI_HOUR_S;
}

/* ---- every run ------------------------------------------------------------------------------------------
 */

static void check_mass(const lots_check *c, int run, int k)
{
    const ef_shift_lots *claim = c->claim;
    const size_t at = (size_t)run * (size_t)claim->lot_count + (size_t)k;
    const double tonnes_t = claim->lots[k].tonnes_t;
    double out_t = 0.0;
    for (int o = 0; o < claim->outlet_count; o++)
        out_t += claim->outlet_t[at * (size_t)claim->outlet_count + (size_t)o];
    if (!(fabs(claim->in_t[at] - tonnes_t) <= MASS_SHARE * tonnes_t))
        efi_differ(c->list, "run %d: %.12g t of lot %s came in, which has %.12g t", run + 1, claim->in_t[at],
                   claim->lots[k].name, tonnes_t);
    if (!(fabs(out_t - claim->in_t[at]) <= MASS_SHARE * tonnes_t))
        efi_differ(c->list, "run %d: %.12g t of lot %s came in and %.12g t went out", run + 1,
                   claim->in_t[at], claim->lots[k].name, out_t);
}

/* Lots come in and leave in their order; a line that is cleared takes the next when it has been cleaned. */
static void check_times(const lots_check *c, int run, int k)
{
    const ef_shift_lots *claim = c->claim;
    const double *begin_h = row(c, claim->begin_h, run);
    const double *end_h = row(c, claim->end_h, run);
    const char *name = claim->lots[k].name;
    if (!(begin_h[k] >= 0.0 && end_h[k] > begin_h[k]))
        efi_differ(c->list, "run %d: lot %s ends before it begins", run + 1, name);
    if (k == 0)
        return;
    if (!(begin_h[k] >= begin_h[k - 1] && end_h[k] >= end_h[k - 1]))
        efi_differ(c->list, "run %d: lot %s overtakes the one before it", run + 1, name);
    if (!claim->line_clear)
        return;
    const double between_h = worked_h(c, end_h[k - 1], begin_h[k]);
    if (!(between_h >= claim->lots[k].clean_h - HOURS))
        efi_differ(
            c->list,
            "run %d: lot %s enters %.9g h of work after the one before it has left; cleaning takes %.9g h",
            run + 1, name, between_h, claim->lots[k].clean_h);
}

static void check_runs(const lots_check *c)
{
    for (int r = 0; r < c->claim->runs; r++)
        for (int k = 0; k < c->claim->lot_count; k++) {
            check_mass(c, r, k);
            check_times(c, r, k);
        }
}

/* ---- statistics -----------------------------------------------------------------------------------------
 */

static bool same_limit(double claimed, double expected)
{
    if (isinf(claimed) || isinf(expected))
        return !(claimed < expected) && !(claimed > expected);
    return efi_differ_same(claimed, expected, 1e-9);
}

static void check_estimate(const lots_check *c, const char *what, ef_shift_estimate claimed,
                           efi_sample_limits expected)
{
    if (!efi_differ_same(claimed.value, expected.value, 1e-9) || !same_limit(claimed.low, expected.low) ||
        !same_limit(claimed.high, expected.high))
        efi_differ(c->list, "%s is given as %.10g (%.10g to %.10g), recomputed %.10g (%.10g to %.10g)", what,
                   claimed.value, claimed.low, claimed.high, expected.value, expected.low, expected.high);
}

/* Of c->values, one a run. */
static void check_spread(const lots_check *c, const char *what, const ef_shift_spread *spread)
{
    const int runs = c->claim->runs;
    memcpy(c->sorted, c->values, (size_t)runs * sizeof *c->sorted);
    efi_sample_sort(c->sorted, runs);
    check_estimate(c, what, spread->mean, efi_sample_mean(c->values, runs, CONFIDENCE));
    check_estimate(c, what, spread->p10, efi_sample_order(c->sorted, runs, 0.1, CONFIDENCE));
    check_estimate(c, what, spread->p50, efi_sample_order(c->sorted, runs, 0.5, CONFIDENCE));
    check_estimate(c, what, spread->p90, efi_sample_order(c->sorted, runs, 0.9, CONFIDENCE));
}

static double product_of(const lots_check *c, int k)
{
    const ef_shift_lots *claim = c->claim;
    double product_t = 0.0;
    for (int r = 0; r < claim->runs; r++)
        for (int o = 0; o < claim->outlet_count; o++)
            if (claim->is_product[o])
                product_t += claim->outlet_t[((size_t)r * (size_t)claim->lot_count + (size_t)k) *
                                                 (size_t)claim->outlet_count +
                                             (size_t)o] /
                             claim->runs;
    return product_t;
}

static void check_spreads_of(const lots_check *c, int k)
{
    const ef_shift_lots *claim = c->claim;
    const ef_shift_lot *lot = &claim->lots[k];
    double work_h = 0.0;
    c->list->subject = lot->name;
    for (int r = 0; r < claim->runs; r++)
        c->values[r] = row(c, claim->begin_h, r)[k];
    check_spread(c, "its beginning", &lot->begin_h);
    for (int r = 0; r < claim->runs; r++)
        c->values[r] = row(c, claim->end_h, r)[k];
    check_spread(c, "its end", &lot->end_h);
    for (int r = 0; r < claim->runs; r++) {
        c->values[r] = worked_h(c, row(c, claim->begin_h, r)[k], row(c, claim->end_h, r)[k]);
        work_h += c->values[r] / claim->runs;
    }
    check_spread(c, "its hours of work", &lot->work_h);
    efi_differ_number(c->list, "its rate", "t/h", lot->rate_tph, lot->tonnes_t / work_h, 1e-9);
    efi_differ_number(c->list, "its product", "t", lot->product_t, product_of(c, k), 1e-9);
    c->list->subject = NULL;
}

static void check_list(const lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    const int last = claim->lot_count - 1;
    double tonnes_t = 0.0;
    double balance_h = 0.0;
    double clean_h = 0.0;
    double work_h = 0.0;
    for (int k = 0; k <= last; k++) {
        tonnes_t += claim->lots[k].tonnes_t;
        balance_h += claim->lots[k].tonnes_t / claim->lots[k].balance_tph;
        clean_h += claim->lots[k].clean_h;
    }
    efi_differ_number(c->list, "the tonnes of the list", "t", claim->tonnes_t, tonnes_t, 1e-9);
    efi_differ_number(c->list, "the hours by the balance", "h", claim->balance_h, balance_h, 1e-9);
    efi_differ_number(c->list, "the hours of clean-downs", "h", claim->clean_h, clean_h, 1e-9);
    for (int r = 0; r < claim->runs; r++)
        c->values[r] = row(c, claim->end_h, r)[last];
    check_spread(c, "the hours of the list", &claim->list_h);
    for (int r = 0; r < claim->runs; r++) {
        c->values[r] = worked_h(c, 0.0, row(c, claim->end_h, r)[last]);
        work_h += c->values[r] / claim->runs;
        efi_differ_number(c->list, "the hours of work of a run", "h", claim->run_work_h[r], c->values[r],
                          HOURS);
    }
    check_spread(c, "the hours of work of the list", &claim->work_h);
    efi_differ_number(c->list, "the rate of the list", "t/h", claim->rate_tph, tonnes_t / work_h, 1e-9);
}

/* ---- shifts ---------------------------------------------------------------------------------------------
 */

static void put_stream(const lots_check *c, int stream)
{
    const ef_shift_lots *claim = c->claim;
    const size_t count = (size_t)claim->runs * (size_t)claim->period_count;
    memset(c->values, 0, count * sizeof *c->values);
    for (int o = 0; o < claim->outlet_count; o++)
        for (size_t i = 0; i < count; i++)
            if (stream == 2 + o || (stream == 1 && claim->is_product[o]))
                c->values[i] += claim->shift_outlet_t[(size_t)o * count + i];
    if (stream == 0)
        memcpy(c->values, claim->shift_intake_t, count * sizeof *c->values);
}

static void check_stream(const lots_check *c, const ef_shift_stream *stream, double *means)
{
    const int runs = c->claim->runs;
    const int per = c->claim->period_count;
    static const double points[] = {0.1, 0.5, 0.9};
    const ef_shift_estimate claimed[] = {stream->p10_t, stream->p50_t, stream->p90_t};
    for (int r = 0; r < runs; r++) {
        means[r] = 0.0;
        for (int p = 0; p < per; p++)
            means[r] += c->values[(size_t)r * (size_t)per + (size_t)p] / per;
    }
    check_estimate(c, stream->name, stream->mean_t, efi_sample_mean(means, runs, CONFIDENCE));
    memcpy(c->sorted, c->values, (size_t)runs * (size_t)per * sizeof *c->sorted);
    efi_sample_sort(c->sorted, runs * per);
    for (size_t i = 0; i < EF_COUNT(points); i++)
        check_estimate(c, stream->name, claimed[i],
                       per == 1 ? efi_sample_order(c->sorted, runs, points[i], CONFIDENCE)
                                : efi_sample_runs(c->values, c->sorted, runs, per, points[i], CONFIDENCE));
}

static void check_periods(const lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    double before_h = 0.0;
    for (int p = 0; p < claim->period_count; p++) {
        const ef_shift_period *period = &claim->periods[p];
        if (!(period->from_h >= before_h && period->to_h > period->from_h))
            efi_differ(c->list, "shift %d overlaps the one before it", p + 1);
        before_h = period->to_h;
        efi_differ_number(c->list, "the hours of work of a shift", "h", period->work_h,
                          worked_h(c, period->from_h, period->to_h), HOURS);
        for (int r = 0; r < claim->runs; r++)
            if (row(c, claim->end_h, r)[claim->lot_count - 1] < period->to_h)
                efi_differ(c->list, "run %d: the list ends within shift %d", r + 1, p + 1);
    }
}

static void check_shifts(const lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    if (claim->period_count == 0)
        return;
    check_periods(c);
    if (claim->stream_count != 2 + claim->outlet_count) {
        efi_differ(c->list, "the streams of a shift are not intake, product and the outlets");
        return;
    }
    double *means = efi_new((size_t)claim->runs, sizeof *means);
    for (int s = 0; means && s < claim->stream_count; s++) {
        put_stream(c, s);
        check_stream(c, &claim->streams[s], means);
    }
    c->list->text.failed = c->list->text.failed || !means;
    efi_free(means);
}

/* ---- accounts -------------------------------------------------------------------------------------------
 */

/* Hours of cleaning at one station in the whole list, by the rules: of the whole line, or what they say of
 * it; a rule that names no station may mean any. */
static double most_clean_h(const lots_check *c, const char *name)
{
    const ef_scenario *scenario = c->scenario;
    const int station = efi_index_find(&scenario->station_index, name, strlen(name));
    double hours = 0.0;
    for (int k = 1; k < c->claim->lot_count; k++) {
        const efi_rule_check rule = efi_season_check_rule(scenario, c->number[k - 1], c->number[k], 0);
        if (c->claim->line_clear || (rule.rule && rule.rule->station_count == 0))
            hours += rule.clean_h;
        for (int s = 0; !c->claim->line_clear && rule.rule && s < rule.rule->station_count; s++)
            if (rule.rule->stations[s].station == station)
                hours += fmax(
                    rule.rule->stations[s].takes_h.value,
                    rule.rule->stations[s].takes_h.value > 0.0 ? scenario->season->least_clean_h.value : 0.0);
    }
    return hours;
}

static void check_station(const lots_check *c, const ef_shift_lots_station *station)
{
    const ef_shift_lots *claim = c->claim;
    double sum_h = 0.0;
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++) {
        sum_h += station->hours[h];
        if (!(station->hours[h] >= 0.0))
            efi_differ(c->list, "hours are below 0");
    }
    c->list->subject = station->name;
    efi_differ_number(c->list, "its hours together", "h", sum_h, claim->list_h.mean.value, 1e-9);
    const double rest_h = station->hours[EF_SHIFT_CLOSED] + station->hours[EF_SHIFT_BREAK];
    if (rest_h > claim->list_h.mean.value - claim->work_h.mean.value + HOURS)
        efi_differ(c->list, "is closed or in a break for %.9g h, more than the calendar says", rest_h);
    const double clean_h = station->hours[EF_SHIFT_CLEAN_DOWN];
    const double most_h = most_clean_h(c, station->name);
    if (clean_h > most_h + HOURS * claim->lot_count)
        efi_differ(c->list, "is cleaned for %.9g h, by the rules %.9g h", clean_h, most_h);
    c->list->subject = NULL;
}

static void check_accounts(const lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    const ef_shift_lots_station *account = &claim->stations[claim->account];
    for (int s = 0; s < claim->station_count; s++)
        check_station(c, &claim->stations[s]);
    if (claim->line_clear)
        efi_differ_number(c->list, "the clean-downs of the line's account", "h",
                          account->hours[EF_SHIFT_CLEAN_DOWN], claim->clean_h, HOURS * claim->lot_count);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static void check_all(lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    efi_differ_words(c->list, "the plant", claim->plant, c->scenario->plant->name);
    if (!find_lots(c))
        return;
    for (int k = 0; k < claim->lot_count; k++)
        check_lot(c, k);
    check_runs(c);
    for (int k = 0; k < claim->lot_count; k++)
        check_spreads_of(c, k);
    check_list(c);
    check_shifts(c);
    check_accounts(c);
}

static ef_status recompute(lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    const size_t room = (size_t)claim->runs * (size_t)(claim->period_count > 0 ? claim->period_count : 1);
    c->number = efi_new((size_t)claim->lot_count, sizeof *c->number);
    c->values = efi_new(room, sizeof *c->values);
    c->sorted = efi_new(room, sizeof *c->sorted);
    const bool ready = c->number && c->values && c->sorted;
    if (ready)
        check_all(c);
    efi_free(c->number);
    efi_free(c->values);
    efi_free(c->sorted);
    return ready ? EF_OK : EF_MEMORY;
}

ef_status ef_shift_lots_verify(const ef_scenario *scenario, const ef_shift_lots *lots, char **differences)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    efi_differences list = {.crop = "the list"};
    lots_check c = {.scenario = scenario, .claim = lots, .list = &list};
    ef_status status = EF_OK;
    if (lots->lot_count < 1 || lots->runs < 2 || lots->station_count < 1 || lots->account < 0 ||
        lots->account >= lots->station_count)
        efi_differ(&list, "there is nothing in the answer");
    else
        status = recompute(&c);
    status = efi_differences_end(&list, status, differences);
    efi_locale_leave(&locale);
    return status;
}
