/* SPDX-License-Identifier: GPL-3.0-or-later
 * Loops that would choke and are eased, on small plants worked out by hand. */
#include "../lib/near.h"
#include "../lib/small_plants.h"

static void a_refill_level_before_a_return_lets_the_loop_run_itself_down(void **state)
{
    (void)state;
    /* The deck of 10 t/h returns a fifth to the cleaner before the bin. At 4 t the bin takes nothing fresh
     * until it has sunk to 1 t: only what comes round, 2 t/h, passes the cleaner, and the bin sinks at 8 t/h
     * for 3/8 h. Then the cleaner takes 12 + 2 t/h and the bin gains 4 t/h for 3/4 h. */
    efi_network_station station[] = {intake(12.0), machine(1, 15.0), bin(2, 4.0, 4.0), machine(3, 10.0),
                                     outlet(4, INFINITY)};
    station[2].bin.refill_t = 1.0;
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}, {3, 1, 0.2, true}, {3, 4, 0.8, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    for (int turn = 0; turn < 20; turn++) {
        const double from_h = 1.125 * turn;
        run(engine, from_h + 0.25);
        assert_near_absolute(efi_engine_level_t(engine, 2), 2.0, 1e-9);
        assert_near_absolute(efi_engine_rate_tph(engine, 0), 0.0, 0.0);
        assert_near_relative(efi_engine_rate_tph(engine, 1), 2.0, 1e-9);
        run(engine, from_h + 0.625);
        assert_near_absolute(efi_engine_level_t(engine, 2), 2.0, 1e-9);
        assert_near_relative(efi_engine_rate_tph(engine, 0), 12.0, 1e-9);
    }
    run(engine, 22.5);
    assert_near_relative(read_account(engine, 0).in_t, 12.0 * 0.75 * 20.0, 1e-9);
    assert_near_relative(read_account(engine, 4).in_t, 8.0 * 22.5, 1e-9);
    efi_engine_free(engine);

    station[2].bin.refill_t = 4.0; /* without it the bin stays full and the loop runs on */
    engine = build(&network);
    run(engine, 50.0);
    assert_near_relative(efi_engine_rate_tph(engine, 3), 10.0, 1e-12);
    assert_near_relative(efi_engine_rate_tph(engine, 0), 8.0, 1e-12);
    efi_engine_free(engine);
}

static void a_loop_goes_before_what_is_fresh_where_it_would_choke(void **state)
{
    (void)state;
    /* Two machines feed each other, each also fresh: X gives 0.8 to Y, Y gives 0.25 back to X. The
     * description calls the first the return. Divided by capacity, X would take 2/14 of its feed from Y, but
     * it must take 0.25 x 0.8 = 0.2 of it: both would come to a stand. What comes round first: Y takes 8 t/h,
     * all from X, which takes 10 t/h, of which 8 fresh. */
    const efi_network_station station[] = {intake(12.0),    intake(12.0),        machine(2, 20.0),
                                           machine(3, 8.0), outlet(4, INFINITY), outlet(5, INFINITY)};
    const efi_network_spout spout[] = {{0, 2, 1.0, false}, {1, 3, 1.0, false},  {2, 3, 0.8, true},
                                       {2, 4, 0.2, false}, {3, 2, 0.25, false}, {3, 5, 0.75, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 10.0);
    assert_near_relative(efi_engine_rate_tph(engine, 3), 8.0, 1e-9);
    assert_near_relative(efi_engine_rate_tph(engine, 2), 10.0, 1e-9);
    assert_near_relative(efi_engine_rate_tph(engine, 0), 8.0, 1e-9);
    assert_near_absolute(efi_engine_rate_tph(engine, 1), 0.0, 1e-9);
    assert_near_relative(read_account(engine, 4).in_t, 20.0, 1e-9);
    efi_engine_free(engine);
}

static void two_full_bins_on_one_machine_each_give_what_comes_back(void **state)
{
    (void)state;
    /* One machine of 12 t/h draws on two full bins and gives 0.3 back to the one and 0.1 to the other, which
     * are also kept full by intakes of their own, 20 and 2 t/h. Each bin must give at least what comes back
     * to it: 3.6 and 1.2 t/h. */
    efi_network_station station[] = {intake(20.0),     intake(2.0),      bin(2, 5.0, 5.0),
                                     bin(3, 5.0, 5.0), machine(4, 12.0), outlet(5, INFINITY)};
    station[1].key = 901;
    const efi_network_spout spout[] = {{0, 2, 1.0, false}, {1, 3, 1.0, false}, {2, 4, 1.0, false},
                                       {3, 4, 1.0, true},  {4, 2, 0.1, true},  {4, 3, 0.3, false},
                                       {4, 5, 0.6, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 30.0);
    assert_near_relative(efi_engine_rate_tph(engine, 4), 12.0, 1e-9);
    assert_true(efi_engine_rate_tph(engine, 2) >= 1.2 - 1e-9);
    assert_true(efi_engine_rate_tph(engine, 3) >= 3.6 - 1e-9);
    assert_near_relative(read_account(engine, 5).in_t, 0.6 * 12.0 * 30.0, 1e-9);
    efi_engine_free(engine);
}

static void a_loop_that_does_not_choke_divides_by_capacity(void **state)
{
    (void)state;
    /* As above with 0.05 back and a larger Y: by capacity (0.05 x 16 against 12) X takes 0.625 of its 10 t/h
     * from Y, which is held to 12.5 t/h by that. The loop runs, so that rule is left alone. */
    const efi_network_station station[] = {intake(12.0),     intake(12.0),        machine(2, 10.0),
                                           machine(3, 16.0), outlet(4, INFINITY), outlet(5, INFINITY)};
    const efi_network_spout spout[] = {{0, 2, 1.0, false}, {1, 3, 1.0, false},  {2, 3, 0.8, true},
                                       {2, 4, 0.2, false}, {3, 2, 0.05, false}, {3, 5, 0.95, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 10.0);
    assert_near_relative(efi_engine_rate_tph(engine, 2), 10.0, 1e-9);
    assert_near_relative(efi_engine_rate_tph(engine, 3), 12.5, 1e-9);
    assert_near_relative(efi_engine_rate_tph(engine, 0), 9.375, 1e-9);
    assert_near_relative(efi_engine_rate_tph(engine, 1), 4.5, 1e-9);
    efi_engine_free(engine);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_refill_level_before_a_return_lets_the_loop_run_itself_down),
        cmocka_unit_test(a_loop_goes_before_what_is_fresh_where_it_would_choke),
        cmocka_unit_test(two_full_bins_on_one_machine_each_give_what_comes_back),
        cmocka_unit_test(a_loop_that_does_not_choke_divides_by_capacity),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
