/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rules of the event engine one by one, on small plants worked out by hand. */
#include "shared/engine/engine.h"

#include "../lib/near.h"
#include "base/memory.h"
#include "shared/stops/trace.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof((array)[0])))
#define NETWORK(station, spout)                                                                              \
    {                                                                                                        \
        COUNT(station), station, COUNT(spout), spout                                                         \
    }

static efi_engine *build(const efi_network *network)
{
    efi_engine *engine = NULL;
    efi_trouble trouble;
    if (efi_engine_build(network, NULL, &engine, &trouble) != EF_OK)
        fail_msg("%s", efi_trouble_text(trouble.kind));
    efi_engine_start(engine, 1, 0);
    return engine;
}

static void run(efi_engine *engine, double until_h)
{
    efi_trouble trouble;
    if (efi_engine_run(engine, until_h, &trouble) != EF_OK)
        fail_msg("at %g h: %s", trouble.at_h, efi_trouble_text(trouble.kind));
}

static efi_account read_account(const efi_engine *engine, int station)
{
    efi_account account;
    efi_engine_read(engine, station, &account);
    return account;
}

static efi_network_station machine(uint64_t key, double capacity_tph)
{
    return (efi_network_station){
        .kind = EFI_NETWORK_MACHINE, .key = key, .capacity_tph = capacity_tph, .machines = 1};
}

static efi_network_station intake(double capacity_tph)
{
    return (efi_network_station){
        .kind = EFI_NETWORK_INTAKE, .key = 900, .capacity_tph = capacity_tph, .machines = 1};
}

static efi_network_station outlet(uint64_t key, double capacity_tph)
{
    return (efi_network_station){
        .kind = EFI_NETWORK_OUTLET, .key = key, .capacity_tph = capacity_tph, .machines = 1};
}

static efi_network_station bin(uint64_t key, double full_t, double start_t)
{
    return (efi_network_station){.kind = EFI_NETWORK_BIN,
                                 .key = key,
                                 .bin = {.full_t = full_t, .start_t = start_t, .refill_t = full_t}};
}

static efi_network_station with_mode(efi_network_station station, const efi_stop_mode *mode)
{
    station.modes = 1;
    station.mode = mode;
    return station;
}

/* ---- steady rates -----------------------------------------------------------------------------------------
 */

static void middlings_returned_to_the_bin_make_the_deck_take_more_than_the_feed(void **state)
{
    (void)state;
    /* Fresh feed 8 t/h, a fifth of the deck's feed returned: the deck takes X = F/(1 - r) = 10, returns 2;
     * with lights 5 % of the deck's feed 0.5 go out there and 7.5 as product (reference case of the project,
     * exact). */
    const efi_interval stop = {20.0, 20.2};
    const efi_stop_mode stops = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &stop};
    efi_network_station station[] = {with_mode(intake(8.0), &stops), bin(1, 4.0, 0.0), machine(2, 12.0),
                                     outlet(3, INFINITY), outlet(4, INFINITY)};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 1, 0.2, true}, {2, 3, 0.75, false}, {2, 4, 0.05, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 5.0);
    assert_near_relative(efi_engine_rate_tph(engine, 2), 10.0, 1e-12);
    assert_near_relative(efi_engine_rate_tph(engine, 3), 7.5, 1e-12);
    assert_near_relative(efi_engine_rate_tph(engine, 4), 0.5, 1e-12);
    assert_near_absolute(efi_engine_level_t(engine, 1), 0.0, 1e-12);
    efi_engine_free(engine);

    /* A deck of 10 t/h with stock: when the fresh feed stops, the bin drains at X (1 - r) = F, not at X. */
    station[2].capacity_tph = 10.0;
    station[1].bin.start_t = 3.0;
    engine = build(&network);
    run(engine, 20.0);
    assert_near_absolute(efi_engine_level_t(engine, 1), 3.0, 1e-9);
    run(engine, 20.2);
    assert_near_absolute(efi_engine_level_t(engine, 1), 3.0 - 0.2 * 8.0, 1e-5);
    efi_engine_free(engine);

    /* More feed than the deck can use: the bin fills, returns keep their place and the feed is held to F. */
    station[0].capacity_tph = 9.5;
    engine = build(&network);
    run(engine, 19.0);
    assert_near_absolute(efi_engine_level_t(engine, 1), 4.0, 1e-12);
    assert_near_relative(efi_engine_rate_tph(engine, 0), 8.0, 1e-12);
    assert_near_relative(efi_engine_rate_tph(engine, 2), 10.0, 1e-12);
    efi_engine_free(engine);
}

