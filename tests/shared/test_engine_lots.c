/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lots passing through a line in order, and clean-downs between them. */
#include "shared/engine/engine.h"

#include "../lib/lines.h"
#include "../lib/near.h"
#include "../lib/networks.h"
#include "base/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define MACHINES 5
#define LOTS     6
#define STATIONS (3 * MACHINES - 2)

/* When each station ended each lot. */
typedef struct lot_times {
    double ended_h[STATIONS][LOTS];
    double began_h[STATIONS][LOTS];
} lot_times;

static void note_lots(void *context, const efi_engine *engine, const efi_event *event)
{
    (void)engine;
    lot_times *times = context;
    if (event->kind == EFI_EVENT_LOT_ENDED)
        times->ended_h[event->station][event->unit] = event->at_h;
    else if (event->kind == EFI_EVENT_LOT_BEGINS)
        times->began_h[event->station][event->unit] = event->at_h;
}

static void run_lots(const efi_network *network, const efi_lot *lot, int lots, bool is_line_clear,
                     double until_h, lot_times *times)
{
    efi_engine_settings settings = efi_engine_defaults();
    settings.lot = lot;
    settings.lots = lots;
    settings.is_line_clear = is_line_clear;
    efi_engine *engine = NULL;
    efi_trouble trouble;
    if (efi_engine_build(network, &settings, &engine, &trouble) != EF_OK)
        fail_msg("%s", efi_trouble_text(trouble.kind));
    memset(times, 0, sizeof *times);
    efi_engine_watch(engine, note_lots, times);
    efi_engine_start(engine, 1, 0);
    if (efi_engine_run(engine, until_h, &trouble) != EF_OK)
        fail_msg("at %g h: %s", trouble.at_h, efi_trouble_text(trouble.kind));
    for (int i = 0; i < network->stations; i++)
        assert_int_equal(efi_engine_lot(engine, i), lots);
    efi_engine_free(engine);
}

/* A random line with bins without limit between its machines, lots and clean-downs. */
typedef struct case_of_lots {
    lines_line line;
    efi_lot lot[LOTS];
    double clean_h[LOTS][STATIONS];
    double capacity_tph[LOTS][STATIONS];
} case_of_lots;

static double between(efi_random *random, double low, double high)
{
    return low + (high - low) * efi_random_uniform(random);
}

static void make_case(case_of_lots *c, uint64_t seed)
{
    efi_random random = efi_random_stream(seed, 8, 8);
    *c = (case_of_lots){.line = {.machines = MACHINES}};
    for (int i = 0; i < MACHINES; i++) {
        c->line.speed[i] = 10.0;
        c->line.repair_per_h[i] = 1.0;
        c->line.bin[i] = INFINITY;
    }
    lines_describe(&c->line);
    for (int k = 0; k < LOTS; k++) {
        for (int i = 0; i < STATIONS; i++) {
            c->clean_h[k][i] = i % 2 == 0 && efi_random_below(&random, 4) > 0
                                   ? efi_grid_round(between(&random, 0.1, 3.0))
                                   : 0.0;
            c->capacity_tph[k][i] = between(&random, 5.0, 15.0);
        }
        c->lot[k] = (efi_lot){.tonnes_t = between(&random, 5.0, 80.0),
                              .arrives_h = k % 3 == 2 ? between(&random, 0.0, 40.0) : 0.0,
                              .capacity_tph = c->capacity_tph[k],
                              .clean_h = c->clean_h[k]};
    }
}

