/* SPDX-License-Identifier: GPL-3.0-or-later
 * Logs of totals: a case worked out by hand, a second solver, shares and off scales learned back from
 * invented logs, and verifiers that find what was made wrong. */
#include "base/random.h"

#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/outside_solver.h"
#include "../lib/scenarios.h"
#include "../lib/skip.h"

#include <evenfeed/learn.h>
#include <evenfeed/report.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char small_plant[] =
    "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, chaff: }\n"
    "crops: {wheat: {density: 0.8 t/m3, trade weight: 60 lb/bu, receipt: {seed: 90 %, chaff: 10 "
    "%}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 9 t/h, stops: {choke: {between: 10 h, lasts: 1 h}}, discharges: "
    "{chaff: {takes: "
    "{chaff: 100 %}, to: Out}, seed: {takes: rest, to: Shed}}}\n"
    "  Out: {kind: outlet}\n"
    "  Shed: {kind: outlet, product: yes}\n";

/* Two machines in a row, three scales more than needed. */
static const char row_plant[] =
    "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, light: , chaff: }\n"
    "crops: {wheat: {receipt: {seed: 88 %, light: 6 %, chaff: 6 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 12 t/h, discharges: {chaff: {takes: {chaff: 100 %}, to: Out}, "
    "seed: {takes: rest, "
    "to: Deck}}}\n"
    "  Deck: {kind: machine, capacity: 12 t/h, discharges: {lights: {takes: {light: 100 %}, to: Lights}, "
    "seed: {takes: rest, "
    "to: Shed}}}\n"
    "  Out: {kind: outlet}\n"
    "  Lights: {kind: outlet}\n"
    "  Shed: {kind: outlet, product: yes}\n";

typedef struct learned {
    ef_scenario *scenario;
    ef_diags *diags;
    ef_learn *learn;
} learned;

static ef_learn_settings settings_of(const char *totals, const char *stops)
{
    ef_learn_settings settings = ef_learn_defaults();
    settings.totals = (ef_learn_file){.name = "totals.csv", .bytes = totals, .length = strlen(totals)};
    if (stops)
        settings.stops = (ef_learn_file){.name = "stops.csv", .bytes = stops, .length = strlen(stops)};
    settings.resamples = 200;
    return settings;
}

static void is_verified(const learned *l)
{
    char *report = NULL;
    const ef_status verified = ef_learn_verify(l->scenario, l->learn, &report);
    if (verified != EF_OK)
        print_message("%s", report ? report : "(no report)\n");
    assert_int_equal(verified, EF_OK);
    ef_report_free(report);
}

static learned learn_from(const char *plant, const char *totals, const char *stops)
{
    const ef_learn_settings settings = settings_of(totals, stops);
    learned l = {.scenario = plant_read(plant), .diags = ef_diags_new()};
    assert_int_equal(ef_learn_solve(l.scenario, &settings, l.diags, &l.learn, NULL), EF_OK);
    is_verified(&l);
    return l;
}

static void learned_free(learned *l)
{
    ef_learn_free(l->learn);
    ef_diags_free(l->diags);
    ef_scenario_free(l->scenario);
}

static const ef_learn_scale *scale_of(const learned *l, const char *name)
{
    for (int i = 0; i < l->learn->scale_count; i++)
        if (strcmp(l->learn->scales[i].name, name) == 0)
            return &l->learn->scales[i];
    fail_msg("no scale %s", name);
    abort(); /* not reached: for the analyser */
}

static const ef_learn_share *share_of(const learned *l, const char *station, const char *discharge)
{
    for (int i = 0; i < l->learn->share_count; i++)
        if (strcmp(l->learn->shares[i].station, station) == 0 &&
            strcmp(l->learn->shares[i].discharge, discharge) == 0)
            return &l->learn->shares[i];
    fail_msg("no share %s %s", station, discharge);
    abort(); /* not reached: for the analyser */
}

/* By hand: 2 t are missing in the first interval. Each scale weighs by its median, 100, 90 and 10 t, so to
 * take 2 t off the cleaner costs 0.02, to add them to the shed 0.0222, to the chaff 0.2: the cleaner is
 * adjusted to 98 t. Shares of chaff: 8/98, 10/100, 11/110; weighted by feed the middle one is 0.1. Third
 * interval at 10 t/h. */
