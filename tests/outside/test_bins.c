/* SPDX-License-Identifier: GPL-3.0-or-later
 * The event engine against closed solutions of single bins: the tables of tests/outside/data/bins (on/off
 * source: Kosten 1974, Anick, Mitra and Sondhi 1982; steady feed and loads: finite dam, Takacs; queues:
 * textbook formulas; timetables by hand), judged by z scores of batch means and, as those ask, 0.5 % of a
 * mean level and 0.003 of a probability. */
#include "../lib/lines.h"
#include "../lib/near.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define FIELDS 24

enum {
    EMPTY,
    FULL,
    LEVEL,
    ABOVE,
    THROUGH,
    SPILLED,
    METRICS
};

static const char *const metric_words[METRICS] = {"empty", "full",       "mean level",
                                                  "above", "throughput", "spilled"};

/* Station numbers of a measured case; spill -1: what an intake with instant loads spills. */
typedef struct bin_case {
    int intake;
    int bin;
    int drain;
    int spill;
} bin_case;

static double measure_bin(const efi_engine *engine, const void *context, int metric, double hours)
{
    const bin_case *one = context;
    efi_account bin;
    efi_account intake;
    efi_account other;
    efi_engine_read(engine, one->bin, &bin);
    efi_engine_read(engine, one->intake, &intake);
    switch (metric) {
    case EMPTY:
        return bin.empty_h / hours;
    case FULL:
        return bin.full_h / hours;
    case LEVEL:
        return bin.level_th / hours;
    case ABOVE:
        return bin.above_h / hours;
    case THROUGH:
        efi_engine_read(engine, one->drain, &other);
        return other.in_t / hours;
    default:
        if (one->spill < 0)
            return intake.spilled_t / (intake.in_t + intake.spilled_t);
        efi_engine_read(engine, one->spill, &other);
        return other.in_t / intake.in_t;
    }
}

static void judge_metric(lines_scores *scores, const char *name, int metric, double mean, double error,
                         double value)
{
    lines_judge(scores, name, metric_words[metric], mean, error, value);
    const double allowed = (metric == LEVEL || metric == THROUGH ? 0.005 * value : 0.003) + 3.0 * error;
    if (!(fabs(mean - value) <= allowed))
        fail_msg("%s %s: %.7g, expected %.7g", name, metric_words[metric], mean, value);
}

/* The time scale on which a level forgets, roughly: (peak rate)^2 burst / (slack)^2; batches of many of
 * those. */
static lines_batches batches_of(double scale_h)
{
    return (lines_batches){lines_is_soak() ? 400 : 60, 400.0 * scale_h, 400.0 * scale_h};
}

/* ---- on/off source, spilling ------------------------------------------------------------------- */

static void a_stop_and_go_source_meets_the_fluid_queue(void **state)
{
    (void)state;
    FILE *table = lines_open_table("bins/onoff-source.csv");
    char room[512];
    char *field[FIELDS];
    lines_scores scores = {0};
    int rows = 0;
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 15) {
        const double on_tph = lines_number(field[1]);
        const double off_per_h = lines_number(field[2]);
        const double on_per_h = lines_number(field[3]);
        const double drain_tph = lines_number(field[4]);
        const double size_t_ = lines_number(field[5]);
        const bool is_endless = !(size_t_ < INFINITY);
        const efi_stop_mode off = {.gap = {EFI_EXPONENTIAL, 1.0 / off_per_h, 0.0},
                                   .duration = {EFI_EXPONENTIAL, 1.0 / on_per_h, 0.0}};
        const efi_network_station station[] = {
            {.kind = EFI_NETWORK_INTAKE,
             .key = 0,
             .capacity_tph = on_tph,
             .machines = 1,
             .modes = 1,
             .mode = &off},
            {.kind = EFI_NETWORK_SPLIT, .key = 1, .split = EFI_NETWORK_FIRST, .capacity_tph = INFINITY},
            {.kind = EFI_NETWORK_BIN, .key = 2, .bin = {.full_t = size_t_, .refill_t = size_t_}},
            {.kind = EFI_NETWORK_OUTLET, .key = 3, .capacity_tph = drain_tph, .machines = 1},
            {.kind = EFI_NETWORK_OUTLET, .key = 4, .capacity_tph = INFINITY, .machines = 1},
        };
        const efi_network_spout spout[] = {{.from = 0, .to = 1, .share = 1.0},
                                           {.from = 1, .to = 2},
                                           {.from = 2, .to = 3},
                                           {.from = 1, .to = 4}};
        const efi_network network = {.stations = 5, .station = station, .spouts = 4, .spout = spout};
        const bin_case one = {.intake = 0, .bin = 2, .drain = 3, .spill = 4};
        const double decay = lines_number(field[7]);
        const double scale_h = is_endless ? 4.0 / (decay * drain_tph)
                                          : 2.0 * (size_t_ / drain_tph + 1.0 / on_per_h);
        const lines_batches batches = batches_of(scale_h);
        double mean[METRICS];
        double error[METRICS];
        lines_run_watching(&network, 11, &batches, one.bin, lines_number(field[6]), measure_bin, &one,
                           METRICS, mean, error);
        for (int m = 0; m < METRICS; m++)
            judge_metric(&scores, field[0], m, mean[m], error[m], lines_number(field[9 + m]));
        rows++;
    }
    fclose(table);
    assert_int_equal(rows, 8);
    assert_true(lines_scores_good(&scores));
}