static void lots_pass_as_the_recursion_of_the_changeover_says(void **state)
{
    (void)state;
    /* start_m(b) = max(end_m(a) + c_m, start_{m-1}(b)), end_m(b) = max(end_{m-1}(b), start_m(b) + t_m(b)),
     * with t_m the hours machine m works on the lot; bins without limit, no delay; the first machine also
     * waits for the lot to arrive. */
    static case_of_lots c;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        make_case(&c, seed);
        lot_times times;
        run_lots(&c.line.network, c.lot, LOTS, false, 3000.0, &times);
        double end_h[MACHINES] = {0.0};
        for (int k = 0; k < LOTS; k++) {
            double start_h = c.lot[k].arrives_h;
            double before_h = 0.0;
            for (int m = 0; m < MACHINES; m++) {
                const int station = lines_machine(&c.line, m);
                start_h = fmax(k == 0 ? 0.0 : end_h[m] + c.clean_h[k][station], start_h);
                end_h[m] = fmax(before_h, start_h + c.lot[k].tonnes_t / c.capacity_tph[k][station]);
                before_h = end_h[m];
                if (!near_is(times.ended_h[station][k], end_h[m], 1e-6))
                    fail_msg("seed %d: machine %d ends lot %d at %.9g h, expected %.9g", (int)seed, m, k,
                             times.ended_h[station][k], end_h[m]);
            }
        }
    }
}

/* The line of a case with a conveyor behind each machine but the last, on which material takes its time. */
typedef struct delayed_line {
    efi_network_station station[STATIONS];
    efi_network_spout spout[STATIONS - 1];
    double clean_h[LOTS][STATIONS];
    double capacity_tph[LOTS][STATIONS];
    efi_lot lot[LOTS];
    double delay_h[MACHINES];
    efi_network network;
} delayed_line;

static void delay_line(delayed_line *d, const case_of_lots *c, uint64_t seed)
{
    efi_random random = efi_random_stream(seed, 8, 10);
    *d = (delayed_line){
        .network = {.stations = STATIONS, .station = d->station, .spouts = STATIONS - 1, .spout = d->spout}};
    for (int m = 0; m < MACHINES; m++) {
        const int machine = lines_machine(&c->line, m);
        d->station[3 * m] = c->line.station[machine];
        d->delay_h[m] = between(&random, 0.01, 2.0);
        if (m + 1 < MACHINES) {
            d->station[3 * m + 1] = (efi_network_station){.kind = EFI_NETWORK_CONVEYOR,
                                                          .key = 100 + (uint64_t)m,
                                                          .capacity_tph = 50.0,
                                                          .machines = 1,
                                                          .delay_h = d->delay_h[m]};
            d->station[3 * m + 2] = c->line.station[lines_bin(&c->line, m)];
        }
        for (int k = 0; k < LOTS; k++) {
            d->clean_h[k][3 * m] = c->clean_h[k][machine];
            d->capacity_tph[k][3 * m] = c->capacity_tph[k][machine];
            if (m + 1 < MACHINES)
                d->capacity_tph[k][3 * m + 1] = 50.0;
        }
    }
    for (int e = 0; e < STATIONS - 1; e++)
        d->spout[e] = (efi_network_spout){.from = e, .to = e + 1, .share = 1.0};
    for (int k = 0; k < LOTS; k++) {
        d->lot[k] = c->lot[k];
        d->lot[k].clean_h = d->clean_h[k];
        d->lot[k].capacity_tph = d->capacity_tph[k];
    }
}

static void delays_shift_lots_as_the_recursion_says(void **state)
{
    (void)state;
    /* The same with start_{m-1}(b) + delay_{m-1} and end_{m-1}(b) + delay_{m-1}: conveyors take a lot behind
     * the one before, without a gap. */
    static case_of_lots c;
    static delayed_line d;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        make_case(&c, seed);
        delay_line(&d, &c, seed);
        lot_times times;
        run_lots(&d.network, d.lot, LOTS, false, 3000.0, &times);
        double end_h[MACHINES] = {0.0};
        for (int k = 0; k < LOTS; k++) {
            double start_h = d.lot[k].arrives_h;
            double before_h = 0.0;
            for (int m = 0; m < MACHINES; m++) {
                start_h = fmax(k == 0 ? 0.0 : end_h[m] + d.clean_h[k][3 * m], start_h);
                end_h[m] = fmax(before_h, start_h + d.lot[k].tonnes_t / d.capacity_tph[k][3 * m]);
                if (!near_is(times.ended_h[3 * m][k], end_h[m], 1e-6))
                    fail_msg("seed %d: machine %d ends lot %d at %.9g h, expected %.9g", (int)seed, m, k,
                             times.ended_h[3 * m][k], end_h[m]);
                start_h += d.delay_h[m];
                before_h = end_h[m] + d.delay_h[m];
                if (m + 1 < MACHINES && !near_is(times.ended_h[3 * m + 1][k], before_h, 1e-6))
                    fail_msg("seed %d: the conveyor after machine %d ends lot %d at %.9g h, expected %.9g",
                             (int)seed, m, k, times.ended_h[3 * m + 1][k], before_h);
            }
        }
    }
}