static const char hand_log[] = "from,to,station,tonnes\n"
                               "2026-09-01 06:00,2026-09-01 16:00,Cleaner,100\n"
                               "2026-09-01 06:00,2026-09-01 16:00,Shed,90\n"
                               "2026-09-01 06:00,2026-09-01 16:00,Out,8\n"
                               "2026-09-02 06:00,2026-09-02 16:00,Cleaner,100\n"
                               "2026-09-02 06:00,2026-09-02 16:00,Shed,90\n"
                               "2026-09-02 06:00,2026-09-02 16:00,Out,10\n"
                               "2026-09-03 06:00,2026-09-03 17:00,Cleaner,110\n"
                               "2026-09-03 06:00,2026-09-03 17:00,Shed,99\n"
                               "2026-09-03 06:00,2026-09-03 17:00,Out,11\n";

static void a_case_worked_out_by_hand_is_adjusted_where_that_costs_least(void **state)
{
    (void)state;
    learned l = learn_from(small_plant, hand_log, NULL);
    assert_near(scale_of(&l, "Cleaner")->measured_t, 310.0, 1e-9);
    assert_near(scale_of(&l, "Cleaner")->adjusted_t, 308.0, 1e-6);
    assert_near(scale_of(&l, "Shed")->adjusted_t, 279.0, 1e-6);
    assert_near(scale_of(&l, "Out")->adjusted_t, 29.0, 1e-6);
    assert_near(l.learn->objective, 0.02, 1e-6);
    assert_int_equal(scale_of(&l, "Cleaner")->down, 1);
    assert_true(scale_of(&l, "Cleaner")->checked);
    assert_false(scale_of(&l, "Cleaner")->seems_off);
    assert_near(share_of(&l, "Cleaner", "chaff")->share.value, 0.1, 1e-6);
    assert_near(share_of(&l, "Cleaner", "seed")->share.value, 0.9, 1e-6);
    assert_near(share_of(&l, "Cleaner", "chaff")->scenario_share, 0.1, 1e-12);
    /* 310 t in 31 h, capacity 9 t/h; three intervals are too few for limits */
    assert_near(scale_of(&l, "Cleaner")->rate_tph.value, 10.0, 1e-6);
    assert_false(scale_of(&l, "Cleaner")->capacity_disagrees);
    learned_free(&l);
}

/* The same totals in other units, out of order: 100 t are 3674.37... bu of 60 lb. */
static void units_and_order_of_the_rows_make_no_difference(void **state)
{
    (void)state;
    learned l = learn_from(small_plant,
                           "to;outlet;from;amount\n"
                           "2026-09-02 16:00;Cleaner;2026-09-02 06:00;220462.262184878 lb\n"
                           "2026-09-02 16:00;Shed;2026-09-02 06:00;90\n"
                           "2026-09-02 16:00;Cleaner.chaff;2026-09-02 06:00;10,0\n"
                           "2026-09-01 16:00;Cleaner;2026-09-01 06:00;3674.37103641463 bu\n"
                           "2026-09-01 16:00;Shed;2026-09-01 06:00;90 t\n"
                           "2026-09-01 16:00;Cleaner.chaff;2026-09-01 06:00;8000 kg\n",
                           NULL);
    assert_near(scale_of(&l, "Cleaner")->measured_t, 200.0, 1e-9);
    assert_near(scale_of(&l, "Cleaner.chaff")->measured_t, 18.0, 1e-9);
    assert_near(scale_of(&l, "Cleaner")->adjusted_t, 198.0, 1e-6);
    assert_int_equal(ef_diags_count(l.diags), 4); /* three rows out of order, a decimal comma */
    learned_free(&l);
}

/* 70 t in 8 h of which the machine stood for one: 10 t/h, above the capacity of 9. */
static void stops_are_taken_off_the_hours_of_a_rate(void **state)
{
    (void)state;
    char totals[2000] = "from,to,station,tonnes\n";
    char stops[2000] = "station,from,to,reason\n";
    size_t t = strlen(totals), s = strlen(stops);
    for (int day = 1; day <= 6; day++) {
        t += (size_t)snprintf(totals + t, sizeof totals - t,
                              "2026-09-%02d 06:00,2026-09-%02d 14:00,Cleaner,70\n", day, day);
        s += (size_t)snprintf(stops + s, sizeof stops - s,
                              "Cleaner,2026-09-%02d 09:00,2026-09-%02d 10:00,choke\n", day, day);
    }
    learned l = learn_from(small_plant, totals, stops);
    const ef_learn_scale *cleaner = scale_of(&l, "Cleaner");
    assert_near(cleaner->running_h, 42.0, 1e-9);
    assert_near(cleaner->rate_tph.value, 10.0, 1e-6);
    assert_near(cleaner->rate_tph.low, 10.0, 1e-6);
    assert_true(cleaner->capacity_disagrees);
    assert_false(cleaner->checked);
    assert_false(share_of(&l, "Cleaner", "chaff")->seen);
    /* without a calendar the totals tell when it ran: 3 h before the first stop are not watched, 4 + 3 h
     * between two */
    assert_near(l.learn->stations[0].stops[0].between.exact_h[0], 7.0, 1e-9);
    learned_free(&l);
}