/* ---- steady feed before an unreliable machine -------------------------------------------------- */

static void a_steady_feed_before_an_unreliable_machine_meets_the_closed_solution(void **state)
{
    (void)state;
    FILE *table = lines_open_table("bins/steady-feed.csv");
    char room[512];
    char *field[FIELDS];
    lines_scores scores = {0};
    int rows = 0;
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 11) {
        lines_line line = {.machines = 2, .counts_clock = strcmp(field[1], "TDF") == 0};
        line.speed[0] = lines_number(field[2]);
        line.speed[1] = lines_number(field[3]);
        line.fail_per_h[1] = lines_number(field[4]);
        line.repair_per_h[0] = line.repair_per_h[1] = lines_number(field[5]);
        line.bin[0] = lines_number(field[6]);
        lines_describe(&line);
        const bin_case one = {.intake = 0, .bin = 1, .drain = 2, .spill = -1};
        const lines_batches batches = batches_of(4.0 / line.fail_per_h[1] + line.bin[0]);
        static const int metric[] = {THROUGH, LEVEL, EMPTY, FULL};
        double mean[METRICS];
        double error[METRICS];
        lines_run(&line.network, 12, &batches, measure_bin, &one, THROUGH + 1, mean, error);
        for (int k = 0; k < 4; k++)
            judge_metric(&scores, field[0], metric[k], mean[metric[k]], error[metric[k]],
                         lines_number(field[7 + k]));
        rows++;
    }
    fclose(table);
    assert_int_equal(rows, 5);
    assert_true(lines_scores_good(&scores));
}

/* ---- loads dumped at once ---------------------------------------------------------------------- */

