/* SPDX-License-Identifier: GPL-3.0-or-later
 * Loops that choke for good beside a line that runs on: named with their stations, and nothing else is. */
#include "shared/engine/choke.h"

#include "../lib/networks.h"
#include "../lib/small_plants.h"
#include <stdio.h>

/*
 * A tenth of each charge goes back to the bin, which the intake keeps full while the machine works: by 0.2 h
 * to fill and 0.1 h of work it has choked. Another line runs beside it, so the plant does not stand still.
 */
static const efi_network_spout ways[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 1, 0.1, true},
                                         {2, 3, 0.9, false}, {4, 5, 1.0, false}, {5, 6, 1.0, false}};

static void describe(efi_network_station *station)
{
    const efi_network_station plain[] = {intake(10.0),        bin(1, 4.0, 4.0), machine(2, 10.0),
                                         outlet(3, INFINITY), intake(9.0),      machine(5, 6.0),
                                         outlet(6, INFINITY)};
    memcpy(station, plain, sizeof plain);
    station[4].key = 4;
    station[2].batch = (efi_network_batch){
        .is_used = true, .charge_t = 2.0, .work_h = 0.1, .discharge_tph = 20.0};
}

static void a_loop_that_chokes_beside_a_line_that_runs_is_named(void **state)
{
    (void)state;
    efi_network_station station[7];
    describe(station);
    const efi_network network = NETWORK(station, ways);
    efi_engine *engine = build(&network);
    efi_choke choke;
    run(engine, 0.25); /* at work: what stands waits for the charge */
    assert_int_equal(efi_choke_find(engine, &network, &choke), EF_OK);
    assert_int_equal(choke.stations, 0);
    run(engine, 0.35);
    assert_int_equal(efi_choke_find(engine, &network, &choke), EF_OK);
    assert_int_equal(choke.stations, 2);
    assert_int_equal(choke.station[0], 1); /* and not the intake before it */
    assert_int_equal(choke.station[1], 2);
    run(engine, 50.0); /* the other line goes on */
    assert_true(fabs(read_account(engine, 6).in_t - 300.0) < 1e-9);
    assert_int_equal(efi_choke_find(engine, &network, &choke), EF_OK);
    assert_int_equal(choke.stations, 2);
    efi_engine_free(engine);
}

static void what_waits_for_a_stop_has_not_choked(void **state)
{
    (void)state;
    /* A loop through a bin; the machine after it stops from 1 to 3 h. Then the bin is full, the intake and
     * the loop stand: but only until it starts. */
    static const efi_interval stop[] = {{1.0, 3.0}};
    static const efi_stop_mode mode = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = stop};
    efi_network_station station[] = {intake(20.0), bin(1, 4.0, 4.0), machine(2, 10.0), machine(3, 9.0),
                                     outlet(4, INFINITY)};
    station[3].mode = &mode;
    station[3].modes = 1;
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 1, 0.2, true}, {2, 3, 0.8, false}, {3, 4, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    for (int half = 1; half < 8; half++) {
        const double hours = 0.5 * half;
        run(engine, hours);
        efi_choke choke;
        assert_int_equal(efi_choke_find(engine, &network, &choke), EF_OK);
        assert_int_equal(choke.stations, 0);
        assert_true((efi_engine_rate_tph(engine, 2) > 0.0) == !(hours > 1.0 && hours <= 3.0));
    }
    efi_engine_free(engine);
}