static void a_conveyor_to_be_cleaned_holds_one_lot_at_a_time(void **state)
{
    (void)state;
    /* 10 t at 10 t/h, half an hour on the conveyor, which is cleaned for a quarter: the intake ends the lot
     * at 1, the conveyor at 1.5, and it is clean at 1.75, when the next lot may come on; that is through at
     * 1.75 + 1 + 0.5. */
    efi_network_station station[] = {
        {.kind = EFI_NETWORK_INTAKE, .key = 0, .capacity_tph = 10.0, .machines = 1},
        {.kind = EFI_NETWORK_CONVEYOR, .key = 1, .capacity_tph = 20.0, .machines = 1, .delay_h = 0.5},
        {.kind = EFI_NETWORK_OUTLET, .key = 2, .capacity_tph = 20.0, .machines = 1}};
    const efi_network_spout spout[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}};
    const efi_network network = {.stations = 3, .station = station, .spouts = 2, .spout = spout};
    static const double clean_h[] = {0.0, 0.25, 0.0};
    const efi_lot lot[] = {{.tonnes_t = 10.0}, {.tonnes_t = 10.0, .clean_h = clean_h}};
    lot_times times;
    run_lots(&network, lot, 2, false, 20.0, &times);
    assert_near_absolute(times.ended_h[0][0], 1.0, 1e-9);
    assert_near_absolute(times.ended_h[1][0], 1.5, 1e-9);
    assert_near_absolute(times.ended_h[2][0], 1.5, 1e-9);
    assert_near_absolute(times.began_h[1][1], 1.75, 1e-9);
    assert_near_absolute(times.ended_h[0][1], 2.75, 1e-9);
    assert_near_absolute(times.ended_h[2][1], 3.25, 1e-9);

    /* Not cleaned it takes the next lot behind the one before, which is through half an hour after the intake
     * has given the last of it. */
    const efi_lot same[] = {{.tonnes_t = 10.0}, {.tonnes_t = 10.0}};
    run_lots(&network, same, 2, false, 20.0, &times);
    assert_near_absolute(times.ended_h[0][0], 1.0, 1e-9);
    assert_near_absolute(times.began_h[1][1], 1.0, 1e-9);
    assert_near_absolute(times.ended_h[1][0], 1.5, 1e-9);
    assert_near_absolute(times.ended_h[2][0], 1.5, 1e-9);
    assert_near_absolute(times.ended_h[0][1], 2.0, 1e-9);
    assert_near_absolute(times.ended_h[2][1], 2.5, 1e-9);
}

static void a_clear_line_takes_the_next_lot_when_all_is_clean(void **state)
{
    (void)state;
    static case_of_lots c;
    for (uint64_t seed = 1; seed <= 100; seed++) {
        make_case(&c, seed);
        lot_times times;
        run_lots(&c.line.network, c.lot, LOTS, true, 3000.0, &times);
        double clear_h = 0.0;
        for (int k = 0; k < LOTS; k++) {
            const double start_h = fmax(clear_h, c.lot[k].arrives_h);
            double slowest_tph = INFINITY;
            clear_h = 0.0;
            for (int m = 0; m < MACHINES; m++) {
                const int station = lines_machine(&c.line, m);
                slowest_tph = fmin(slowest_tph, c.capacity_tph[k][station]);
                const double end_h = start_h + c.lot[k].tonnes_t / slowest_tph;
                assert_near_absolute(times.ended_h[station][k], end_h, 1e-6);
                if (k + 1 < LOTS)
                    clear_h = fmax(clear_h, end_h + c.clean_h[k + 1][station]);
            }
        }
    }
}