static void whole_loads_into_a_bin_meet_the_finite_dam(void **state)
{
    (void)state;
    FILE *table = lines_open_table("bins/truck-arrivals.csv");
    char room[512];
    char *field[FIELDS];
    lines_scores scores = {0};
    int rows = 0;
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 12) {
        const double load_t = lines_number(field[3]);
        const double drain_tph = lines_number(field[4]);
        const double size_t_ = lines_number(field[5]);
        const double load_rho = lines_number(field[7]);
        const bool is_fixed = strcmp(field[1], "fixed") == 0;
        const efi_network_station station[] = {
            {.kind = EFI_NETWORK_INTAKE,
             .key = 0,
             .machines = 1,
             .loads = {.is_used = true,
                       .is_instant = true,
                       .gap_h = {EFI_EXPONENTIAL, 1.0 / lines_number(field[2]), 0.0},
                       .load_t = {is_fixed ? EFI_FIXED : EFI_EXPONENTIAL, load_t, 0.0}}},
            {.kind = EFI_NETWORK_BIN, .key = 1, .bin = {.full_t = size_t_, .refill_t = size_t_}},
            {.kind = EFI_NETWORK_OUTLET, .key = 2, .capacity_tph = drain_tph, .machines = 1},
        };
        const efi_network_spout spout[] = {{.from = 0, .to = 1, .share = 1.0}, {.from = 1, .to = 2}};
        const efi_network network = {.stations = 3, .station = station, .spouts = 2, .spout = spout};
        const bin_case one = {.intake = 0, .bin = 1, .drain = 2, .spill = -1};
        const double slack = 1.0 - load_rho;
        const lines_batches batches = batches_of(8.0 * load_t / drain_tph / (slack * slack));
        static const int metric[] = {EMPTY, LEVEL, ABOVE, SPILLED};
        double mean[METRICS];
        double error[METRICS];
        lines_run_watching(&network, 13, &batches, one.bin, lines_number(field[6]), measure_bin, &one,
                           METRICS, mean, error);
        for (int k = 0; k < 4; k++)
            judge_metric(&scores, field[0], metric[k], mean[metric[k]], error[metric[k]],
                         lines_number(field[8 + k]));
        rows++;
    }
    fclose(table);
    assert_int_equal(rows, 6);
    assert_true(lines_scores_good(&scores));
}

/* ---- queues of trucks at a pit ----------------------------------------------------------------- */

/* Pits that dump 1 t/h each: a load of x tonnes takes x hours. */
typedef struct pit {
    efi_network_station station[2];
    efi_network_spout spout[1];
    efi_network network;
} pit;

static void describe_pits(pit *p, int pits, double arrivals_per_h, double dumped_tph, bool is_fixed,
                          int queue_limit)
{
    *p = (pit){0};
    p->station[0] = (efi_network_station){
        .kind = EFI_NETWORK_INTAKE,
        .capacity_tph = dumped_tph,
        .machines = pits,
        .loads = {.is_used = true,
                  .gap_h = {EFI_EXPONENTIAL, 1.0 / arrivals_per_h, 0.0},
                  .load_t = {is_fixed ? EFI_FIXED : EFI_EXPONENTIAL, 1.0, 0.0},
                  .queue_limit = queue_limit}};
    p->station[1] = (efi_network_station){
        .kind = EFI_NETWORK_OUTLET, .key = 1, .capacity_tph = INFINITY, .machines = 1};
    p->spout[0] = (efi_network_spout){.from = 0, .to = 1, .share = 1.0};
    p->network = (efi_network){.stations = 2, .station = p->station, .spouts = 1, .spout = p->spout};
}

static void describe_pit(pit *p, double arrivals_per_h, double dumped_tph, bool is_fixed, int queue_limit)
{
    describe_pits(p, 1, arrivals_per_h, dumped_tph, is_fixed, queue_limit);
}

/* 0: share turned away; 1: mean number waiting or being dumped; 2: mean number waiting; 3: mean wait by
 * Little's law. */
static double measure_pit(const efi_engine *engine, const void *context, int metric, double hours)
{
    efi_account account;
    efi_engine_read(engine, 0, &account);
    const double busy = account.in_t / (hours * ((const pit *)context)->station[0].capacity_tph);
    const double mean = account.queue_h / hours;
    switch (metric) {
    case 0:
        return (double)account.turned_away / (double)account.arrivals;
    case 1:
        return mean;
    case 2:
        return mean - busy;
    default:
        return (mean - busy) * hours / (double)account.arrivals;
    }
}

static double number_after(const char *text, const char *key)
{
    const char *at = strstr(text, key);
    return at ? strtod(at + strlen(key), NULL) : 0.0;
}

