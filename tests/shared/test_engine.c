/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rules of the event engine one by one, on small plants worked out by hand: rates, stops, time and
 * accounts. */
#include "../lib/near.h"
#include "../lib/small_plants.h"
#include "shared/stops/trace.h"

/* ---- steady rates ------------------------------------------------------------------------------- */

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

/* ---- stops -------------------------------------------------------------------------------------- */

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

/* ---- time and accounts -------------------------------------------------------------------------- */

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
        cmocka_unit_test(a_run_in_pieces_is_the_run_as_a_whole),
        cmocka_unit_test(clock_times_stay_exact_over_years),
        cmocka_unit_test(words_for_states_events_and_kinds_are_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