/* ---- logs made from what is known -----------------------------------------------------------------------
 */

typedef struct made {
    double chaff, lights; /* shares */
    double spread;        /* of the shares, from interval to interval */
    double noise;         /* of each scale */
    double deck_off;      /* the deck's scale shows so much more */
    int intervals;
} made;

static double spread_by(efi_random *random, double spread)
{
    return 1.0 + spread * (efi_random_uniform(random) + efi_random_uniform(random) - 1.0);
}

static void make_log(const made *from, uint64_t replication, char *text, size_t room)
{
    efi_random random = efi_random_stream(20261125, replication, 1);
    size_t used = (size_t)snprintf(text, room, "from,to,station,tonnes\n");
    for (int i = 0; i < from->intervals; i++) {
        const double feed = 60.0 + 30.0 * efi_random_uniform(&random);
        const double chaff = feed * from->chaff * spread_by(&random, from->spread);
        const double deck = feed - chaff;
        const double lights = deck * from->lights * spread_by(&random, from->spread);
        const double shown[] = {feed, chaff, deck * (1.0 + from->deck_off), lights, deck - lights};
        static const char *const names[] = {"Cleaner", "Out", "Deck", "Lights", "Shed"};
        for (int k = 0; k < 5; k++)
            used += (size_t)snprintf(
                text + used, room - used, "2026-%02d-%02d 06:00,2026-%02d-%02d 14:00,%s,%.4f\n", 1 + i / 28,
                1 + i % 28, 1 + i / 28, 1 + i % 28, names[k], shown[k] * spread_by(&random, from->noise));
        assert_true(used < room - 1000);
    }
}

static void totals_without_errors_give_back_the_shares_they_were_made_with(void **state)
{
    (void)state;
    static char text[100000];
    const made from = {.chaff = 0.05, .lights = 0.08, .intervals = 30};
    make_log(&from, 0, text, sizeof text);
    learned l = learn_from(row_plant, text, NULL);
    assert_near_absolute(share_of(&l, "Cleaner", "chaff")->share.value, 0.05, 1e-5);
    assert_near_absolute(share_of(&l, "Deck", "lights")->share.value, 0.08, 1e-5);
    assert_true(l.learn->objective < 1e-3);
    learned_free(&l);
}

static void the_scale_that_shows_too_much_is_the_one_that_seems_off(void **state)
{
    (void)state;
    static char text[100000];
    int named = 0;
    int others = 0;
    for (uint64_t i = 0; i < 20; i++) {
        const made from = {0.05, 0.08, 0.1, 0.004, 0.02, 30};
        make_log(&from, i, text, sizeof text);
        learned l = learn_from(row_plant, text, NULL);
        named += scale_of(&l, "Deck")->seems_off && scale_of(&l, "Deck")->off_share < 0.0;
        others += scale_of(&l, "Cleaner")->seems_off + scale_of(&l, "Out")->seems_off +
                  scale_of(&l, "Lights")->seems_off + scale_of(&l, "Shed")->seems_off;
        learned_free(&l);
    }
    print_message("named in %d of 20 logs, others in %d (seed 20261125)\n", named, others);
    assert_int_equal(named, 20);
    assert_int_equal(others, 0);
}

/* With one balance for three scales an error of one looks like one of each other; of five with two balances
 * the deck's, which stands in both, looks like no other, and the other four in pairs. */
static void scales_that_balances_cannot_tell_apart_are_said_to_be_so(void **state)
{
    (void)state;
    static char text[100000];
    learned l = learn_from(small_plant, hand_log, NULL);
    for (int p = 0; p < 3; p++)
        assert_int_equal(l.learn->scales[p].rival_count, 2);
    learned_free(&l);
    const made from = {0.05, 0.08, 0.1, 0.004, 0.02, 10};
    make_log(&from, 0, text, sizeof text);
    l = learn_from(row_plant, text, NULL);
    assert_int_equal(scale_of(&l, "Deck")->rival_count, 0);
    assert_int_equal(scale_of(&l, "Cleaner")->rival_count, 1);
    assert_string_equal(scale_of(&l, "Cleaner")->rivals[0], "Out");
    assert_int_equal(scale_of(&l, "Shed")->rival_count, 1);
    assert_string_equal(scale_of(&l, "Shed")->rivals[0], "Lights");
    learned_free(&l);
}