static void trucks_at_a_pit_meet_the_queue_formulas(void **state)
{
    (void)state;
    FILE *table = lines_open_table("bins/queues.csv");
    char room[256];
    char *field[FIELDS];
    lines_scores scores = {0};
    const lines_batches batches = {lines_is_soak() ? 400 : 60, 2e4, 1e3};
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 5) {
        const bool is_limited = strcmp(field[1], "M/M/1/K") == 0;
        const bool is_several = strncmp(field[1], "M/M/c", 5) == 0;
        if (!is_limited && !is_several && strcmp(field[1], "M/D/1") != 0)
            continue; /* uniform load sizes: not in the engine */
        static const char *const what[] = {"blocking_probability", "mean_in_system", "mean_in_queue",
                                           "mean_wait"};
        int metric = 0;
        while (metric < 4 && strcmp(field[3], what[metric]) != 0)
            metric++;
        if (metric == 4)
            continue; /* the distribution of waits is not measured */
        pit p;
        if (is_several) /* M/M/c/c: nobody waits */
            describe_pits(&p, (int)number_after(field[2], "servers="), number_after(field[2], "offered="),
                          1.0, false, strcmp(field[1], "M/M/c/c") == 0 ? 0 : -1);
        else if (is_limited)
            describe_pit(&p, number_after(field[2], "lambda="), number_after(field[2], "mu="), false,
                         (int)number_after(field[2], "K=") - 1);
        else
            describe_pit(&p, number_after(field[2], "lambda="), 1.0 / number_after(field[2], "D="), true, -1);
        double mean[4];
        double error[4];
        lines_run(&p.network, 14, &batches, measure_pit, &p, 4, mean, error);
        lines_judge(&scores, field[0], field[3], mean[metric], error[metric], lines_number(field[4]));
    }
    fclose(table);
    assert_int_equal(scores.cases, 13);
    assert_true(lines_scores_good(&scores));
}

static void a_harvest_queue_at_one_pit_meets_the_textbook(void **state)
{
    (void)state;
    /* Wheat harvest unloading, a management-science textbook problem: arrivals 30 trucks/h, unloading 35
     * trucks/h, both random: L = 6 trucks, Lq = 5.143, waiting before unloading 10.2857 min. */
    pit p;
    describe_pit(&p, 30.0, 35.0, false, -1);
    const lines_batches batches = {60, 4e3, 1e2};
    double mean[4];
    double error[4];
    lines_run(&p.network, 15, &batches, measure_pit, &p, 4, mean, error);
    lines_scores scores = {0};
    lines_judge(&scores, "harvest", "trucks", mean[1], error[1], 6.0);
    lines_judge(&scores, "harvest", "waiting", mean[2], error[2], 36.0 / 7.0);
    lines_judge(&scores, "harvest", "wait, h", mean[3], error[3], 10.285714 / 60.0);
    assert_true(scores.above_two == 0);
    assert_near_relative(mean[1], 6.0, 0.02);
}

/* ---- timetables -------------------------------------------------------------------------------- */

/* Smallest and greatest level at events, and the hours the drain has stood without material. */
typedef struct range {
    int bin;
    double least;
    double most;
} range;

static void note_range(void *context, const efi_engine *engine, const efi_event *event)
{
    (void)event;
    range *r = context;
    const double level = efi_engine_level_t(engine, r->bin);
    r->least = level < r->least ? level : r->least;
    r->most = level > r->most ? level : r->most;
}

static range run_range(const efi_network *network, int bin, double from_h, double until_h)
{
    efi_engine *engine = NULL;
    efi_trouble trouble;
    assert_int_equal(efi_engine_build(network, NULL, &engine, &trouble), EF_OK);
    range r = {bin, INFINITY, -INFINITY};
    efi_engine_start(engine, 1, 0);
    assert_int_equal(efi_engine_run(engine, from_h, &trouble), EF_OK);
    efi_engine_watch(engine, note_range, &r);
    assert_int_equal(efi_engine_run(engine, until_h, &trouble), EF_OK);
    efi_engine_free(engine);
    return r;
}

