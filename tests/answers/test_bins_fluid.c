/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fluid recursion: cases solved by hand, gradients against finite differences, convexity, and the same
 * shortfall as the event engine on the same line and stops. */
#include "../lib/near.h"
#include "answers/bins/fluid.h"
#include "answers/bins/sizing.h"
#include "base/random.h"
#include "shared/engine/engine.h"
#include "shared/lp/lp.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#define STATIONS_MOST 4
#define STOPS_MOST    8

/* A line of single machines with stops given, the last one fed steadily unless said otherwise. */
typedef struct small_line {
    efi_fluid_unit unit[STATIONS_MOST];
    efi_trace trace[STATIONS_MOST];
    efi_interval stop[STATIONS_MOST][STOPS_MOST];
    double start_share[STATIONS_MOST];
    efi_fluid_line line;
} small_line;

static void begin(small_line *s, int stations, const double *capacity_tph, double start_share)
{
    memset(s, 0, sizeof *s);
    for (int i = 0; i < stations; i++) {
        s->trace[i].stop = s->stop[i];
        s->unit[i] = (efi_fluid_unit){i, i, capacity_tph[i], &s->trace[i]};
        s->start_share[i] = start_share;
    }
    s->line = (efi_fluid_line){.segments = stations,
                               .units = stations,
                               .unit = s->unit,
                               .feed_station = stations - 1,
                               .start_share = s->start_share,
                               .to_h = 8.0};
}

static void add_stop(small_line *s, int station, double from_h, double to_h)
{
    s->stop[station][s->trace[station].stops++] = (efi_interval){from_h, to_h};
}

static double shortfall(const small_line *s, const double *volume_t, double *gradient)
{
    double shortfall_t = NAN;
    assert_int_equal(efi_fluid_run(&s->line, volume_t, &shortfall_t, gradient), EF_OK);
    return shortfall_t;
}

/* 5 t are missing over the hour of the stop, 3 t are in the bin. */
static void one_stop_is_bridged_by_what_the_bin_holds(void **state)
{
    (void)state;
    small_line s;
    begin(&s, 2, (double[]){10.0, 5.0}, 1.0);
    add_stop(&s, 0, 1.0, 2.0);
    double gradient[1];
    assert_near(shortfall(&s, (double[]){3.0}, gradient), 2.0, 1e-12);
    assert_near(gradient[0], -1.0, 1e-12);
    assert_near(shortfall(&s, (double[]){6.0}, gradient), 0.0, 1e-12);
    assert_near(gradient[0], 0.0, 1e-12);
}

/* Station 0 stops 1.0 to 2.0, station 1 1.5 to 2.5. With 1 t before it station 1 starves from 1.2 on, so the
 * feed needs (2.5 - 1.2) 5 = 6.5 t and has 4; with room enough before it, only its own stop counts: 5 - 4. */
static void overlapping_stops_add_up_through_the_first_bin(void **state)
{
    (void)state;
    small_line s;
    begin(&s, 3, (double[]){10.0, 10.0, 5.0}, 1.0);
    add_stop(&s, 0, 1.0, 2.0);
    add_stop(&s, 1, 1.5, 2.5);
    double gradient[2];
    assert_near(shortfall(&s, (double[]){1.0, 4.0}, gradient), 2.5, 1e-12);
    assert_near(gradient[0], -1.0, 1e-12);
    assert_near(gradient[1], -1.0, 1e-12);
    assert_near(shortfall(&s, (double[]){4.0, 4.0}, gradient), 1.0, 1e-12);
    assert_near(gradient[0], 0.0, 1e-12);
    assert_near(gradient[1], -1.0, 1e-12);
}

/* Refill at 6 - 5 = 1 t/h for 2 h between two stops of 1 h. 5.5 t: 0.5 t are left, 2.5 t are there at the
 * second, 2.5 t short. 1.5 t: 3.5 t short, full again after 1.5 h, 3.5 t short again. */
static void slow_refill_leaves_the_second_stop_short(void **state)
{
    (void)state;
    small_line s;
    begin(&s, 2, (double[]){6.0, 5.0}, 1.0);
    add_stop(&s, 0, 1.0, 2.0);
    add_stop(&s, 0, 4.0, 5.0);
    double gradient[1];
    assert_near(shortfall(&s, (double[]){5.5}, gradient), 2.5, 1e-12);
    assert_near(gradient[0], -1.0, 1e-12);
    assert_near(shortfall(&s, (double[]){1.5}, gradient), 7.0, 1e-12);
    assert_near(gradient[0], -2.0, 1e-12);
}