static void a_whole_line_is_cleaned_when_the_last_of_a_lot_has_left(void **state)
{
    (void)state;
    static case_of_lots c;
    for (uint64_t seed = 1; seed <= 100; seed++) {
        make_case(&c, seed);
        lot_times times;
        for (int k = 0; k < LOTS; k++) {
            c.lot[k].line_clean_h = c.clean_h[k][0];
            c.lot[k].clean_h = NULL;
        }
        run_lots(&c.line.network, c.lot, LOTS, true, 3000.0, &times);
        double clear_h = 0.0;
        for (int k = 0; k < LOTS; k++) {
            const double clean_h = k > 0 ? c.lot[k].line_clean_h : 0.0;
            const double start_h = fmax(clear_h + clean_h, c.lot[k].arrives_h);
            double slowest_tph = INFINITY;
            for (int m = 0; m < MACHINES; m++) {
                const int station = lines_machine(&c.line, m);
                slowest_tph = fmin(slowest_tph, c.capacity_tph[k][station]);
                const double end_h = start_h + c.lot[k].tonnes_t / slowest_tph;
                if (!(fabs(times.ended_h[station][k] - end_h) <= 1e-6))
                    fail_msg("seed %d: machine %d ends lot %d at %.9g h, expected %.9g", (int)seed, m, k,
                             times.ended_h[station][k], end_h);
                clear_h = m == 0 ? end_h : fmax(clear_h, end_h);
            }
        }
    }
}

static void a_bin_takes_a_lot_of_other_levels_when_it_has_run_empty(void **state)
{
    (void)state;
    /* 10 t/h into a bin of 50 t, 5 t/h out. The first 40 t leave 20 t at 4 h, out at 8 h. Of the second lot
     * the bin holds 10 t: it begins at 8 h, is full at 10 h, then in at 5 t/h: the remaining 20 t until 14 h;
     * out at 16 h. */
    lines_line line = {.machines = 2, .speed = {10.0, 5.0}, .repair_per_h = {1.0, 1.0}, .bin = {50.0}};
    lines_describe(&line);
    efi_network_bin small[3] = {{0}};
    small[1] = line.network.station[1].bin;
    small[1].full_t = small[1].refill_t = 10.0;
    const efi_lot lot[] = {{.tonnes_t = 40.0}, {.tonnes_t = 40.0, .bin = small}};
    lot_times times;
    run_lots(&line.network, lot, 2, false, 100.0, &times);
    assert_near_absolute(times.ended_h[1][0], 8.0, 1e-9);
    assert_near_absolute(times.ended_h[0][1], 14.0, 1e-9);
    assert_near_absolute(times.ended_h[2][1], 16.0, 1e-9);
    small[1].full_t = 5.0; /* less than its refill level */
    efi_trouble trouble;
    assert_int_equal(efi_lots_check(&line.network, lot, 2, &trouble), EF_SCENARIO);
}