/* Steady inflow all day, a drain that works from `opens_h` to `closes_h`: the range of the level. */
static double daily_range_t(double inflow_tph, double drain_tph, double opens_h, double closes_h)
{
    const double closed_at_h[] = {closes_h};
    const efi_stop_mode night = {.schedule = EFI_STOPS_AT,
                                 .cause = EFI_CAUSE_CLOSED,
                                 .duration = {EFI_FIXED, 24.0 - closes_h + opens_h, 0.0},
                                 .ats = 1,
                                 .at_h = closed_at_h,
                                 .period_h = 24.0};
    const efi_network_station station[] = {
        {.kind = EFI_NETWORK_INTAKE, .capacity_tph = inflow_tph, .machines = 1},
        {.kind = EFI_NETWORK_BIN, .key = 1, .bin = {.full_t = 1e4, .start_t = 5e3, .refill_t = 1e4}},
        {.kind = EFI_NETWORK_OUTLET,
         .key = 2,
         .capacity_tph = drain_tph,
         .machines = 1,
         .modes = 1,
         .mode = &night},
    };
    const efi_network_spout spout[] = {{.from = 0, .to = 1, .share = 1.0}, {.from = 1, .to = 2}};
    const efi_network network = {.stations = 3, .station = station, .spouts = 2, .spout = spout};
    const range r = run_range(&network, 1, 48.0, 120.0);
    return r.most - r.least;
}

/* Hours without material at a drain of 3.5 while the inflow follows the periods of case D03, with a bin of
 * that size. */
static double starved_in_periods_h(double size)
{
    static const int inflow[9] = {1, 3, 3, 5, 8, 6, 7, 2, 1};
    enum {
        PERIODS = 90,
        INTAKES = 8
    };
    static efi_interval closed[INTAKES][PERIODS];
    efi_stop_mode mode[INTAKES];
    efi_network_station station[INTAKES + 4] = {{.kind = EFI_NETWORK_INTAKE}};
    efi_network_spout spout[INTAKES + 4] = {{.from = 0}};
    for (int k = 0; k < INTAKES; k++) { /* the k-th gives one unit where the inflow is above k */
        int intervals = 0;
        for (int p = 0; p < PERIODS; p++)
            if (inflow[p % 9] <= k)
                closed[k][intervals++] = (efi_interval){p, p + 1};
        mode[k] = (efi_stop_mode){.schedule = EFI_STOPS_LIST, .list = closed[k], .intervals = intervals};
        station[k] = (efi_network_station){.kind = EFI_NETWORK_INTAKE,
                                           .key = (uint64_t)k,
                                           .capacity_tph = 1.0,
                                           .machines = 1,
                                           .modes = 1,
                                           .mode = &mode[k]};
        spout[k] = (efi_network_spout){.from = k, .to = INTAKES, .share = 1.0};
    }
    station[INTAKES] = (efi_network_station){
        .kind = EFI_NETWORK_SPLIT, .key = 20, .split = EFI_NETWORK_FIRST, .capacity_tph = INFINITY};
    station[INTAKES + 1] = (efi_network_station){
        .kind = EFI_NETWORK_BIN, .key = 21, .bin = {.full_t = size, .start_t = size, .refill_t = size}};
    station[INTAKES + 2] = (efi_network_station){
        .kind = EFI_NETWORK_OUTLET, .key = 22, .capacity_tph = 3.5, .machines = 1};
    station[INTAKES + 3] = (efi_network_station){
        .kind = EFI_NETWORK_OUTLET, .key = 23, .capacity_tph = INFINITY, .machines = 1};
    spout[INTAKES] = (efi_network_spout){.from = INTAKES, .to = INTAKES + 1};
    spout[INTAKES + 1] = (efi_network_spout){.from = INTAKES + 1, .to = INTAKES + 2};
    spout[INTAKES + 2] = (efi_network_spout){.from = INTAKES, .to = INTAKES + 3};
    const efi_network network = {
        .stations = INTAKES + 4, .station = station, .spouts = INTAKES + 3, .spout = spout};
    efi_engine *engine = NULL;
    efi_trouble trouble;
    assert_int_equal(efi_engine_build(&network, NULL, &engine, &trouble), EF_OK);
    efi_engine_start(engine, 1, 0);
    assert_int_equal(efi_engine_run(engine, PERIODS, &trouble), EF_OK);
    efi_account account;
    efi_engine_read(engine, INTAKES + 2, &account);
    efi_engine_free(engine);
    return PERIODS - account.in_t / 3.5;
}