/* The bin after the feed blocks it: 5 t come in the hour of the stop, 2 t have room. */
static void a_full_bin_after_the_feed_blocks_it(void **state)
{
    (void)state;
    small_line s;
    begin(&s, 2, (double[]){5.0, 10.0}, 0.0);
    s.line.feed_station = 0;
    add_stop(&s, 1, 1.0, 2.0);
    double gradient[1];
    assert_near(shortfall(&s, (double[]){2.0}, gradient), 3.0, 1e-12);
    assert_near(gradient[0], -1.0, 1e-12);
}

/* ---- random lines ---- */

static double random_between(efi_random *random, double from, double to)
{
    return from + (to - from) * efi_random_uniform(random);
}

static void make_random(small_line *s, uint64_t seed, double *volume_t)
{
    efi_random random = efi_random_stream(seed, 0, 0);
    double capacity[STATIONS_MOST];
    for (int i = 0; i < STATIONS_MOST; i++) {
        capacity[i] = random_between(&random, 5.2, 9.0);
        volume_t[i] = random_between(&random, 0.2, 4.0);
    }
    capacity[2] = 5.0;
    begin(s, STATIONS_MOST, capacity, random_between(&random, 0.1, 0.9));
    s->line.feed_station = 2;
    s->line.from_h = 1.0;
    for (int i = 0; i < STATIONS_MOST; i++) {
        double now_h = efi_grid_round(random_between(&random, 0.0, 1.5));
        for (int k = 0; k < STOPS_MOST && now_h < 8.0; k++) {
            const double to_h = efi_grid_round(now_h + random_between(&random, 0.05, 0.8));
            add_stop(s, i, now_h, to_h);
            now_h = efi_grid_round(to_h + random_between(&random, 0.2, 2.0));
        }
    }
}

static void gradients_agree_with_finite_differences(void **state)
{
    (void)state;
    int checked = 0;
    for (uint64_t seed = 1; seed <= 300; seed++) {
        small_line s;
        double volume[STATIONS_MOST];
        double gradient[STATIONS_MOST];
        make_random(&s, seed, volume);
        const double at = shortfall(&s, volume, gradient);
        for (int j = 0; j < STATIONS_MOST - 1; j++) {
            const double step = 1e-6;
            double up[STATIONS_MOST];
            double down[STATIONS_MOST];
            memcpy(up, volume, sizeof up);
            memcpy(down, volume, sizeof down);
            up[j] += step;
            down[j] -= step;
            const double right = (shortfall(&s, up, NULL) - at) / step;
            const double left = (at - shortfall(&s, down, NULL)) / step;
            if (fabs(right - left) > 1e-6)
                continue; /* a kink within the step */
            assert_near_absolute(gradient[j], 0.5 * (left + right), 1e-6);
            checked++;
        }
    }
    assert_true(checked > 800);
}

static void every_pass_is_a_cut_below_the_shortfall_elsewhere(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 300; seed++) {
        small_line s;
        double here[STATIONS_MOST];
        double gradient[STATIONS_MOST];
        make_random(&s, seed, here);
        s.line.from_h = 0.0;
        const double at = shortfall(&s, here, gradient);
        efi_random random = efi_random_stream(seed, 1, 0);
        for (int k = 0; k < 10; k++) {
            double there[STATIONS_MOST];
            double cut = at;
            for (int j = 0; j < STATIONS_MOST - 1; j++) {
                there[j] = random_between(&random, 0.05, 6.0);
                cut += gradient[j] * (there[j] - here[j]);
            }
            assert_true(shortfall(&s, there, NULL) >= cut - 1e-9);
        }
    }
}

/* ---- against the event engine ---- */

static efi_stop_mode listed(const efi_trace *trace)
{
    return (efi_stop_mode){.schedule = EFI_STOPS_LIST,
                           .counting = EFI_COUNT_CLOCK,
                           .intervals = trace->stops,
                           .list = trace->stop};
}

/* Shortfall by the engine of the station that the recursion calls the feed; `back` of what it takes returns
 * to the bin before it. Stations lie at 2i, bins at 2i + 1, an outlet and one more at the end. */