static void losses_along_the_line_multiply(void **state)
{
    (void)state;
    /* Losses by stage 1, 5, 2, 3, 1 % of stage feed: yield 0.88510; 10 t/h taken in give 8.851 t/h, and 10
     * t/h bagged need 11.298 (reference case of the project; elementary). */
    static const double loss[5] = {0.01, 0.05, 0.02, 0.03, 0.01};
    efi_network_station station[12] = {intake(10.0)};
    efi_network_spout spout[11] = {{0, 1, 1.0, false}};
    for (int k = 0; k < 5; k++) {
        station[1 + k] = machine((uint64_t)k + 1, 20.0);
        station[7 + k] = outlet((uint64_t)k + 20, INFINITY);
        spout[1 + 2 * k] = (efi_network_spout){1 + k, 2 + k, 1.0 - loss[k], false};
        spout[2 + 2 * k] = (efi_network_spout){1 + k, 7 + k, loss[k], false};
    }
    station[6] = outlet(10, INFINITY);
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 1.0);
    assert_near_absolute(efi_engine_rate_tph(engine, 6), 8.8510, 5e-5);
    efi_engine_free(engine);
    station[6].capacity_tph = 10.0;
    station[0].capacity_tph = 20.0;
    engine = build(&network);
    run(engine, 1.0);
    assert_near_absolute(efi_engine_rate_tph(engine, 0), 11.298, 5e-4);
    assert_near_relative(efi_engine_rate_tph(engine, 6), 10.0, 1e-12);
    efi_engine_free(engine);
}

/* One intake of 10 t/h before a split with two machines of 6 and 3 t/h, the first perhaps stopped from hour 1
 * to 2. */
static void run_split(efi_network_split rule, const efi_stop_mode *mode, double until_h, double rate_tph[2])
{
    efi_network_station station[] = {
        intake(10.0),        {.kind = EFI_NETWORK_SPLIT, .key = 1, .split = rule, .capacity_tph = INFINITY},
        machine(2, 6.0),     machine(3, 3.0),
        outlet(4, INFINITY), outlet(5, INFINITY)};
    if (mode)
        station[2] = with_mode(station[2], mode);
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 0.8, false}, {1, 3, 0.2, false}, {2, 4, 1.0, false}, {3, 5, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, until_h);
    rate_tph[0] = efi_engine_rate_tph(engine, 2);
    rate_tph[1] = efi_engine_rate_tph(engine, 3);
    efi_engine_free(engine);
}

static void a_split_divides_by_its_rule(void **state)
{
    (void)state;
    const efi_interval stop = {1.0, 2.0};
    const efi_stop_mode stops = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &stop};
    double rate_tph[2];
    run_split(EFI_NETWORK_BY_SHARES, NULL, 0.5, rate_tph); /* 80:20, held back by the 6 t/h */
    assert_near_relative(rate_tph[0], 6.0, 1e-12);
    assert_near_relative(rate_tph[1], 1.5, 1e-12);
    run_split(EFI_NETWORK_BY_SHARES, &stops, 1.5, rate_tph); /* one branch blocked stops both */
    assert_near_absolute(rate_tph[1], 0.0, 0.0);
    run_split(EFI_NETWORK_FIRST, NULL, 0.5, rate_tph);
    assert_near_relative(rate_tph[0], 6.0, 1e-12);
    assert_near_relative(rate_tph[1], 3.0, 1e-12);
    run_split(EFI_NETWORK_FIRST, &stops, 1.5, rate_tph);
    assert_near_absolute(rate_tph[0], 0.0, 0.0);
    assert_near_relative(rate_tph[1], 3.0, 1e-12);
}

static void a_split_by_capacity_shares_out_what_there_is(void **state)
{
    (void)state;
    const efi_interval stop = {1.0, 2.0};
    const efi_stop_mode stops = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &stop};
    efi_network_station station[] = {
        intake(6.0),
        {.kind = EFI_NETWORK_SPLIT, .key = 1, .split = EFI_NETWORK_BY_CAPACITY, .capacity_tph = INFINITY},
        bin(2, 50.0, 0.0),
        with_mode(machine(3, 6.0), &stops),
        machine(4, 3.0),
        outlet(5, INFINITY),
        outlet(6, INFINITY)};
    const efi_network_spout spout[] = {{0, 1, 1.0, false}, {1, 2, 0.0, false}, {2, 3, 1.0, false},
                                       {1, 4, 0.0, false}, {3, 5, 1.0, false}, {4, 6, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 0.5); /* 6 t/h between 6 and 3: 4 and 2 */
    assert_near_relative(efi_engine_rate_tph(engine, 3), 4.0, 1e-12);
    assert_near_relative(efi_engine_rate_tph(engine, 4), 2.0, 1e-12);
    run(engine, 1.5); /* the machine that runs gets all it can take, the bin of the other the rest */
    assert_near_relative(efi_engine_rate_tph(engine, 4), 3.0, 1e-12);
    assert_near_absolute(efi_engine_level_t(engine, 2), 1.5, 1e-9);
    efi_engine_free(engine);
}