static double table_value(const char *id)
{
    FILE *table = lines_open_table("bins/deterministic.csv");
    char room[512];
    char *field[FIELDS];
    double value = (double)NAN;
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 4)
        if (strcmp(field[0], id) == 0)
            value = lines_number(field[3]);
    fclose(table);
    return value;
}

static void timetables_need_the_bins_worked_out_by_hand(void **state)
{
    (void)state;
    assert_near_relative(daily_range_t(8.0, 19.2, 7.0, 17.0), table_value("D01"), 1e-6);
    assert_near_relative(daily_range_t(8.0, 12.0, 6.0, 22.0), table_value("D02"), 1e-6);
    const double enough = table_value("D03");
    assert_near_absolute(starved_in_periods_h(enough), 0.0, 1e-9);
    assert_true(starved_in_periods_h(enough - 0.1) > 0.1);
}

/* A full bin whose feeder stops for `stop_h` from hour 1 on, drained at rate_tph: hours the drain is starved.
 */
static double starved_after_stop_h(double rate_tph, double stop_h, double bin_t)
{
    const efi_interval stop = {1.0, 1.0 + stop_h};
    const efi_stop_mode mode = {.schedule = EFI_STOPS_LIST, .list = &stop, .intervals = 1};
    const efi_network_station station[] = {
        {.kind = EFI_NETWORK_INTAKE,
         .capacity_tph = rate_tph * 1.2,
         .machines = 1,
         .modes = 1,
         .mode = &mode},
        {.kind = EFI_NETWORK_BIN, .key = 1, .bin = {.full_t = bin_t, .start_t = bin_t, .refill_t = bin_t}},
        {.kind = EFI_NETWORK_OUTLET, .key = 2, .capacity_tph = rate_tph, .machines = 1},
    };
    const efi_network_spout spout[] = {{.from = 0, .to = 1, .share = 1.0}, {.from = 1, .to = 2}};
    const efi_network network = {.stations = 3, .station = station, .spouts = 2, .spout = spout};
    efi_engine *engine = NULL;
    efi_trouble trouble;
    assert_int_equal(efi_engine_build(&network, NULL, &engine, &trouble), EF_OK);
    efi_engine_start(engine, 1, 0);
    assert_int_equal(efi_engine_run(engine, 20.0, &trouble), EF_OK);
    efi_account account;
    efi_engine_read(engine, 2, &account);
    efi_engine_free(engine);
    return account.state_h[EFI_STATE_STARVED];
}

static void a_bin_rides_through_a_stop_of_its_own_hours(void **state)
{
    (void)state;
    const double bin_t = table_value("D04"); /* a 2.5 h stop at 10 t/h */
    assert_near_absolute(starved_after_stop_h(10.0, 2.5, bin_t), 0.0, 1e-6);
    assert_near_absolute(starved_after_stop_h(10.0, 2.5, bin_t - 1.0), 0.1, 1e-6);
    /* A six-minute screen change at 10 t/h needs 1 t: q T / 60 (elementary). */
    assert_near_absolute(starved_after_stop_h(10.0, 0.1, 1.0), 0.0, 2e-6);
    assert_near_absolute(starved_after_stop_h(10.0, 0.1, 0.5), 0.05, 2e-6);
}

static void three_trucks_pile_up_to_the_peak_worked_out_by_hand(void **state)
{
    (void)state;
    const efi_network_station station[] = {
        {.kind = EFI_NETWORK_INTAKE,
         .machines = 1,
         .loads = {.is_used = true,
                   .is_instant = true,
                   .gap_h = {EFI_FIXED, 0.25, 0.0},
                   .has_first = true,
                   .load_t = {EFI_FIXED, 30.0, 0.0}}},
        {.kind = EFI_NETWORK_BIN, .key = 1, .bin = {.full_t = 500.0, .refill_t = 500.0}},
        {.kind = EFI_NETWORK_OUTLET, .key = 2, .capacity_tph = 40.0, .machines = 1},
    };
    const efi_network_spout spout[] = {{.from = 0, .to = 1, .share = 1.0}, {.from = 1, .to = 2}};
    const efi_network network = {.stations = 3, .station = station, .spouts = 2, .spout = spout};
    const range r = run_range(&network, 1, 0.0, 0.6);
    assert_near_absolute(r.most, table_value("D05"), 1e-9);
}