static void scales_that_are_right_do_not_seem_off(void **state)
{
    (void)state;
    static char text[100000];
    int wrong = 0;
    for (uint64_t i = 0; i < 20; i++) {
        const made from = {0.05, 0.08, 0.1, 0.01, 0.0, 30};
        make_log(&from, i, text, sizeof text);
        learned l = learn_from(row_plant, text, NULL);
        for (int p = 0; p < l.learn->scale_count; p++)
            wrong += l.learn->scales[p].seems_off;
        learned_free(&l);
    }
    assert_int_equal(wrong, 0);
}

/* Shares that spread evenly about their middle; 95 % of 200 are 190 with a standard deviation of 3.1. */
static void limits_of_shares_hold_what_the_logs_were_made_with(void **state)
{
    (void)state;
    enum {
        LOGS = 200
    };
    static char text[100000];
    int chaff = 0;
    int lights = 0;
    ef_scenario *scenario = plant_read(row_plant);
    for (uint64_t i = 0; i < LOGS; i++) {
        const made from = {0.05, 0.08, 0.3, 0.004, 0.0, 30};
        make_log(&from, i, text, sizeof text);
        const ef_learn_settings settings = settings_of(text, NULL);
        learned l = {.diags = ef_diags_new()};
        assert_int_equal(ef_learn_solve(scenario, &settings, l.diags, &l.learn, NULL), EF_OK);
        const ef_learn_limits c = share_of(&l, "Cleaner", "chaff")->share;
        const ef_learn_limits d = share_of(&l, "Deck", "lights")->share;
        chaff += c.low <= 0.05 && 0.05 <= c.high;
        lights += d.low <= 0.08 && 0.08 <= d.high;
        ef_learn_free(l.learn);
        ef_diags_free(l.diags);
    }
    ef_scenario_free(scenario);
    print_message("of %d logs %d hold the share of chaff, %d that of lights (seed 20261125)\n", LOGS, chaff,
                  lights);
    assert_in_range(chaff, 176, 199);
    assert_in_range(lights, 176, 199);
}

/* ---- another solver -------------------------------------------------------------------------------------
 */

/* The program of the two machines in a row, written here by hand for clp: columns of interval i are F
 * (cleaner), C (chaff), D (deck), L (lights), S (shed) and their adjustments up and down. */