static void streams_that_meet_share_by_capacity_and_leave_what_they_do_not_use(void **state)
{
    (void)state;
    const efi_interval stop = {1.0, 2.0};
    const efi_stop_mode stops = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &stop};
    efi_network_station station[] = {intake(6.0), intake(12.0), bin(2, 0.5, 0.5), machine(3, 9.0),
                                     outlet(4, INFINITY)};
    station[0].key = 1;
    station[1].key = 7;
    station[1].mode = &stops;
    station[1].modes = 1;
    const efi_network_spout spout[] = {
        {0, 2, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}, {3, 4, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 0.5); /* the full bin passes on 9 t/h: 6:12 gives 3 and 6 */
    assert_near_relative(efi_engine_rate_tph(engine, 0), 3.0, 1e-12);
    assert_near_relative(efi_engine_rate_tph(engine, 1), 6.0, 1e-12);
    run(engine, 1.5);
    assert_near_relative(efi_engine_rate_tph(engine, 0), 6.0, 1e-12);
    efi_engine_free(engine);
    station[0].capacity_tph = 1.5; /* 1.5:12 of 9 t/h */
    station[1].modes = 0;
    engine = build(&network);
    run(engine, 0.5);
    assert_near_relative(efi_engine_rate_tph(engine, 0), 9.0 * 1.5 / 13.5, 1e-12);
    efi_engine_free(engine);
}