static double engine_shortfall(const small_line *s, const double *volume_t, double back)
{
    efi_network_station station[2 * STATIONS_MOST + 2] = {0};
    efi_network_spout spout[2 * STATIONS_MOST + 2];
    efi_stop_mode mode[STATIONS_MOST];
    const int segments = s->line.segments;
    const int last = 2 * segments - 1;
    int spouts = 0;
    for (int i = 0; i < segments; i++) {
        const bool fed = i == s->line.feed_station;
        const double kept = fed ? 1.0 - back : 1.0;
        mode[i] = listed(&s->trace[i]);
        station[2 * i] = (efi_network_station){.kind = i == 0 ? EFI_NETWORK_INTAKE : EFI_NETWORK_MACHINE,
                                               .capacity_tph = s->unit[i].capacity_tph / kept,
                                               .machines = 1,
                                               .modes = s->trace[i].stops > 0,
                                               .mode = &mode[i],
                                               .steady = {.is_steady = fed, .band_share = 0.02}};
        spout[spouts++] = (efi_network_spout){2 * i, 2 * i + 1, kept, false};
        if (fed && back > 0.0)
            spout[spouts++] = (efi_network_spout){2 * i, 2 * i - 1, back, true};
        if (i == segments - 1)
            break;
        station[2 * i + 1] = (efi_network_station){.kind = EFI_NETWORK_BIN,
                                                   .bin = {.full_t = volume_t[i],
                                                           .refill_t = volume_t[i],
                                                           .start_t = volume_t[i] * s->start_share[i]}};
        spout[spouts++] = (efi_network_spout){2 * i + 1, 2 * i + 2, 1.0, false};
    }
    station[last] = (efi_network_station){
        .kind = EFI_NETWORK_OUTLET, .capacity_tph = INFINITY, .machines = 1};
    const efi_network network = {.stations = last + 1, .station = station, .spouts = spouts, .spout = spout};
    efi_engine *engine = NULL;
    efi_trouble trouble = {0};
    assert_int_equal(efi_engine_build(&network, NULL, &engine, &trouble), EF_OK);
    efi_engine_start(engine, 1, 0);
    if (s->line.from_h > 0.0)
        assert_int_equal(efi_engine_run(engine, s->line.from_h, &trouble), EF_OK);
    efi_engine_clear(engine);
    assert_int_equal(efi_engine_run(engine, s->line.to_h, &trouble), EF_OK);
    efi_account account;
    efi_engine_read(engine, 2 * s->line.feed_station, &account);
    efi_engine_free(engine);
    return account.shortfall_t;
}

static void the_event_engine_finds_the_same_shortfall(void **state)
{
    (void)state;
    double sum_t = 0.0;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        small_line s;
        double volume[STATIONS_MOST];
        make_random(&s, seed, volume);
        const double fluid_t = shortfall(&s, volume, NULL);
        assert_near(engine_shortfall(&s, volume, 0.0), fluid_t, 1e-8);
        sum_t += fluid_t;
    }
    assert_true(sum_t > 100.0);
}

/* With a fifth of the feed going back, the bin drains at four fifths of the feed, in both. */
static void returns_are_taken_off_the_feed(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        small_line s;
        double volume[STATIONS_MOST];
        make_random(&s, seed, volume);
        assert_near(engine_shortfall(&s, volume, 0.2), shortfall(&s, volume, NULL) / 0.8, 1e-8);
    }
}

/* ---- volumes of least cost ---- */

#define TRACES 5
#define BINS   (STATIONS_MOST - 1)

static bool is_stopped(const efi_trace *trace, double at_h)
{
    for (int i = 0; i < trace->stops; i++)
        if (trace->stop[i].from_h <= at_h && at_h < trace->stop[i].to_h)
            return true;
    return false;
}

static double next_change(const small_line *s, double now_h)
{
    double next_h = s->line.to_h;
    for (int i = 0; i < STATIONS_MOST; i++) {
        for (int k = 0; k < s->trace[i].stops; k++) {
            const efi_interval *stop = &s->trace[i].stop[k];
            next_h = stop->from_h > now_h ? fmin(next_h, stop->from_h) : next_h;
            next_h = stop->to_h > now_h ? fmin(next_h, stop->to_h) : next_h;
        }
    }
    return next_h;
}

static int new_column(efi_lp *lp, efi_lp_bounds bounds, double cost)
{
    int column = -1;
    assert_int_equal(efi_lp_add_column(lp, NULL, bounds, cost, false, &column), EF_OK);
    return column;
}

static void new_row(efi_lp *lp, efi_lp_bounds bounds, const efi_lp_entry *entries, int count)
{
    assert_int_equal(efi_lp_add_row(lp, NULL, bounds, entries, count, NULL), EF_OK);
}

/* Adds one trace to the plain program, interval by interval: tonnes through each station, levels at its end;
 * what passes the feed goes to `passed`. Returns what it is set to take. */
