/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a shift can fail: every number of a right answer, made wrong, is found; and its own
 * statistics are those of GSL. */
#include "../lib/near.h"
#include "../lib/shifts.h"

#include "shared/verify/sample.h"

#include <evenfeed/report.h>
#include <evenfeed/shift.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const char plant[] =
    "evenfeed: 1\nplant: {name: Weeks, people: 4, labour price: 10 EUR/h, energy price: 0.2 EUR/kWh}\n"
    "materials: {seed: {wanted: yes}, chaff: }\n"
    "crops: {wheat: {density: 0.8 t/m3, trade weight: 60 lb/bu, price: 200 EUR/t,\n"
    "  receipt: {seed: rest, chaff: 4 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, receipts: {load: 24 t, every: 3 h, queue: 2}, to: Raw bin}\n"
    "  Raw bin: {kind: bin, live volume: 50 m3, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 12 t/h, idle power: 5 kW, energy: 1 kWh/t,\n"
    "    stops: {choke: {between: 9 h, lasts: 20 min, lock-out: 12 min}, screens: {every: 4 h, lasts: 10 "
    "min}},\n"
    "    discharges: {waste: {takes: {chaff: 80 %}, to: Waste}, seed: {takes: rest, to: Bin}}}\n"
    "  Bin: {kind: bin, live volume: 3 m3, restart level: 30 %, to: Deck}\n"
    "  Deck: {kind: density separator, capacity: 10 t/h, warm-up: 5 min, idle power: 9 kW, discharges: {\n"
    "    middlings: {takes: {seed: 10 %, chaff: 20 %}, to: Bin},\n"
    "    lights: {takes: {chaff: 70 %, seed: 1 %}, to: Waste}, heavies: {takes: rest, to: Shed}}}\n"
    "  Waste: {kind: outlet, use: feed, price: 50 EUR/t}\n"
    "  Shed: {kind: outlet, product: yes}\n";

static const char calendar[] =
    "calendar:\n  start: 2026-08-31\n  shifts:\n"
    "    early: {days: mon-fri, from: 06:00, to: 14:00}\n"
    "    night: {days: mon-fri, from: 22:00, to: 06:00, people: 3}\n"
    "  breaks: {breakfast: {from: 09:00, to: 09:15}, meal: {from: 02:00, to: 02:30}}\n"
    "  overtime: {rush: {date: 2026-09-05, from: 07:00, to: 12:00, price factor: 1.5, cost: 60 EUR/h}}\n"
    "  maintenance: {Belts: {days: fri, from: 12:30, to: 14:00, weeks: 2, stations: [Cleaner]}}\n";

typedef struct fixture {
    ef_scenario *scenario;
    ef_shift *shift;
} fixture;

static fixture make(bool weeks)
{
    char text[sizeof plant + sizeof calendar];
    memcpy(text, plant, sizeof plant);
    if (weeks)
        memcpy(text + sizeof plant - 1, calendar, sizeof calendar);
    fixture f = {plant_read(text), NULL};
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 60;
    settings.precision = 0.5;
    f.shift = shift_of(f.scenario, settings);
    return f;
}

static bool agrees(const fixture *f)
{
    char *differences = NULL;
    const ef_status status = ef_shift_verify(f->scenario, f->shift, &differences);
    assert_true(status == EF_OK || status == EF_INTERNAL);
    if (status == EF_INTERNAL)
        assert_true(differences && *differences);
    ef_report_free(differences);
    return status == EF_OK;
}

/* The answer is the test's own: what its pointers protect may be changed here. */
static void *open_up(const void *of)
{
    return (void *)(uintptr_t)of; // NOLINT(performance-no-int-to-ptr): takes a const away, for the test
}

/* Puts a wrong number in the place of a right one; the verifier must see it. */
static void assert_seen(const fixture *f, const char *what, const double *number, double wrong)
{
    double *place = open_up(number);
    const double right = *place;
    *place = wrong;
    if (agrees(f))
        fail_msg("%s: %.10g in the place of %.10g is not seen", what, wrong, right);
    *place = right;
}

/* A little more than it is. */
static void assert_more_seen(const fixture *f, const char *what, const double *number)
{
    assert_seen(f, what, number, *number + 0.01 * (1.0 + fabs(*number)));
}

static void assert_count_seen(const fixture *f, const char *what, const int *count)
{
    int *place = open_up(count);
    (*place)++;
    if (agrees(f))
        fail_msg("%s: one more is not seen", what);
    (*place)--;
}

