/* SPDX-License-Identifier: GPL-3.0-or-later
 * Steady feeds, warm-ups and batch machines in the event engine, on small plants worked out by hand. */
#include "../lib/near.h"
#include "../lib/small_plants.h"

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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_deck_that_has_run_empty_waits_for_the_restart_level),
        cmocka_unit_test(below_the_least_feed_the_deck_waits_and_above_it_runs_out_of_band),
        cmocka_unit_test(the_product_of_a_warm_up_goes_its_own_way),
        cmocka_unit_test(a_batch_machine_fills_works_and_discharges_in_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