static double add_trace(efi_lp *lp, const small_line *s, const int *volume, efi_lp_entry *passed, int *count)
{
    double set_t = 0.0;
    int level[BINS];
    const efi_lp_bounds positive = {.has_lower = true};
    const efi_lp_bounds zero = {.has_lower = true, .has_upper = true};
    for (double now_h = 0.0; now_h < s->line.to_h;) {
        const double end_h = next_change(s, now_h);
        int through[STATIONS_MOST];
        for (int i = 0; i < STATIONS_MOST; i++) {
            const double tph = is_stopped(&s->trace[i], now_h) ? 0.0 : s->unit[i].capacity_tph;
            through[i] = new_column(lp, (efi_lp_bounds){0.0, tph * (end_h - now_h), true, true}, 0.0);
            set_t += i == s->line.feed_station ? tph * (end_h - now_h) : 0.0;
        }
        passed[(*count)++] = (efi_lp_entry){through[s->line.feed_station], 1.0};
        for (int i = 0; i < BINS; i++) {
            const bool first = !(now_h > 0.0);
            const int before = first ? volume[i] : level[i];
            level[i] = new_column(lp, positive, 0.0);
            new_row(lp, zero,
                    (efi_lp_entry[]){{level[i], 1.0},
                                     {before, first ? -s->start_share[i] : -1.0},
                                     {through[i], -1.0},
                                     {through[i + 1], 1.0}},
                    4);
            new_row(lp, (efi_lp_bounds){.has_lower = true},
                    (efi_lp_entry[]){{volume[i], 1.0}, {level[i], -1.0}}, 2);
        }
        now_h = end_h;
    }
    return set_t;
}

/* The optimum of the plain program over all traces on the grid of their events. */
static double plain_optimum(const small_line *s, const efi_sizing *sizing, const efi_sizing_aim *aim)
{
    efi_lp *lp = efi_lp_new();
    assert_non_null(lp);
    int volume[BINS];
    efi_lp_entry passed[2048];
    int count = 0;
    double set_t = 0.0;
    for (int j = 0; j < BINS; j++)
        volume[j] = new_column(lp, (efi_lp_bounds){0.0, sizing->bin[j].most_t, true, true},
                               sizing->bin[j].cost);
    for (int k = 0; k < TRACES; k++)
        set_t += add_trace(lp, &s[k], volume, passed, &count);
    passed[count++] = (efi_lp_entry){new_column(lp, (efi_lp_bounds){.has_lower = true}, aim->price), TRACES};
    const efi_lp_bounds least = {.lower = set_t - TRACES * aim->target_t, .has_lower = true};
    new_row(lp, least, passed, count);
    const efi_lp_options options = efi_lp_defaults();
    efi_lp_result result;
    assert_int_equal(efi_lp_solve(lp, &options, &result), EF_OK);
    assert_int_equal(result.outcome, EFI_LP_OPTIMAL);
    efi_lp_free(lp);
    return result.objective;
}

static void cuts_and_the_plain_program_have_one_optimum(void **state)
{
    (void)state;
    static small_line s[TRACES];
    for (uint64_t seed = 1; seed <= 20; seed++) {
        efi_fluid_line line[TRACES];
        double volume[STATIONS_MOST];
        double start_share = 0.0;
        for (int k = 0; k < TRACES; k++) {
            make_random(&s[k], seed * 1000 + (uint64_t)k, volume);
            start_share = k == 0 ? s[0].start_share[0] : start_share;
            for (int i = 0; i < STATIONS_MOST; i++) {
                s[k].start_share[i] = start_share;
                s[k].unit[i].capacity_tph = s[0].unit[i].capacity_tph;
            }
            s[k].line.from_h = 0.0;
            line[k] = s[k].line;
        }
        const efi_sizing_bin bin[] = {
            {.cost = 1.0, .most_t = 20.0}, {.cost = 1.3, .most_t = 20.0}, {.cost = 0.8, .most_t = 20.0}};
        const efi_sizing sizing = {
            .traces = TRACES, .line = line, .bin = bin, .tail_share = 1.0, .threads = 1};
        const efi_sizing_aim aim = {.target_t = 3.0, .priced = true, .price = 1000.0};
        efi_sizing_result result;
        efi_sizing_search *search = efi_sizing_open(&sizing);
        assert_non_null(search);
        assert_int_equal(efi_sizing_solve(search, &aim, volume, &result), EF_OK);
        efi_sizing_close(search);
        const double value = result.cost + aim.price * fmax(0.0, result.shortfall_t - aim.target_t);
        assert_near_relative(value, plain_optimum(s, &sizing, &aim), 1e-6);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_stop_is_bridged_by_what_the_bin_holds),
        cmocka_unit_test(overlapping_stops_add_up_through_the_first_bin),
        cmocka_unit_test(slow_refill_leaves_the_second_stop_short),
        cmocka_unit_test(a_full_bin_after_the_feed_blocks_it),
        cmocka_unit_test(gradients_agree_with_finite_differences),
        cmocka_unit_test(every_pass_is_a_cut_below_the_shortfall_elsewhere),
        cmocka_unit_test(the_event_engine_finds_the_same_shortfall),
        cmocka_unit_test(returns_are_taken_off_the_feed),
        cmocka_unit_test(cuts_and_the_plain_program_have_one_optimum),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