static void one_of_two_identical_machines_down_leaves_half_the_capacity(void **state)
{
    (void)state;
    const efi_stop_mode mode = {.gap = {EFI_EXPONENTIAL, 5.0, 0.0}, .duration = {EFI_EXPONENTIAL, 1.0, 0.0}};
    efi_network_station station[] = {intake(20.0), with_mode(machine(1, 4.0), &mode), outlet(2, INFINITY)};
    station[1].machines = 2;
    const efi_network_spout spout[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    const double horizon_h = 2000.0;
    run(engine, horizon_h);
    /* The tonnes are those of the two traces laid on the clock. */
    efi_trace trace = {0};
    const efi_trace_basis basis = {horizon_h, 1.0, 1.0};
    double expected_t = 0.0;
    for (int unit = 0; unit < 2; unit++) {
        assert_int_equal(efi_trace_lay(&mode, 1, 1, unit, 1, 0, &basis, &trace), EF_OK);
        expected_t += 4.0 * (horizon_h - efi_trace_stopped_h(&trace, horizon_h));
    }
    efi_trace_free(&trace);
    assert_near_relative(read_account(engine, 1).in_t, expected_t, 1e-12);
    efi_engine_free(engine);
}

/* ---- stops
 * -------------------------------------------------------------------------------------------------- */

typedef struct stop_times {
    int station;
    int count;
    double at_h[64];
} stop_times;

static void note_stops(void *context, const efi_engine *engine, const efi_event *event)
{
    (void)engine;
    stop_times *times = context;
    if (event->kind == EFI_EVENT_STOP && event->station == times->station && times->count < 64)
        times->at_h[times->count++] = event->at_h;
}

/* When machine 1 of intake - machine - outlet first stops, with the intake at `feed_tph` and the machine of
 * 10 t/h. */
static double first_stop_h(double feed_tph, efi_counting counting, double every)
{
    const efi_stop_mode mode = {
        .schedule = EFI_STOPS_EVERY, .counting = counting, .every = every, .duration = {EFI_FIXED, 0.5, 0.0}};
    efi_network_station station[] = {intake(feed_tph), with_mode(machine(1, 10.0), &mode),
                                     outlet(2, INFINITY)};
    const efi_network_spout spout[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    stop_times times = {.station = 1};
    efi_engine_watch(engine, note_stops, &times);
    run(engine, 50.0);
    efi_engine_free(engine);
    assert_true(times.count >= 2);
    return times.at_h[0];
}

static void stops_count_clock_hours_running_hours_or_tonnes(void **state)
{
    (void)state;
    assert_near_absolute(first_stop_h(5.0, EFI_COUNT_CLOCK, 6.0), 6.0, 1e-9);
    assert_near_absolute(first_stop_h(10.0, EFI_COUNT_RUNNING, 6.0), 6.0, 1e-9);
    assert_near_absolute(first_stop_h(5.0, EFI_COUNT_RUNNING, 6.0), 12.0,
                         1e-9); /* at half speed, half the wear */
    assert_near_absolute(first_stop_h(10.0, EFI_COUNT_TONNES, 60.0), 6.0, 1e-9);
    assert_near_absolute(first_stop_h(4.0, EFI_COUNT_TONNES, 60.0), 15.0, 1e-9);
}

static void a_change_of_one_station_leaves_the_stops_of_the_others(void **state)
{
    (void)state;
    efi_stop_mode first = {.gap = {EFI_WEIBULL, 5.0, 1.5}, .duration = {EFI_LOGNORMAL, -1.0, 0.5}};
    const efi_stop_mode second = {.gap = {EFI_GAMMA, 2.0, 3.0}, .duration = {EFI_EXPONENTIAL, 0.3, 0.0}};
    efi_network_station station[] = {intake(10.0), with_mode(machine(1, 9.0), &first), bin(2, 3.0, 1.0),
                                     with_mode(machine(3, 8.0), &second), outlet(4, INFINITY)};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}, {3, 4, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    stop_times before = {.station = 3};
    stop_times after = {.station = 3};
    efi_engine *engine = build(&network);
    efi_engine_watch(engine, note_stops, &before);
    run(engine, 100.0);
    efi_engine_free(engine);
    first.gap.a = 2.0;
    station[1].capacity_tph = 4.0;
    station[2].bin.full_t = station[2].bin.refill_t = 1.5;
    engine = build(&network);
    efi_engine_watch(engine, note_stops, &after);
    run(engine, 100.0);
    efi_engine_free(engine);
    assert_true(before.count > 8);
    assert_int_equal(before.count, after.count);
    assert_memory_equal(before.at_h, after.at_h, sizeof before.at_h);
}

static void the_account_names_the_gravest_cause(void **state)
{
    (void)state;
    const efi_interval random[] = {{1.0, 4.0}};
    const efi_interval planned[] = {{2.0, 5.0}};
    const efi_interval pause[] = {{3.0, 3.5}};
    const efi_interval closed[] = {{4.5, 6.0}};
    const efi_stop_mode modes[] = {
        {.schedule = EFI_STOPS_LIST, .cause = EFI_CAUSE_RANDOM, .intervals = 1, .list = random},
        {.schedule = EFI_STOPS_LIST, .cause = EFI_CAUSE_PLANNED, .intervals = 1, .list = planned},
        {.schedule = EFI_STOPS_LIST, .cause = EFI_CAUSE_BREAK, .intervals = 1, .list = pause},
        {.schedule = EFI_STOPS_LIST, .cause = EFI_CAUSE_CLOSED, .intervals = 1, .list = closed}};
    efi_network_station station[] = {intake(10.0), machine(1, 8.0), outlet(2, INFINITY)};
    station[1].modes = 4;
    station[1].mode = modes;
    const efi_network_spout spout[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 10.0);
    const efi_account account = read_account(engine, 1);
    assert_near_absolute(account.state_h[EFI_STATE_RANDOM_STOP], 1.0, 1e-12);
    assert_near_absolute(account.state_h[EFI_STATE_PLANNED_STOP], 2.0, 1e-12);
    assert_near_absolute(account.state_h[EFI_STATE_BREAK], 0.5, 1e-12);
    assert_near_absolute(account.state_h[EFI_STATE_CLOSED], 1.5, 1e-12);
    assert_near_absolute(account.state_h[EFI_STATE_FULL_RATE], 5.0, 1e-12);
    assert_int_equal(account.stops, 4);
    assert_near_absolute(read_account(engine, 0).state_h[EFI_STATE_BLOCKED], 5.0, 1e-12);
    assert_near_absolute(read_account(engine, 0).state_h[EFI_STATE_SLOW], 5.0, 1e-12);
    efi_engine_free(engine);
}

/* ---- steady feed
 * -------------------------------------------------------------------------------------------- */

enum {
    FEED,
    HOLDING,
    DECK,
    PRODUCT,
    REJECTS
};

/* A deck of 10 t/h behind a bin of 4 t with restart at 2 t; its feeder of 12 t/h stops from hour 1 to hour 2.
 */
static void describe_deck(efi_network_station *station, efi_network_spout *spout, const efi_stop_mode *stops)
{
    station[FEED] = with_mode(intake(12.0), stops);
    station[HOLDING] = bin(1, 4.0, 4.0);
    station[HOLDING].bin.restart_t = 2.0;
    station[DECK] = machine(2, 10.0);
    station[DECK].steady = (efi_network_steady){
        .is_steady = true, .least_tph = 8.0, .band_share = 0.02, .warm_up_h = 0.0, .warm_spout = 3};
    station[PRODUCT] = outlet(3, INFINITY);
    station[REJECTS] = outlet(4, INFINITY);
    spout[0] = (efi_network_spout){FEED, HOLDING, 1.0, false};
    spout[1] = (efi_network_spout){HOLDING, DECK, 1.0, false};
    spout[2] = (efi_network_spout){DECK, PRODUCT, 0.9, false};
    spout[3] = (efi_network_spout){DECK, REJECTS, 0.1, false};
}

static void a_deck_that_has_run_empty_waits_for_the_restart_level(void **state)
{
    (void)state;
    const efi_interval stop = {1.0, 2.0};
    const efi_stop_mode stops = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &stop};
    efi_network_station station[5];
    efi_network_spout spout[4];
    describe_deck(station, spout, &stops);
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 3.0);
    /* Empty at 1.4 h; fed again at 2 h, 2 t after 1/6 h. It waits 0.6 + 1/6 h, short by ten times that. */
    const efi_account account = read_account(engine, DECK);
    assert_near_absolute(account.state_h[EFI_STATE_WAITING], 0.6 + 1.0 / 6.0, 1e-5);
    assert_near_absolute(account.shortfall_t, 10.0 * (0.6 + 1.0 / 6.0), 1e-4);
    assert_near_absolute(account.out_of_band_h, 0.0, 0.0);
    assert_near_absolute(account.state_h[EFI_STATE_FULL_RATE], 3.0 - 0.6 - 1.0 / 6.0, 1e-5);
    efi_engine_free(engine);
}