static char *mps_of(const ef_learn *learn, const double *median)
{
    static const char *const names[] = {"Cleaner", "Out", "Deck", "Lights", "Shed"};
    static const char letter[] = "FCDLS";
    const size_t room = 4000 + (size_t)learn->interval_count * 2500;
    char *text = malloc(room);
    assert_non_null(text);
    size_t used = (size_t)snprintf(text, room, "NAME LAD\nROWS\n N COST\n");
    for (int i = 0; i < learn->interval_count; i++) {
        used += (size_t)snprintf(text + used, room - used, " E B1_%d\n E B2_%d\n", i, i);
        for (int k = 0; k < 5; k++)
            used += (size_t)snprintf(text + used, room - used, " E M%c_%d\n", letter[k], i);
    }
    used += (size_t)snprintf(text + used, room - used, "COLUMNS\n");
    for (int i = 0; i < learn->interval_count; i++)
        for (int k = 0; k < 5; k++) {
            /* cleaner = chaff + deck; deck = lights + shed */
            if (k == 0 || k == 1)
                used += (size_t)snprintf(text + used, room - used, " %c_%d B1_%d %d\n", letter[k], i, i,
                                         k == 0 ? 1 : -1);
            if (k == 2)
                used += (size_t)snprintf(text + used, room - used, " D_%d B1_%d -1 B2_%d 1\n", i, i, i);
            if (k >= 3)
                used += (size_t)snprintf(text + used, room - used, " %c_%d B2_%d -1\n", letter[k], i, i);
            used += (size_t)snprintf(text + used, room - used, " %c_%d M%c_%d 1\n", letter[k], i, letter[k],
                                     i);
            used += (size_t)snprintf(text + used, room - used, " U%c_%d COST %.17g M%c_%d -1\n", letter[k], i,
                                     1.0 / median[k], letter[k], i);
            used += (size_t)snprintf(text + used, room - used, " N%c_%d COST %.17g M%c_%d 1\n", letter[k], i,
                                     1.0 / median[k], letter[k], i);
        }
    used += (size_t)snprintf(text + used, room - used, "RHS\n");
    for (int i = 0; i < learn->interval_count; i++)
        for (int k = 0; k < 5; k++)
            for (int p = 0; p < learn->scale_count; p++)
                if (strcmp(learn->scales[p].name, names[k]) == 0)
                    used += (size_t)snprintf(text + used, room - used, " R M%c_%d %.17g\n", letter[k], i,
                                             learn->intervals[i].measured_t[p]);
    (void)snprintf(text + used, room - used, "ENDATA\n");
    return text;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void another_solver_finds_no_smaller_sum_of_adjustments(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("clp is not installed");
    static char text[100000];
    static const char *const names[] = {"Cleaner", "Out", "Deck", "Lights", "Shed"};
    for (uint64_t i = 0; i < 5; i++) {
        const made from = {0.05, 0.08, 0.2, 0.03, 0.01, 25};
        make_log(&from, 100 + i, text, sizeof text);
        learned l = learn_from(row_plant, text, NULL);
        double median[5];
        double sorted[25];
        for (int k = 0; k < 5; k++) {
            const int p = (int)(scale_of(&l, names[k]) - l.learn->scales);
            for (int n = 0; n < 25; n++)
                sorted[n] = l.learn->intervals[n].measured_t[p];
            qsort(sorted, 25, sizeof *sorted, rising);
            median[k] = sorted[12];
        }
        char *mps = mps_of(l.learn, median);
        char *path = scratch_path("lad.mps");
        file_write(path, mps, strlen(mps));
        const outside_result outside = outside_solver_run(path);
        assert_int_equal(outside.outcome, OUTSIDE_OPTIMAL);
        assert_true(outside.objective > 0.01);
        assert_near_relative(l.learn->objective, outside.objective, 1e-5);
        free(path);
        free(mps);
        learned_free(&l);
    }
}

/* ---- the verifier ---------------------------------------------------------------------------------------
 */

static void finds_differences(const learned *l, const ef_learn *changed)
{
    char *report = NULL;
    assert_int_equal(ef_learn_verify(l->scenario, changed, &report), EF_INTERNAL);
    assert_non_null(report);
    assert_true(strlen(report) > 20);
    ef_report_free(report);
}

static void the_verifier_finds_totals_that_were_made_wrong(void **state)
{
    (void)state;
    learned l = learn_from(small_plant, hand_log, NULL);
    ef_learn wrong = *l.learn;
    ef_learn_interval intervals[3];
    double flow[8];
    memcpy(intervals, l.learn->intervals, sizeof intervals);
    memcpy(flow, intervals[1].flow_t, (size_t)l.learn->spout_count * sizeof *flow);
    flow[1] += 0.01;
    intervals[1].flow_t = flow;
    wrong.intervals = intervals;
    finds_differences(&l, &wrong);

    wrong = *l.learn;
    wrong.objective = 0.03;
    finds_differences(&l, &wrong);

    /* balanced, but not the least: the shed adjusted in place of the cleaner */
    double adjusted[3];
    double other_flow[8];
    memcpy(intervals, l.learn->intervals, sizeof intervals);
    memcpy(adjusted, intervals[0].measured_t, sizeof adjusted);
    memcpy(other_flow, intervals[0].flow_t, (size_t)l.learn->spout_count * sizeof *other_flow);
    ef_learn_scale scales[3];
    memcpy(scales, l.learn->scales, sizeof scales);
    for (int p = 0; p < 3; p++)
        if (strcmp(scales[p].name, "Shed") == 0) {
            adjusted[p] += 2.0;
            scales[p].adjusted_t = 281.0;
        } else if (strcmp(scales[p].name, "Cleaner") == 0) {
            scales[p].adjusted_t = 310.0;
        }
    for (int k = 0; k < l.learn->spout_count; k++)
        if (strcmp(l.learn->spouts[k].discharge, "chaff") != 0)
            other_flow[k] += 2.0;
    intervals[0].adjusted_t = adjusted;
    intervals[0].flow_t = other_flow;
    wrong = *l.learn;
    wrong.scales = scales;
    wrong.intervals = intervals;
    wrong.objective = 2.0 / 90.0;
    finds_differences(&l, &wrong);

    ef_learn_share shares[2];
    memcpy(shares, l.learn->shares, sizeof shares);
    shares[0].share.value += 0.002;
    shares[1].share.value -= 0.002;
    shares[0].share.high = shares[1].share.high = 1.0;
    shares[0].share.low = shares[1].share.low = 0.0;
    wrong = *l.learn;
    wrong.shares = shares;
    finds_differences(&l, &wrong);
    learned_free(&l);
}

static const char many_stops_plant[] = "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: "
                                       "yes}}\ncrops: {wheat: {receipt: {seed: 100 %}}}\n"
                                       "stations:\n  Pit: {kind: intake, capacity: 40 t/h, to: Deck}\n"
                                       "  Deck: {kind: machine, capacity: 9 t/h, stops: {choke: {between: 10 "
                                       "h, counts: clock, lasts: 1 h}}, to: Shed}\n"
                                       "  Shed: {kind: outlet, product: yes}\n";

/* Each field in turn is made wrong by a little. */
static void the_verifier_finds_stops_that_were_made_wrong(void **state)
{
    (void)state;
    char log[4000] = "station,from,to\n";
    size_t used = strlen(log);
    for (int i = 0; i < 30; i++)
        used += (size_t)snprintf(log + used, sizeof log - used,
                                 "Deck,2026-09-%02d %02d:00:01,2026-09-%02d %02d:%02d:02\n", 1 + i % 30,
                                 6 + (i * i) % 7, 1 + i % 30, 6 + (i * i) % 7, 7 + (i * 17) % 50);
    ef_learn_settings settings = settings_of("", log);
    settings.totals = (ef_learn_file){0};
    learned l = {.scenario = plant_read(many_stops_plant), .diags = ef_diags_new()};
    assert_int_equal(ef_learn_solve(l.scenario, &settings, l.diags, &l.learn, NULL), EF_OK);
    is_verified(&l);
    const ef_learn_stop *good = &l.learn->stations[0].stops[0];
    assert_int_equal(good->lasts.form_count, 4);
    for (int change = 0; change < 11; change++) {
        ef_learn wrong = *l.learn;
        ef_learn_station station = l.learn->stations[0];
        ef_learn_stop stop = *good;
        ef_learn_form forms[4];
        double exact[30];
        memcpy(forms, good->lasts.forms, sizeof forms);
        memcpy(exact, good->between.exact_h, (size_t)good->between.exact_count * sizeof *exact);
        station.stops = &stop;
        wrong.stations = &station;
        stop.lasts.forms = forms;
        stop.between.exact_h = exact;
        const int best = good->lasts.best;
        switch (change) {
        case 0:
            exact[3] += 0.01;
            break;
        case 1:
            forms[1].mean_h *= 1.02;
            break;
        case 2:
            forms[2].log_likelihood += 0.01;
            break;
        case 3:
            stop.lasts.best = best == 0 ? 1 : best - 1;
            break;
        case 4:
            stop.lasts.mean_h.high *= 1.05;
            break;
        case 5:
            stop.lasts.mean_h.low *= 0.95;
            break;
        case 6:
            stop.between.enough = !stop.between.enough;
            break;
        case 7:
            stop.lasts.mean_disagrees = !stop.lasts.mean_disagrees;
            break;
        case 8:
            stop.lost_h += 0.5;
            break;
        case 9:
            stop.stops++;
            break;
        default:
            wrong.rows_used--;
            break;
        }
        print_message("change %d\n", change);
        finds_differences(&l, &wrong);
    }
    learned_free(&l);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_case_worked_out_by_hand_is_adjusted_where_that_costs_least),
        cmocka_unit_test(units_and_order_of_the_rows_make_no_difference),
        cmocka_unit_test(stops_are_taken_off_the_hours_of_a_rate),
        cmocka_unit_test(totals_without_errors_give_back_the_shares_they_were_made_with),
        cmocka_unit_test(the_scale_that_shows_too_much_is_the_one_that_seems_off),
        cmocka_unit_test(scales_that_balances_cannot_tell_apart_are_said_to_be_so),
        cmocka_unit_test(scales_that_are_right_do_not_seem_off),
        cmocka_unit_test(limits_of_shares_hold_what_the_logs_were_made_with),
        cmocka_unit_test(another_solver_finds_no_smaller_sum_of_adjustments),
        cmocka_unit_test(the_verifier_finds_totals_that_were_made_wrong),
        cmocka_unit_test(the_verifier_finds_stops_that_were_made_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