/* Random plants: what is named once never moves again, whatever comes. */
static void what_is_named_never_moves_again(void **state)
{
    (void)state;
    static networks_plant plant;
    int named = 0;
    for (int k = 0; k < 1500; k++) {
        const uint64_t seed = 50000 + (uint64_t)k;
        const networks_wish wish = {.steps = 4 + k % 20,
                                    .has_stops = true,
                                    .has_latches = k % 3 != 0,
                                    .has_branches = k % 4 != 0,
                                    .has_returns = true,
                                    .has_batches = true,
                                    .has_crews = k % 11 < 2,
                                    .has_delays = k % 13 < 5};
        networks_make(&plant, seed, &wish);
        efi_engine *engine = NULL;
        efi_trouble trouble;
        assert_int_equal(efi_engine_build(&plant.network, NULL, &engine, &trouble), EF_OK);
        efi_engine_start(engine, seed, 1);
        efi_choke first = {0};
        double taken_t[EFI_TROUBLE_STATIONS] = {0.0};
        for (int step = 1; step <= 10 && efi_engine_run(engine, 2.5 * step, &trouble) == EF_OK; step++) {
            const double hours = 2.5 * step;
            efi_choke choke;
            assert_int_equal(efi_choke_find(engine, &plant.network, &choke), EF_OK);
            if (first.stations == 0 && choke.stations > 0) {
                first = choke;
                named++;
                for (int s = 0; s < first.stations; s++)
                    taken_t[s] = read_account(engine, first.station[s]).in_t;
            }
            for (int s = 0; s < first.stations; s++)
                if (read_account(engine, first.station[s]).in_t > taken_t[s])
                    fail_msg("seed %llu: station %d moves again by %g h", (unsigned long long)seed,
                             first.station[s], hours);
        }
        efi_engine_free(engine);
    }
    print_message("seeds 50000 to 51499: a choked loop beside what runs in %d plants\n", named);
    assert_true(named > 0);
}

/* When something last happened, and how long after what came before. */
typedef struct pace {
    double at_h;
    double gap_h;
} pace;

static void keep_pace(void *context, const efi_engine *engine, const efi_event *event)
{
    (void)engine;
    pace *p = context;
    p->gap_h = event->at_h - p->at_h;
    p->at_h = event->at_h;
}

/* A plant in 60,000: three bins on a loop, divided by shares, fill each other in turns, each time sooner,
 * towards an instant that no number of events reaches. The cap ends it and says which. */
static void bins_that_fill_each_other_ever_sooner_end_at_the_cap(void **state)
{
    (void)state;
    static networks_plant plant;
    const networks_wish wish = {.steps = 25,
                                .has_stops = true,
                                .has_latches = true,
                                .has_branches = true,
                                .has_returns = true,
                                .has_crews = false,
                                .has_delays = false};
    networks_make(&plant, 4023, &wish);
    efi_engine_settings settings = efi_engine_defaults();
    settings.is_general = true;
    efi_engine *engine = NULL;
    efi_trouble trouble;
    assert_int_equal(efi_engine_build(&plant.network, &settings, &engine, &trouble), EF_OK);
    pace last = {0};
    efi_engine_watch(engine, keep_pace, &last);
    efi_engine_start(engine, 4023, 1);
    assert_int_equal(efi_engine_run(engine, 40.0, &trouble), EF_NO_ANSWER);
    assert_int_equal(trouble.kind, EFI_TROUBLE_EVENTS);
    assert_true(last.gap_h < 1e-12);
    assert_int_equal(trouble.stations, 3);
    int loop[NETWORKS_STATIONS];
    assert_int_equal(efi_network_loops(&plant.network, loop), EF_OK);
    efi_text text = {0};
    efi_trouble_write(&trouble, &plant.network, &text);
    for (int i = 0; i < trouble.stations; i++) {
        char number[20];
        (void)snprintf(number, sizeof number, "%d", trouble.station[i]);
        assert_int_equal(plant.network.station[trouble.station[i]].kind, EFI_NETWORK_BIN);
        assert_int_equal(loop[trouble.station[i]], loop[trouble.station[0]]);
        assert_non_null(strstr(efi_text_get(&text), number));
    }
    efi_text_free(&text);
    efi_engine_free(engine);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_loop_that_chokes_beside_a_line_that_runs_is_named),
        cmocka_unit_test(what_waits_for_a_stop_has_not_choked),
        cmocka_unit_test(what_is_named_never_moves_again),
        cmocka_unit_test(bins_that_fill_each_other_ever_sooner_end_at_the_cap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