static void below_the_least_feed_the_deck_waits_and_above_it_runs_out_of_band(void **state)
{
    (void)state;
    const efi_interval stop = {1.0, 2.0};
    const efi_stop_mode stops = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &stop};
    efi_network_station station[5];
    efi_network_spout spout[4];
    describe_deck(station, spout, &stops);
    station[HOLDING].bin.start_t = 3.0;
    station[FEED].modes = 0;
    station[FEED].capacity_tph = 9.0; /* enough for the least feed of 8, below the band */
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 10.0); /* 3 h until empty */
    efi_account account = read_account(engine, DECK);
    assert_near_absolute(account.out_of_band_h, 7.0, 1e-9);
    assert_near_absolute(account.shortfall_t, 7.0, 1e-9);
    assert_near_absolute(account.state_h[EFI_STATE_WAITING], 0.0, 0.0);
    efi_engine_free(engine);
    station[FEED].capacity_tph = 5.0; /* too little: runs and waits in turn, 2 t in 0.4 h each */
    engine = build(&network);
    run(engine, 100.0);
    account = read_account(engine, DECK);
    assert_near_absolute(account.out_of_band_h, 0.0, 1e-9);
    assert_near_absolute(account.in_t, 3.0 + 500.0, 4.0);
    assert_near_absolute(account.state_h[EFI_STATE_WAITING], 50.0, 0.5);
    efi_engine_free(engine);
}

static void the_product_of_a_warm_up_goes_its_own_way(void **state)
{
    (void)state;
    const efi_interval stop = {1.0, 2.0};
    const efi_stop_mode stops = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &stop};
    efi_network_station station[5];
    efi_network_spout spout[4];
    describe_deck(station, spout, &stops);
    station[DECK].steady.warm_up_h = 0.125;
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    const double restart_h = 2.0 + 1.0 / 6.0;
    run(engine, restart_h + 0.1);
    assert_true(efi_engine_is_warming(engine, DECK));
    assert_near_absolute(efi_engine_rate_tph(engine, REJECTS), 10.0, 1e-12);
    assert_near_absolute(efi_engine_rate_tph(engine, PRODUCT), 0.0, 0.0);
    run(engine, 3.0);
    assert_false(efi_engine_is_warming(engine, DECK));
    const efi_account account = read_account(engine, DECK);
    assert_near_absolute(account.state_h[EFI_STATE_WARM_UP], 0.125, 1e-9);
    assert_near_absolute(account.warm_up_t, 1.25, 1e-8);
    assert_near_absolute(read_account(engine, REJECTS).in_t, 1.25 + 0.1 * (account.in_t - 1.25), 1e-8);
    efi_engine_free(engine);
    /* Returned to the bin instead: while it warms up the bin gains all that is fed to it. */
    spout[3] = (efi_network_spout){DECK, HOLDING, 0.1, true};
    efi_network_spout reject[5] = {spout[0], spout[1], spout[2], spout[3], {DECK, REJECTS, 0.0, false}};
    const efi_network returning = NETWORK(station, reject);
    engine = build(&returning);
    run(engine, 2.0 + 1.0 / 6.0 + 0.1);
    assert_near_absolute(efi_engine_rate_tph(engine, DECK), 10.0, 1e-12);
    assert_near_absolute(efi_engine_rate_tph(engine, PRODUCT), 0.0, 0.0);
    assert_near_absolute(efi_engine_level_t(engine, HOLDING), 2.0 + 1.2, 1e-5);
    efi_engine_free(engine);
}