/* Upstream 12 t/h, downstream 10 t/h, a bin of 2.5 t: times worked out by hand (rates and volumes only). */
typedef struct switching {
    double first_full_h;
    double full_events;
    double last_full_h;
    double refill_h;
} switching;

static void note_switching(void *context, const efi_engine *engine, const efi_event *event)
{
    (void)engine;
    switching *s = context;
    if (event->kind == EFI_EVENT_FULL) {
        if (s->full_events <= 0.0)
            s->first_full_h = event->at_h;
        s->full_events += 1.0;
        s->last_full_h = event->at_h;
    } else if (event->kind == EFI_EVENT_REFILL) {
        s->refill_h = event->at_h - s->last_full_h;
    }
}

static void a_bin_between_unequal_rates_fills_and_switches_as_worked_out(void **state)
{
    (void)state;
    efi_network_station station[] = {
        {.kind = EFI_NETWORK_INTAKE, .capacity_tph = 12.0, .machines = 1},
        {.kind = EFI_NETWORK_BIN, .key = 1, .bin = {.full_t = 2.5, .refill_t = 2.5}},
        {.kind = EFI_NETWORK_OUTLET, .key = 2, .capacity_tph = 10.0, .machines = 1},
    };
    const efi_network_spout spout[] = {{.from = 0, .to = 1, .share = 1.0}, {.from = 1, .to = 2}};
    const efi_network network = {.stations = 3, .station = station, .spouts = 2, .spout = spout};
    efi_engine *engine = NULL;
    efi_trouble trouble;
    switching s = {0};
    assert_int_equal(efi_engine_build(&network, NULL, &engine, &trouble), EF_OK);
    efi_engine_watch(engine, note_switching, &s);
    efi_engine_start(engine, 1, 0);
    assert_int_equal(efi_engine_run(engine, 3.0, &trouble), EF_OK);
    assert_near_absolute(s.first_full_h, 1.25, 1e-12);
    assert_near_absolute(efi_engine_rate_tph(engine, 0), 10.0, 1e-12);
    efi_engine_free(engine);

    /* Off at 70 %, on at 50 %: on for 0.25 h, off for 0.05 h, cycle 0.30 h, duty 10/12. */
    station[1].bin = (efi_network_bin){.full_t = 1.75, .start_t = 1.25, .refill_t = 1.25};
    s = (switching){0};
    assert_int_equal(efi_engine_build(&network, NULL, &engine, &trouble), EF_OK);
    efi_engine_watch(engine, note_switching, &s);
    efi_engine_start(engine, 1, 0);
    assert_int_equal(efi_engine_run(engine, 30.0, &trouble), EF_OK);
    assert_near_absolute(s.first_full_h, 0.25, 1e-12);
    assert_near_absolute(s.refill_h, 0.05, 1e-9);
    assert_near_absolute(s.full_events, 100.0, 1.0);
    efi_account account;
    efi_engine_read(engine, 0, &account);
    assert_near_absolute(account.state_h[EFI_STATE_FULL_RATE] / 30.0, 10.0 / 12.0, 1e-9);
    efi_engine_free(engine);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stop_and_go_source_meets_the_fluid_queue),
        cmocka_unit_test(a_steady_feed_before_an_unreliable_machine_meets_the_closed_solution),
        cmocka_unit_test(whole_loads_into_a_bin_meet_the_finite_dam),
        cmocka_unit_test(trucks_at_a_pit_meet_the_queue_formulas),
        cmocka_unit_test(a_harvest_queue_at_one_pit_meets_the_textbook),
        cmocka_unit_test(timetables_need_the_bins_worked_out_by_hand),
        cmocka_unit_test(a_bin_rides_through_a_stop_of_its_own_hours),
        cmocka_unit_test(three_trucks_pile_up_to_the_peak_worked_out_by_hand),
        cmocka_unit_test(a_bin_between_unequal_rates_fills_and_switches_as_worked_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