static void assert_flag_seen(const fixture *f, const char *what, const bool *flag)
{
    bool *place = open_up(flag);
    *place = !*place;
    if (agrees(f))
        fail_msg("%s: the contrary is not seen", what);
    *place = !*place;
}

static void wrong_amounts(const fixture *f)
{
    const ef_shift *s = f->shift;
    const size_t shifts = (size_t)s->runs * (size_t)s->period_count;
    assert_more_seen(f, "intake of a shift", &s->intake_t[shifts / 2]);
    assert_more_seen(f, "stock of a shift", &s->stock_t[shifts - 1]);
    for (int o = 0; o < s->outlet_count; o++)
        assert_more_seen(f, s->outlets[o], &s->outlet_t[(size_t)o * shifts]);
    for (int g = 0; g < s->group_count; g++) {
        const ef_shift_group *group = &s->groups[g];
        assert_count_seen(f, "per run", &group->per_run);
        assert_more_seen(f, "work of a group", &group->work_h);
        for (int k = 0; k < group->stream_count; k++) {
            const ef_shift_stream *stream = &group->streams[k];
            const ef_shift_estimate *estimates[] = {&stream->mean_t, &stream->p10_t, &stream->p50_t,
                                                    &stream->p90_t};
            assert_flag_seen(f, "product", &stream->product);
            for (int e = 0; e < 4; e++) {
                assert_more_seen(f, stream->name, &estimates[e]->value);
                assert_seen(f, stream->name, &estimates[e]->low, estimates[e]->value - 0.001);
                assert_seen(f, stream->name, &estimates[e]->high,
                            isfinite(estimates[e]->high) ? (double)INFINITY : estimates[e]->value + 1e6);
            }
        }
    }
    for (int k = 0; k < s->histogram_count; k++)
        assert_count_seen(f, "histogram", &s->histogram[k]);
    assert_more_seen(f, "histogram", &s->histogram_from_t);
    assert_more_seen(f, "histogram", &s->histogram_width_t);
    assert_more_seen(f, "reached", &s->reached);
    assert_flag_seen(f, "precise", &s->precise);
    assert_flag_seen(f, "product", &s->is_product[0]);
    assert_more_seen(f, "planning rate", &s->planning_rate_tph);
}

static void wrong_hours(const fixture *f)
{
    const ef_shift *s = f->shift;
    for (int k = 0; k < s->station_count; k++) {
        const ef_shift_station *station = &s->stations[k];
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            assert_seen(f, ef_shift_hours_word((ef_shift_hours)h), &station->hours[h],
                        station->hours[h] + 1e-8);
        assert_seen(f, "planned", &station->planned_h, station->hours[EF_SHIFT_OWN_STOP] + 0.1);
        assert_seen(f, "warming", &station->warming_h, station->hours[EF_SHIFT_START_UP] + 0.1);
        assert_seen(f, "taken", &station->taken_t,
                    station->rate_tph * s->counted_h + 1.0 + 40.0 * s->counted_h);
        assert_seen(f, "warm-up", &station->warm_up_t, station->taken_t + 1.0);
        assert_flag_seen(f, "steady", &station->steady_feed);
        assert_more_seen(f, "shortfall", &station->shortfall_t);
        assert_seen(f, "out of band", &station->out_of_band_h, s->counted_h);
        assert_more_seen(f, "idle energy", &station->idle_kwh);
        assert_more_seen(f, "energy by tonnes", &station->load_kwh);
        if (isfinite(station->rate_tph))
            assert_seen(f, "rate", &station->rate_tph, 1.5 * station->rate_tph);
    }
    assert_count_seen(f, "account", &s->account);
    assert_more_seen(f, "availability", &s->availability);
    assert_more_seen(f, "performance", &s->performance);
    assert_more_seen(f, "quality", &s->quality);
    assert_more_seen(f, "effectiveness", &s->effectiveness);
    assert_more_seen(f, "counted", &s->counted_h);
    assert_more_seen(f, "warm-up", &s->warm_up_h);
    assert_count_seen(f, "choked", &s->choked_runs);
    assert_more_seen(f, "trade weight", &s->trade_weight_tpbu);
    for (int p = 0; p < s->period_count; p++) {
        const ef_shift_period *period = &s->periods[p];
        assert_seen(f, "end of a shift", &period->to_h, period->to_h + 0.5);
        assert_more_seen(f, "work", &period->work_h);
        assert_more_seen(f, "crew", &period->crew_h);
        assert_more_seen(f, "paid", &period->paid_h);
        assert_more_seen(f, "extra", &period->extra);
    }
}