static void a_batch_machine_fills_works_and_discharges_in_turn(void **state)
{
    (void)state;
    /* 0.5 t at 10 t/h: 0.05 h to fill, 0.125 h of work, 0.025 h to discharge at 20 t/h: 0.5 t each 0.2 h. */
    const efi_interval stop = {10.1, 11.1};
    const efi_stop_mode stops = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &stop};
    efi_network_station station[] = {intake(30.0), bin(1, 2.0, 0.0), with_mode(machine(2, 10.0), &stops),
                                     bin(3, 0.6, 0.0), outlet(4, 5.0)};
    station[2].batch = (efi_network_batch){
        .is_used = true, .charge_t = 0.5, .work_h = 0.125, .discharge_tph = 20.0};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}, {3, 4, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 10.0);
    efi_account account = read_account(engine, 2);
    assert_near_absolute(account.in_t, 25.0, 1e-9);
    assert_near_absolute(account.out_t, 25.0, 1e-9);
    assert_near_absolute(account.state_h[EFI_STATE_FULL_RATE], 2.5, 1e-9);
    assert_near_absolute(account.state_h[EFI_STATE_WORKING], 7.5, 1e-9);
    assert_near_absolute(read_account(engine, 4).in_t, 25.0, 0.5);
    run(engine, 12.1); /* the stop comes in the middle of the work and holds it up for an hour */
    account = read_account(engine, 2);
    assert_near_absolute(account.state_h[EFI_STATE_RANDOM_STOP], 1.0, 1e-9);
    assert_near_absolute(account.in_t, 25.0 + 2.5 + 0.5, 1e-8);
    assert_near_absolute(account.level_t, 0.5, 1e-9);
    efi_engine_free(engine);
    /* An outlet slower than the machine: it is blocked for the rest of the time. */
    station[4].capacity_tph = 1.0;
    station[2].modes = 0;
    engine = build(&network);
    run(engine, 1000.0);
    account = read_account(engine, 2);
    assert_near_absolute(account.in_t, 1000.0, 2.0);
    assert_true(account.state_h[EFI_STATE_WORKING] > 0.125 * 1990.0);
    efi_engine_free(engine);
}

/* ---- time and accounts
 * ------------------------------------------------------------------------------------- */

static void a_run_in_pieces_is_the_run_as_a_whole(void **state)
{
    (void)state;
    const efi_stop_mode first = {.counting = EFI_COUNT_RUNNING,
                                 .gap = {EFI_EXPONENTIAL, 6.0, 0.0},
                                 .duration = {EFI_EXPONENTIAL, 0.5, 0.0}};
    efi_network_station station[] = {intake(11.0), with_mode(machine(1, 10.0), &first), bin(2, 2.0, 1.0),
                                     with_mode(machine(3, 10.0), &first), outlet(4, INFINITY)};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}, {3, 4, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *whole = build(&network);
    efi_engine *pieces = build(&network);
    run(whole, 3000.0);
    double sum_t = 0.0;
    for (int k = 1; k <= 300; k++) {
        efi_engine_clear(pieces);
        run(pieces, 10.0 * k);
        sum_t += read_account(pieces, 4).in_t;
    }
    assert_near_absolute(efi_engine_now_h(pieces), 3000.0, 0.0);
    assert_near_relative(sum_t, read_account(whole, 4).in_t, 1e-11);
    assert_int_equal(efi_engine_events(whole), efi_engine_events(pieces));
    assert_near_absolute(efi_engine_imbalance_t(whole), 0.0, 1e-8);
    efi_engine_free(whole);
    efi_engine_free(pieces);
}

static void clock_times_stay_exact_over_years(void **state)
{
    (void)state;
    const double noon_h[] = {12.0};
    const efi_stop_mode noon = {.schedule = EFI_STOPS_AT,
                                .duration = {EFI_FIXED, 1.0, 0.0},
                                .ats = 1,
                                .at_h = noon_h,
                                .period_h = 24.0};
    const efi_network_station station[] = {intake(10.0), with_mode(machine(1, 8.0), &noon),
                                           outlet(2, INFINITY)};
    const efi_network_spout spout[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 24.0 * 3652);
    assert_near_absolute(read_account(engine, 1).state_h[EFI_STATE_RANDOM_STOP], 3652.0, 1e-9);
    stop_times times = {.station = 1};
    efi_engine_watch(engine, note_stops, &times);
    run(engine, 24.0 * 3654);
    assert_int_equal(times.count, 2);
    assert_near_absolute(times.at_h[1], 24.0 * 3653 + 12.0, 0.0);
    efi_engine_free(engine);
}