static void a_bin_that_must_be_clean_holds_one_lot_at_a_time(void **state)
{
    (void)state;
    /* 10 t/h into a bin of 50 t, 5 t/h out: 40 t leave 20 t in the bin at 4 h, out at 8 h; half an hour for
     * the bin. */
    lines_line line = {.machines = 2, .speed = {10.0, 5.0}, .repair_per_h = {1.0, 1.0}, .bin = {50.0}};
    lines_describe(&line);
    const double clean_h[] = {0.0, 0.5, 0.0};
    const efi_lot lot[] = {{.tonnes_t = 40.0}, {.tonnes_t = 40.0, .clean_h = clean_h}};
    lot_times times;
    run_lots(&line.network, lot, 2, false, 100.0, &times);
    assert_near_absolute(times.ended_h[0][0], 4.0, 1e-9);
    assert_near_absolute(times.ended_h[1][0], 8.0, 1e-9);
    assert_near_absolute(times.began_h[1][1], 8.5, 1e-6);
    assert_near_absolute(times.ended_h[0][1], 12.5, 1e-6);
    assert_near_absolute(times.ended_h[2][1], 16.5, 1e-6);
    /* Without a clean-down of the bin the second lot lies on top of the first: out at 16 h. */
    const efi_lot loose[] = {{.tonnes_t = 40.0}, {.tonnes_t = 40.0}};
    run_lots(&line.network, loose, 2, false, 100.0, &times);
    assert_near_absolute(times.ended_h[2][0], 8.0, 1e-9);
    assert_near_absolute(times.ended_h[2][1], 16.0, 1e-9);
    assert_near_absolute(times.ended_h[0][1], 8.0, 1e-9);
}

static void a_clean_down_has_its_own_place_in_the_account(void **state)
{
    (void)state;
    lines_line line = {.machines = 2, .no_bins = true, .speed = {10.0, 10.0}, .repair_per_h = {1.0, 1.0}};
    lines_describe(&line);
    const double clean_h[] = {1.0, 2.0};
    const efi_lot lot[] = {{.tonnes_t = 20.0}, {.tonnes_t = 20.0, .clean_h = clean_h, .arrives_h = 6.0}};
    efi_engine_settings settings = efi_engine_defaults();
    settings.lot = lot;
    settings.lots = 2;
    efi_engine *engine = NULL;
    efi_trouble trouble;
    assert_int_equal(efi_engine_build(&line.network, &settings, &engine, &trouble), EF_OK);
    efi_engine_start(engine, 1, 0);
    assert_int_equal(efi_engine_run(engine, 10.0, &trouble), EF_OK);
    efi_account account;
    efi_engine_read(engine, 0, &account);
    assert_near_absolute(account.state_h[EFI_STATE_FULL_RATE], 4.0, 1e-6);
    assert_near_absolute(account.state_h[EFI_STATE_CLEAN_DOWN], 1.0, 1e-6);
    assert_near_absolute(account.state_h[EFI_STATE_STARVED], 5.0, 1e-6);
    efi_engine_read(engine, 1, &account);
    assert_near_absolute(account.state_h[EFI_STATE_CLEAN_DOWN], 2.0, 1e-6);
    assert_near_absolute(account.in_t, 40.0, 1e-6);
    efi_engine_free(engine);
}

static void lots_that_cannot_be_run_are_refused(void **state)
{
    (void)state;
    lines_line line = {.machines = 2, .speed = {10.0, 5.0}, .repair_per_h = {1.0, 1.0}, .bin = {50.0}};
    lines_describe(&line);
    const double bad_capacity[] = {10.0, 0.0, -1.0};
    const double bad_share[] = {0.5, 1.0};
    const double bad_clean[] = {0.0, NAN, 0.0};
    const efi_lot bad[] = {{.tonnes_t = 0.0},
                           {.tonnes_t = 1.0, .arrives_h = -1.0},
                           {.tonnes_t = 1.0, .capacity_tph = bad_capacity},
                           {.tonnes_t = 1.0, .share = bad_share},
                           {.tonnes_t = 1.0, .clean_h = bad_clean}};
    efi_trouble trouble;
    for (int k = 0; k < (int)(sizeof bad / sizeof bad[0]); k++) {
        assert_int_equal(efi_lots_check(&line.network, &bad[k], 1, &trouble), EF_SCENARIO);
        assert_int_equal(trouble.kind, EFI_TROUBLE_LOTS);
    }
    const efi_lot good = {.tonnes_t = 1.0};
    assert_int_equal(efi_lots_check(&line.network, &good, 1, &trouble), EF_OK);
}