static void wrong_cost(const fixture *f)
{
    const ef_shift_cost *c = &f->shift->cost;
    const double *numbers[] = {&c->product_t, &c->idle_kwh, &c->load_kwh,  &c->energy_price,
                               &c->power,     &c->crew_h,   &c->paid_h,    &c->labour_price,
                               &c->extra,     &c->crew,     &c->rejects_t, &c->receipt_price,
                               &c->shrink,    &c->rejects,  &c->total,     &c->per_t};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        assert_more_seen(f, "cost", numbers[i]);
    assert_flag_seen(f, "energy price", &c->has_energy_price);
    assert_flag_seen(f, "labour price", &c->has_labour_price);
    assert_flag_seen(f, "receipt price", &c->has_receipt_price);
    assert_flag_seen(f, "reject price", &c->has_reject_price);
}

static void wrong_levels(const fixture *f)
{
    const ef_shift *s = f->shift;
    for (int b = 0; b < s->bin_count; b++) {
        const ef_shift_bin *bin = &s->bins[b];
        assert_more_seen(f, "live volume", &bin->full_t);
        assert_seen(f, "low", &bin->p10_t[3], bin->p50_t[3] + 0.001);
        assert_seen(f, "middle", &bin->p50_t[3], bin->p90_t[3] + 0.001);
        assert_seen(f, "high", &bin->p90_t[3], bin->full_t + 0.001);
        assert_seen(f, "sample", &bin->sample_t[1], -0.001);
        assert_seen(f, "mean", &bin->mean_t, bin->full_t + 0.001);
        assert_seen(f, "empty", &bin->empty_h, s->counted_h + 0.1);
        assert_seen(f, "full", &bin->full_h, -0.1);
        if (!s->on_calendar)
            assert_seen(f, "end of the sample", &bin->sample_t[0],
                        0.5 * (bin->sample_t[0] + bin->full_t) + 0.001);
    }
    assert_more_seen(f, "grid", &s->grid_h[1]);
    assert_seen(f, "sample", &s->sample_h[1], -1.0);
    int *runs = open_up(&s->envelope_runs);
    const int right = *runs;
    *runs = s->runs + 1;
    assert_false(agrees(f));
    *runs = right;
}

static void wrong_remedies(const fixture *f)
{
    const ef_shift *s = f->shift;
    assert_true(s->remedy_count == 4);
    for (int i = 0; i < s->remedy_count; i++) {
        const ef_shift_remedy *remedy = &s->remedies[i];
        assert_more_seen(f, "now", &remedy->now);
        assert_more_seen(f, "then", &remedy->then);
        assert_seen(f, "gain", &remedy->gain_t.value, remedy->gain_t.high + 0.001);
        assert_seen(f, "low", &remedy->gain_t.low, remedy->gain_t.value + 0.001);
    }
    ef_shift_remedy *remedies = open_up(s->remedies);
    const ef_shift_remedy first = remedies[0];
    remedies[0] = remedies[3];
    remedies[3] = first;
    assert_false(agrees(f)); /* out of order */
    remedies[3] = remedies[0];
    remedies[0] = first;
    assert_true(agrees(f));
    remedies[1] = remedies[0];
    assert_false(agrees(f)); /* twice */
    int *count = open_up(&s->remedy_count);
    *count = 3;
    assert_false(agrees(f)); /* one is missing */
}

static void wrong_numbers_are_seen(bool weeks)
{
    fixture f = make(weeks);
    assert_true(agrees(&f));
    wrong_amounts(&f);
    wrong_hours(&f);
    wrong_cost(&f);
    wrong_levels(&f);
    assert_true(agrees(&f)); /* all put right again */
    wrong_remedies(&f);
    ef_shift_free(f.shift);
    ef_scenario_free(f.scenario);
}

static void every_wrong_number_of_a_shift_is_seen(void **state)
{
    (void)state;
    wrong_numbers_are_seen(false);
}

static void every_wrong_number_of_weeks_is_seen(void **state)
{
    (void)state;
    wrong_numbers_are_seen(true);
}

static bool comparison_agrees(const fixture *f, const ef_shift_comparison *comparison)
{
    char *differences = NULL;
    const ef_status status = ef_shift_comparison_verify(f->scenario, f->scenario, comparison, &differences);
    ef_report_free(differences);
    return status == EF_OK;
}