static void words_for_states_events_and_kinds_are_there(void **state)
{
    (void)state;
    for (int s = 0; s < EFI_STATE_COUNT; s++)
        assert_true(strlen(efi_state_text((efi_state)s)) > 0);
    for (int k = EFI_EVENT_EMPTY; k <= EFI_EVENT_TURNED_AWAY; k++)
        assert_true(strlen(efi_event_text((efi_event_kind)k)) > 0);
    for (int k = EFI_NETWORK_INTAKE; k <= EFI_NETWORK_OUTLET; k++)
        assert_true(strlen(efi_network_kind_text((efi_network_kind)k)) > 0);
    assert_string_equal(efi_state_text(EFI_STATE_CLOSED), "closed");
}

/* ---- trouble
 * ------------------------------------------------------------------------------------------------ */

static void an_endless_loop_names_its_stations(void **state)
{
    (void)state;
    /* Fed at 5 t/h the deck may not run below 8; with a restart level of a gram it starts and stops without
     * end. */
    efi_network_station station[] = {intake(5.0), bin(1, 4.0, 0.0), machine(2, 10.0), outlet(3, INFINITY)};
    station[0].name = "pit";
    station[1].name = "holding bin";
    station[2].name = "deck";
    station[1].bin.restart_t = 1e-6;
    station[2].steady = (efi_network_steady){.is_steady = true, .least_tph = 8.0, .band_share = 0.02};
    const efi_network_spout spout[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    efi_trouble trouble;
    assert_int_equal(efi_engine_run(engine, 10.0, &trouble), EF_NO_ANSWER);
    assert_int_equal(trouble.kind, EFI_TROUBLE_EVENTS);
    assert_true(trouble.at_h < 1.0);
    efi_text text = {0};
    efi_trouble_write(&trouble, &network, &text);
    assert_non_null(strstr(efi_text_get(&text), "\"holding bin\""));
    assert_null(strstr(efi_text_get(&text), "\"pit\""));
    efi_text_free(&text);
    efi_engine_free(engine);
}

static void a_loop_that_has_choked_is_told_with_its_stations(void **state)
{
    (void)state;
    /* The deck returns a fifth to the machine before the bin; once full, the bin takes nothing until it has
     * sunk: it cannot. */
    efi_network_station station[] = {intake(10.0), machine(1, 10.0), bin(2, 3.0, 0.0), machine(3, 8.0),
                                     outlet(4, INFINITY)};
    station[1].name = "cleaner";
    station[3].name = "deck";
    station[2].bin.refill_t = 1.0;
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}, {3, 1, 0.2, true}, {3, 4, 0.8, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    efi_trouble trouble;
    assert_int_equal(efi_engine_run(engine, 50.0, &trouble), EF_NO_ANSWER);
    assert_int_equal(trouble.kind, EFI_TROUBLE_STANDSTILL);
    assert_near_absolute(trouble.at_h, 3.0 / 2.0, 1e-9); /* the bin gains 10 - 8 t/h */
    efi_text text = {0};
    efi_trouble_write(&trouble, &network, &text);
    assert_non_null(strstr(efi_text_get(&text), "\"cleaner\", \"deck\""));
    efi_text_free(&text);
    efi_engine_free(engine);
    station[2].bin.refill_t = 3.0; /* without the refill level the loop runs on at 8 t/h */
    engine = build(&network);
    run(engine, 50.0);
    assert_near_relative(efi_engine_rate_tph(engine, 3), 8.0, 1e-12);
    assert_near_relative(efi_engine_rate_tph(engine, 0), 6.4, 1e-12);
    efi_engine_free(engine);
}

static efi_trouble_kind trouble_of(const efi_network *network)
{
    efi_trouble trouble;
    return efi_network_check(network, &trouble) == EF_OK ? EFI_TROUBLE_NONE : trouble.kind;
}

static void a_network_that_cannot_run_is_refused_with_its_reason(void **state)
{
    (void)state;
    const efi_network_station good[] = {intake(10.0), bin(1, 4.0, 0.0), machine(2, 8.0), outlet(3, INFINITY)};
    const efi_network_spout line[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}};
    efi_network_station station[4];
    efi_network_spout spout[4];
    const efi_network network = {4, station, 3, spout};
#define RESET() (memcpy(station, good, sizeof good), memcpy(spout, line, sizeof line))
    RESET();
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_NONE);
    station[2].capacity_tph = NAN;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_NUMBER);
    RESET();
    station[2].machines = 0;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_NUMBER);
    RESET();
    const efi_stop_mode bad = {.gap = {EFI_FIXED, -1.0, 0.0}};
    station[2] = with_mode(station[2], &bad);
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_STOPS);
    RESET();
    station[1].bin.start_t = 5.0;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_LEVELS);
    RESET();
    spout[1].to = 9;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_SPOUT_END);
    RESET();
    spout[2].to = 1;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_SPOUTS);
    RESET();
    spout[2].share = 0.9;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_SHARES);
    RESET();
    station[2].capacity_tph = INFINITY;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_UNLIMITED);
    RESET();
    station[2].steady = (efi_network_steady){.is_steady = true, .least_tph = 5.0, .band_share = 0.02};
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_LEAST_FEED);
    RESET();
    station[2].steady = (efi_network_steady){.is_steady = true, .warm_up_h = 0.1, .warm_spout = 0};
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_WARM_UP);
    RESET();
    station[2].batch = (efi_network_batch){.is_used = true, .charge_t = 0.5, .work_h = 0.1};
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_NUMBER);
    RESET();
    station[0].loads = (efi_network_loads){
        .is_used = true, .is_instant = true, .gap_h = {EFI_FIXED, 1.0, 0.0}, .load_t = {EFI_FIXED, 1.0, 0.0}};
    spout[0].to = 2;
    spout[1] = (efi_network_spout){2, 1, 0.5, false};
    spout[2].share = 0.5;
    spout[3] = (efi_network_spout){1, 3, 1.0, false};
    const efi_network loaded = {4, station, 4, spout};
    assert_int_equal(trouble_of(&loaded), EFI_TROUBLE_LOADS);
    RESET();
    spout[2].share = 0.7;
    spout[3] = (efi_network_spout){2, 1, 0.3, false};
    assert_int_equal(trouble_of(&loaded), EFI_TROUBLE_LOOP);
    assert_int_equal(efi_network_mark_returns(&loaded, spout), EF_OK);
    assert_true(spout[3].is_return);
    assert_false(spout[0].is_return || spout[1].is_return || spout[2].is_return);
    assert_int_equal(trouble_of(&loaded), EFI_TROUBLE_NONE);