static void random_plants_run_all_their_lots_out(void **state)
{
    (void)state;
    static networks_plant plant;
    static double clean_h[LOTS][NETWORKS_STATIONS];
    const int plants = lines_is_soak() ? 20000 : 800;
    int choked = 0;
    for (int n = 0; n < plants; n++) {
        const uint64_t seed = 90000 + (uint64_t)n;
        const networks_wish wish = {.steps = 2 + n % 18,
                                    .has_latches = n % 2 == 0,
                                    .has_branches = n % 3 != 0,
                                    .has_returns = n % 4 != 0,
                                    .has_one_intake = true,
                                    .has_delays = n % 7 < 3};
        networks_make(&plant, seed, &wish);
        efi_random random = efi_random_stream(seed, 8, 9);
        efi_lot lot[LOTS];
        double all_t = 0.0;
        for (int k = 0; k < LOTS; k++) {
            for (int i = 0; i < plant.network.stations; i++)
                clean_h[k][i] = efi_random_below(&random, 3) == 0 ? between(&random, 0.1, 1.0) : 0.0;
            lot[k] = (efi_lot){.tonnes_t = between(&random, 0.5, 30.0), .clean_h = clean_h[k]};
            all_t += lot[k].tonnes_t;
        }
        double held_t = 0.0;
        for (int i = 0; i < plant.network.stations; i++)
            if (plant.station[i].kind == EFI_NETWORK_BIN)
                held_t += plant.station[i].bin.start_t - plant.station[i].bin.empty_t;
        efi_engine_settings settings = efi_engine_defaults();
        settings.lot = lot;
        settings.lots = LOTS;
        settings.is_line_clear = n % 5 == 0;
        efi_engine *engine = NULL;
        efi_trouble trouble;
        assert_int_equal(efi_engine_build(&plant.network, &settings, &engine, &trouble), EF_OK);
        efi_engine_start(engine, seed, 0);
        const ef_status status = efi_engine_run(engine, 2000.0, &trouble);
        if (status == EF_NO_ANSWER && wish.has_returns && trouble.stations > 0) {
            choked++; /* a loop that chokes, which the engine says */
            efi_engine_free(engine);
            continue;
        }
        if (status != EF_OK)
            fail_msg("seed %d at %g h: %s", (int)seed, trouble.at_h, efi_trouble_text(trouble.kind));
        double out_t = 0.0;
        for (int i = 0; i < plant.network.stations; i++) {
            efi_account account;
            efi_engine_read(engine, i, &account);
            out_t += plant.station[i].kind == EFI_NETWORK_OUTLET ? account.in_t : 0.0;
            if ((plant.station[i].kind != EFI_NETWORK_OUTLET || plant.station[i].capacity_tph < INFINITY) &&
                efi_engine_lot(engine, i) != LOTS)
                fail_msg("seed %d: station %d is still at lot %d", (int)seed, i, efi_engine_lot(engine, i));
        }
        efi_engine_free(engine);
        if (!near_is(out_t, all_t + held_t, 1e-6))
            fail_msg("seed %d: %.9g t come out of %.9g t", (int)seed, out_t, all_t + held_t);
    }
    print_message("%d plants, of which %d choked\n", plants, choked);
    assert_true(choked * 500 <= plants);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lots_pass_as_the_recursion_of_the_changeover_says),
        cmocka_unit_test(delays_shift_lots_as_the_recursion_says),
        cmocka_unit_test(a_conveyor_to_be_cleaned_holds_one_lot_at_a_time),
        cmocka_unit_test(a_clear_line_takes_the_next_lot_when_all_is_clean),
        cmocka_unit_test(a_whole_line_is_cleaned_when_the_last_of_a_lot_has_left),
        cmocka_unit_test(a_bin_takes_a_lot_of_other_levels_when_it_has_run_empty),
        cmocka_unit_test(a_bin_that_must_be_clean_holds_one_lot_at_a_time),
        cmocka_unit_test(a_clean_down_has_its_own_place_in_the_account),
        cmocka_unit_test(lots_that_cannot_be_run_are_refused),
        cmocka_unit_test(random_plants_run_all_their_lots_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