static void every_wrong_number_of_a_comparison_is_seen(void **state)
{
    (void)state;
    fixture f = make(false);
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 30;
    ef_shift_comparison *c;
    assert_int_equal(ef_shift_compare(f.scenario, f.scenario, &settings, &c, NULL), EF_OK);
    assert_true(comparison_agrees(&f, c));
    for (int s = 0; s < c->stream_count; s++) {
        const double *numbers[] = {&c->streams[s].here_t, &c->streams[s].there_t, &c->streams[s].more_t.value,
                                   &c->streams[s].more_t.low, &c->streams[s].more_t.high};
        for (int i = 0; i < 5; i++) {
            double *place = open_up(numbers[i]);
            const double right = *place;
            *place += 0.001;
            assert_false(comparison_agrees(&f, c));
            *place = right;
        }
    }
    c->better_share = 1.0 + 0.01;
    assert_false(comparison_agrees(&f, c));
    c->better_share = 0.0;
    const int shifts = c->shifts;
    c->shifts = shifts + 1;
    assert_false(comparison_agrees(&f, c));
    c->shifts = shifts;
    ef_shift_pair *pairs = open_up(c->stations);
    pairs[0].there = 1;
    assert_false(comparison_agrees(&f, c));
    pairs[0].there = 0;
    assert_true(comparison_agrees(&f, c));
    ef_shift_comparison_free(c);
    ef_shift_free(f.shift);
    ef_scenario_free(f.scenario);
}

/* ---- its statistics -------------------------------------------------------------------------------------
 */

static void students_distribution_is_that_of_gsl(void **state)
{
    (void)state;
    const double freedoms[] = {1.0, 2.0, 5.0, 19.0, 199.0, 1999.0, 99999.0};
    for (size_t i = 0; i < sizeof freedoms / sizeof freedoms[0]; i++) {
        for (int step = -4; step <= 4; step++) {
            const double t = 0.75 * step;
            assert_near_absolute(efi_sample_student(t, freedoms[i]), gsl_cdf_tdist_P(t, freedoms[i]), 1e-9);
        }
        assert_near(efi_sample_student_quantile(0.975, freedoms[i]), gsl_cdf_tdist_Pinv(0.975, freedoms[i]),
                    1e-8);
    }
}

/* Ranks by GSL's beta distribution: P(B >= u) = I_p(u, n - u + 1) (DLMF 8.17.5). */
static void limits_of_quantiles_are_those_of_the_beta_distribution(void **state)
{
    (void)state;
    enum {
        MOST = 20000
    };
    static double sorted[MOST];
    for (int i = 0; i < MOST; i++)
        sorted[i] = i + 1;
    const int counts[] = {2, 10, 29, 60, 500, 2000, MOST};
    const double points[] = {0.1, 0.5, 0.9};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        for (size_t k = 0; k < 3; k++) {
            const int n = counts[i];
            int low = 0;
            while (low < n && 1.0 - gsl_cdf_beta_P(points[k], low + 1.0, (double)n - low) <= 0.025)
                low++;
            int high = n + 1;
            while (high > 1 && gsl_cdf_beta_P(points[k], high - 1.0, n - high + 2.0) <= 0.025)
                high--;
            const efi_sample_limits limits = efi_sample_order(sorted, n, points[k], 0.95);
            assert_true(limits.low == (low >= 1 ? (double)low : -(double)INFINITY));
            assert_true(limits.high == (high <= n ? (double)high : (double)INFINITY));
        }
    }
}

static void sorting_sorts(void **state)
{
    (void)state;
    double values[100];
    for (int i = 0; i < 100; i++)
        values[i] = (i * 37) % 100;
    efi_sample_sort(values, 100);
    for (int i = 0; i < 100; i++)
        assert_true(values[i] == i);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_wrong_number_of_a_shift_is_seen),
        cmocka_unit_test(every_wrong_number_of_weeks_is_seen),
        cmocka_unit_test(every_wrong_number_of_a_comparison_is_seen),
        cmocka_unit_test(students_distribution_is_that_of_gsl),
        cmocka_unit_test(limits_of_quantiles_are_those_of_the_beta_distribution),
        cmocka_unit_test(sorting_sorts),
    };
    return cmocka_run_group_tests_name("verify shift", tests, NULL, NULL);
}