#undef RESET
}

static void building_without_memory_is_refused_and_leaks_nothing(void **state)
{
    (void)state;
    const efi_network_station station[] = {intake(8.0), bin(1, 4.0, 0.0), machine(2, 12.0),
                                           outlet(3, INFINITY)};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 1, 0.2, true}, {2, 3, 0.8, false}};
    const efi_network network = NETWORK(station, spout);
    for (long n = 1;; n++) {
        efi_engine *engine = NULL;
        efi_trouble trouble;
        efi_memory_fail_at(n);
        const ef_status status = efi_engine_build(&network, NULL, &engine, &trouble);
        efi_memory_fail_at(0);
        if (status == EF_OK) {
            efi_engine_free(engine);
            assert_true(n > 4);
            return;
        }
        assert_int_equal(status, EF_MEMORY);
        assert_null(engine);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(middlings_returned_to_the_bin_make_the_deck_take_more_than_the_feed),
        cmocka_unit_test(losses_along_the_line_multiply),
        cmocka_unit_test(a_split_divides_by_its_rule),
        cmocka_unit_test(a_split_by_capacity_shares_out_what_there_is),
        cmocka_unit_test(streams_that_meet_share_by_capacity_and_leave_what_they_do_not_use),
        cmocka_unit_test(one_of_two_identical_machines_down_leaves_half_the_capacity),
        cmocka_unit_test(stops_count_clock_hours_running_hours_or_tonnes),
        cmocka_unit_test(a_change_of_one_station_leaves_the_stops_of_the_others),
        cmocka_unit_test(the_account_names_the_gravest_cause),
        cmocka_unit_test(a_deck_that_has_run_empty_waits_for_the_restart_level),
        cmocka_unit_test(below_the_least_feed_the_deck_waits_and_above_it_runs_out_of_band),
        cmocka_unit_test(the_product_of_a_warm_up_goes_its_own_way),
        cmocka_unit_test(a_batch_machine_fills_works_and_discharges_in_turn),
        cmocka_unit_test(a_run_in_pieces_is_the_run_as_a_whole),
        cmocka_unit_test(clock_times_stay_exact_over_years),
        cmocka_unit_test(words_for_states_events_and_kinds_are_there),
        cmocka_unit_test(an_endless_loop_names_its_stations),
        cmocka_unit_test(a_loop_that_has_choked_is_told_with_its_stations),
        cmocka_unit_test(a_network_that_cannot_run_is_refused_with_its_reason),
        cmocka_unit_test(building_without_memory_is_refused_and_leaks_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
